"""The Steam sheet against steam tables, heat conduction written out, and the trapezoid."""

from __future__ import annotations

from itertools import pairwise
from math import exp, pi
from typing import TYPE_CHECKING, Any

import pytest
from iapws import IAPWS97
from reading import parts, place, singles, table
from workbooks import made

if TYPE_CHECKING:
    from office import Office

LOAD, CORE, RUN = "The load", "How fast the core heats up", "Lethality of a run"


def shown(title: str, units: str = "metric") -> dict[str, Any]:
    return parts(made(units, "demo").values["Steam"])[title].values


def typed(key: str) -> Any:
    return singles(made("metric", "demo").values)[key]


def test_steam_at_the_altitude() -> None:
    """ICAO standard atmosphere, and IAPWS-IF97 by the package iapws; 0.02 K."""
    pressure = 0.101325 * (1 - 0.0065 * typed("altitude") / 288.15) ** 5.25588  # MPa
    boiling = IAPWS97(P=pressure, x=0).T - 273.15
    assert shown(LOAD)["Steam at your altitude"] == pytest.approx(boiling, abs=0.02)


def test_heat_hours_energy_and_cost_of_the_load() -> None:
    """Wood Handbook 2010: dry wood 0.1031 + 0.003867 T kJ/(kg K); water 4.19; kWh of 3600 kJ."""
    load = shown(LOAD)
    mass = typed("blocks_per_load") * typed("block_mass")
    start, end = typed("start_temperature"), load["Steam at your altitude"]
    wood = 0.1031 + 0.003867 * ((start + end) / 2 + 273.15)
    heat = mass * (0.37 * wood + 0.63 * 4.19) * (end - start) / 3600
    energy = heat / typed("steamer_efficiency") + typed("hold_hours") * typed("hold_power")
    hours = heat / (typed("steamer_power") * typed("steamer_efficiency"))
    assert load["Mass of the load"] == pytest.approx(mass)
    assert load["Heat that the blocks take up"] == pytest.approx(heat)
    assert load["Hours until the steamer is hot"] == pytest.approx(hours)
    assert load["Energy of the run"] == pytest.approx(energy)
    assert load["Energy cost of the run"] == pytest.approx(energy * typed("electricity_price"))


def test_water_boiled_off() -> None:
    """Steam tables at 0.101325 MPa, by the package iapws; 0.5 %, for water's specific heat."""
    load = shown(LOAD)
    feed = IAPWS97(P=0.101325, T=typed("feed_temperature") + 273.15).h
    rise = IAPWS97(P=0.101325, x=1).h - feed  # kJ/kg
    energy = typed("steamer_power") * load["Hours until the steamer is hot"] + typed(
        "hold_power"
    ) * typed("hold_hours")
    assert load["Water boiled off, at most"] == pytest.approx(energy * 3600 / rise, rel=0.005)


def core_after(hours: float, start: float, steam: float) -> float:
    """Conduction in a brick: product of three slab series, 200 terms each."""
    left = 1.0
    for edge in ("core_thickness", "core_width", "core_length"):
        scaled = typed("core_diffusivity") * hours * 36 / typed(edge) ** 2
        left *= sum(
            4 / pi * (-1) ** n / (2 * n + 1) * exp(-((2 * n + 1) ** 2) * pi**2 * scaled)
            for n in range(200)
        )
    return steam - (steam - start) * left


def test_hours_until_the_core_is_hot() -> None:
    """The full series reaches the target within what its first term leaves out: 0.1 K."""
    core, steam = shown(CORE), shown(LOAD)["Steam at your altitude"]
    start, target = typed("start_temperature"), steam - typed("core_gap")
    assert core["Core counts as hot at"] == pytest.approx(target)
    hours = core["Hours in steam until the core is hot"]
    assert core_after(hours, start, steam) == pytest.approx(target, abs=0.1)
    then = core_after(typed("core_check_hours"), start, steam)
    assert core["Core after the hours above"] == pytest.approx(then, abs=1e-6)


@pytest.mark.parametrize(
    ("key", "value"), [("core_gap", 79.0), ("core_length", 150.0), ("start_temperature", 99.0)]
)
def test_outside_of_the_one_term_solution_is_a_word(key: str, value: float, office: Office) -> None:
    workbook = made("metric", "demo").values
    line = parts(workbook["Steam"])[CORE].lines["Hours in steam until the core is hot"]
    spot = place(workbook, key)
    with office.kept(made("metric", "demo").path) as document:
        document.write(spot.sheet, spot.row, spot.column, [[value]])
        assert document.read("Steam", line, 1)[0][0] == "outside"
        assert document.contents()["Steam"].errors() == {}


def test_the_log_adds_up_to_the_lethality_of_the_run() -> None:
    """Trapezoids under 10^((T - Tref) / z), general method; both systems."""
    for units in ("metric", "us"):
        values = made(units, "demo").values
        one = singles(values)
        rows = table(values, "steam_log", units)
        rates = [10 ** ((r["core"] - one["lethal_reference"]) / one["lethal_z"]) for r in rows]
        minutes = [
            (later["hours"] - earlier["hours"]) * 60 * (rate + following) / 2
            for (earlier, later), (rate, following) in zip(pairwise(rows), pairwise(rates))
        ]
        assert [row["lethal_rate"] for row in rows] == pytest.approx(rates)
        assert rows[-1]["total"] == pytest.approx(sum(minutes))
        assert shown(RUN, units)["Equivalent time of the run"] == pytest.approx(sum(minutes))
        hot = shown(CORE, units)["Core counts as hot at"]
        first = next(row["hours"] for row in rows if row["core"] >= hot)
        assert shown(RUN, units)["Core first hot after"] == first


def test_the_sheet_says_that_steam_is_no_sterilization() -> None:
    words = [cell.value for row in made("us", "demo").values["Steam"] for cell in row]
    said = " ".join(word for word in words if isinstance(word, str))
    assert "no sterilization in the sense of F0" in said
    assert "instructions of the steamer's maker, local codes" in said
