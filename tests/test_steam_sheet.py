"""The Steam sheet against steam tables, heat conduction written out, and the trapezoid."""

from __future__ import annotations

from itertools import pairwise
from math import log, pi, sin, tan
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from iapws import IAPWS97
from reading import parts, place, singles, table
from scipy.optimize import brentq
from workbooks import made

if TYPE_CHECKING:
    from office import Office

LOAD, CORE, RUN = "The load", "How fast the core heats up", "Lethality of a run"
WHOLE, COOLING = "The whole run", "Cooling until you can spawn"


def shown(title: str, units: str = "metric") -> dict[str, Any]:
    return parts(made(units, "demo").values["Steam"])[title].values


def typed(key: str) -> Any:
    return singles(made("metric", "demo").values)[key]


def test_steam_at_the_altitude() -> None:
    """ICAO standard atmosphere, and IAPWS-IF97 by the package iapws; 0.02 K."""
    pressure = 0.101325 * (1 - 0.0065 * typed("altitude") / 288.15) ** 5.25588  # MPa
    boiling = IAPWS97(P=pressure, x=0).T - 273.15
    assert shown(LOAD)["Steam temperature"] == pytest.approx(boiling, abs=0.02)


def test_heat_and_hours_of_the_load() -> None:
    """Wood Handbook 2010: dry wood 0.1031 + 0.003867 T kJ/(kg K); water 4.19; kWh of 3600 kJ."""
    load = shown(LOAD)
    mass = typed("blocks_per_load") * typed("block_mass")
    start, end = typed("start_temperature"), load["Steam temperature"]
    wood = 0.1031 + 0.003867 * ((start + end) / 2 + 273.15)
    heat = mass * (0.37 * wood + 0.63 * 4.19) * (end - start) / 3600
    hours = heat / (typed("steamer_power") * typed("steamer_efficiency"))
    assert load["Mass of the load"] == pytest.approx(mass)
    assert load["Heat into the blocks"] == pytest.approx(heat)
    assert load["Hours until the steamer is hot"] == pytest.approx(hours)


def test_the_run_pays_for_heating_soaking_and_holding() -> None:
    """Energy balance: heat over efficiency, then the power during hold for soak and hold."""
    load, core, run = shown(LOAD), shown(CORE), shown(WHOLE)
    climb = load["Hours until the steamer is hot"]
    soak = core["Hours until the hold starts"] - climb
    assert soak > 1
    assert core["Soaking time"] == pytest.approx(soak)
    energy = load["Heat into the blocks"] / typed("steamer_efficiency")
    energy += (soak + typed("hold_hours")) * typed("hold_power")
    assert run["Length of the run"] == pytest.approx(climb + soak + typed("hold_hours"))
    assert run["Energy of the run"] == pytest.approx(energy)
    assert run["Energy cost of the run"] == pytest.approx(energy * typed("electricity_price"))


def test_water_boiled_off() -> None:
    """Steam tables at 0.101325 MPa, by the package iapws; 0.5 %, for water's specific heat."""
    run = shown(WHOLE)
    feed = IAPWS97(P=0.101325, T=typed("feed_temperature") + 273.15).h
    rise = IAPWS97(P=0.101325, x=1).h - feed  # kJ/kg
    expected = run["Energy of the run"] * 3600 / rise
    assert run["Water boiled off, at most"] == pytest.approx(expected, rel=0.005)


def test_every_run_is_held_against_its_meters() -> None:
    """The same balance for the blocks and the hold of each run; the mean of those metered."""
    load, core = shown(LOAD), shown(CORE)
    ratios = []
    for row in table(made("metric", "demo").values, "steam_runs", "metric"):
        heat = row["blocks"] * load["Heat of one block"] / typed("steamer_efficiency")
        energy = heat + (core["Soaking time"] + row["hold_hours"]) * typed("hold_power")
        assert row["energy"] == pytest.approx(energy)
        if row["energy_metered"] is None:
            assert row["energy_ratio"] in (None, "")
        else:
            ratios.append(row["energy_metered"] / energy)
            assert row["energy_ratio"] == pytest.approx(ratios[-1])
    assert len(ratios) > 3
    metered = shown(WHOLE)["Energy, metered over predicted"]
    assert metered == pytest.approx(sum(ratios) / len(ratios))


def core_after(hours: float, start: float, steam: float, diffusivity: float | None = None) -> float:
    """Conduction in a brick: product of three slab series, 200 terms each."""
    return float(steam - (steam - start) * temperature_left(np.array([hours]), diffusivity)[0])


def temperature_left(hours: Any, diffusivity: float | None = None) -> Any:
    """Return which share of the first difference of temperature the core still has, by the hour."""
    n = np.arange(200)
    left = np.ones(len(hours))
    for edge in ("core_thickness", "core_width", "core_length"):
        scaled = (diffusivity or typed("core_diffusivity")) * hours * 36 / typed(edge) ** 2
        decay = np.exp(-((2 * n + 1) ** 2) * pi**2 * scaled[:, None])
        left *= (4 / pi * (-1.0) ** n / (2 * n + 1) * decay).sum(axis=1)
    return np.where(hours > 0, left, 1.0)


def core_after_a_climb(
    hours: float, start: float, steam: float, climb: float, diffusivity: float | None = None
) -> float:
    """Duhamel's theorem: the steam rises in 100 equal steps, each answered by the series."""
    steps = hours - (np.arange(100) + 0.5) * climb / 100
    share = 1 - temperature_left(np.maximum(steps, 0), diffusivity).mean()
    return float(start + (steam - start) * share)


def test_hours_until_the_core_is_hot() -> None:
    """Conduction in a brick while the steam climbs steadily; 3 %, as CORE_HOURS promises."""
    core, load = shown(CORE), shown(LOAD)
    steam, climb = load["Steam temperature"], load["Hours until the steamer is hot"]
    start, target = typed("start_temperature"), typed("hold_from")
    assert core["Core temperature for the hold"] == pytest.approx(target)
    hours = core["Hours until the hold starts"]
    assert core_after_a_climb(hours * 0.97, start, steam, climb) < target
    assert core_after_a_climb(hours * 1.03, start, steam, climb) > target
    then = core_after(typed("core_check_hours"), start, steam)
    assert core["Core temperature then"] == pytest.approx(then, abs=1e-6)


def test_a_blank_length_follows_from_mass_and_bulk_density(office: Office) -> None:
    """Volume of a brick by hand: kilograms over kilograms a liter, 1000 cm³ a liter."""
    workbook = made("metric", "demo").values
    lines = parts(workbook["Steam"])[CORE].lines
    spot = place(workbook, "core_length")
    with office.kept(made("metric", "demo").path) as document:
        document.write(spot.sheet, spot.row, spot.column, [[""]])
        used = document.read("Steam", lines["Length used"], 1)[0][0]
        density = document.read("Steam", lines["Bulk density of the recipe"], 1)[0][0]
    face = typed("core_thickness") * typed("core_width")
    assert used == pytest.approx(typed("block_mass") / density * 1000 / face)


def test_a_blank_hold_temperature_is_a_little_below_the_steam(office: Office) -> None:
    workbook = made("metric", "demo").values
    line = parts(workbook["Steam"])[CORE].lines["Core temperature for the hold"]
    spot = place(workbook, "hold_from")
    with office.kept(made("metric", "demo").path) as document:
        document.write(spot.sheet, spot.row, spot.column, [[""]])
        shown_then = document.read("Steam", line, 1)[0][0]
    assert shown_then == pytest.approx(shown(LOAD)["Steam temperature"] - typed("core_gap"))


@pytest.mark.parametrize(
    ("key", "value"), [("hold_from", 105.0), ("start_temperature", 99.5), ("altitude", 4500.0)]
)
def test_a_core_that_never_gets_that_hot_is_a_word(key: str, value: float, office: Office) -> None:
    workbook = made("metric", "demo").values
    line = parts(workbook["Steam"])[CORE].lines["Hours until the hold starts"]
    spot = place(workbook, key)
    with office.kept(made("metric", "demo").path) as document:
        document.write(spot.sheet, spot.row, spot.column, [[value]])
        assert document.read("Steam", line, 1)[0][0] == "never"
        assert document.contents()["Steam"].errors() == {}


@pytest.mark.parametrize("value", [40.0, 88.0, 98.5])
def test_a_core_of_any_temperature_has_its_hours(value: float, office: Office) -> None:
    workbook = made("metric", "demo").values
    line = parts(workbook["Steam"])[CORE].lines["Hours until the hold starts"]
    spot = place(workbook, "hold_from")
    with office.kept(made("metric", "demo").path) as document:
        document.write(spot.sheet, spot.row, spot.column, [[value]])
        assert document.read("Steam", line, 1)[0][0] > 0


def test_hours_of_cooling() -> None:
    """One-term solution, Incropera, with the exact roots of x tan x = Bi by scipy; 1 %."""
    cooling = shown(COOLING)
    decay, start = 0.0, 1.0
    for edge in ("core_thickness", "core_width", "core_length"):
        half = typed(edge) / 200
        biot = typed("cooling_film") * half / typed("cooling_conductivity")
        root = brentq(lambda x, biot=biot: x * tan(x) - biot, 1e-9, pi / 2 - 1e-9)
        start *= 4 * sin(root) / (2 * root + sin(2 * root))
        decay += root**2 * typed("core_diffusivity") * 3600e-6 / half**2
    hot, air = shown(LOAD)["Steam temperature"], typed("cooling_air")
    hours = log(start * (hot - air) / (typed("spawning_temperature") - air)) / decay
    assert cooling["Cooling time"] == pytest.approx(hours, rel=0.01)
    ready = shown(WHOLE)["Length of the run"] + cooling["Cooling time"]
    assert cooling["Ready to spawn after"] == pytest.approx(ready)


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
        assert shown(RUN, units)["Lethality of the run"] == pytest.approx(sum(minutes))
        hot = shown(CORE, units)["Core temperature for the hold"]
        first = next(row["hours"] for row in rows if row["core"] >= hot)
        assert shown(RUN, units)["Core first hot after"] == first


def test_the_log_tells_the_diffusivity_of_the_blocks() -> None:
    """The diffusivity with which Duhamel's theorem meets the reading where the core is hot; 3 %."""
    rows = table(made("metric", "demo").values, "steam_log", "metric")
    steam = shown(LOAD)["Steam temperature"]
    climb = next(row["hours"] for row in rows if row["chamber"] >= steam - typed("core_gap"))
    hot = next(row for row in rows if row["core"] >= typed("hold_from"))
    start = min(row["core"] for row in rows)

    def missing(diffusivity: float) -> float:
        core = core_after_a_climb(hot["hours"], start, steam, climb, diffusivity)
        return core - hot["core"]

    run = shown(RUN)
    assert run["Chamber hot after"] == climb
    assert run["Core when first hot"] == pytest.approx(hot["core"])
    assert run["Thermal diffusivity by this run"] == pytest.approx(
        brentq(missing, 0.03, 0.6, xtol=1e-4), rel=0.03
    )


def test_the_sheet_says_that_steam_does_not_sterilize() -> None:
    words = [cell.value for row in made("us", "demo").values["Steam"] for cell in row]
    said = " ".join(word for word in words if isinstance(word, str))
    assert "does not sterilize in the sense of F0" in said
    assert "instructions of the steamer's maker, local codes" in said


def test_a_blank_recipe_is_the_first_on_the_list(office: Office) -> None:
    """Costing for every recipe rests on the load: a blank must not stop it."""
    workbook = made("metric", "demo").values
    first = next(row for row in table(workbook, "recipes", "metric") if row["recipe"])
    load = parts(workbook["Steam"])[LOAD].lines
    spot = place(workbook, "steam_recipe")
    with office.kept(made("metric", "demo").path) as document:
        document.write(spot.sheet, spot.row, spot.column, [[""]])
        recipe = document.read("Steam", load["Recipe counted with"], 1)[0][0]
        moisture = document.read("Steam", load["Moisture of the blocks"], 1)[0][0]
    assert recipe == first["recipe"]
    assert moisture == pytest.approx(first["target_moisture"])


def test_without_recipes_the_sheet_says_so() -> None:
    worksheet = made("metric", "empty").values["Steam"]
    row = next(cell.row for cell in worksheet["A"] if cell.value == "Still to fill in")
    assert "Recipe (Recipes); " in worksheet.cell(row + 1, 1).value
