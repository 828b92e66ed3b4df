"""Core of a block: heating, cooling and its own heat against series and published figures."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import cumulative_trapezoid
from scipy.optimize import brentq

import cultivar_fx
from cultivar_fx.errors import NotPossible, OutOfRange
from cultivar_fx.stages import core

BRICK = (12, 16, 22)
EDGE = st.floats(4, 40)
EDGES = st.tuples(EDGE, EDGE, EDGE)
HOURS = st.floats(0, 48)
START = st.floats(0, 60)
STEAM = st.floats(90, 125)
DIFFUSIVITY = st.floats(0.05, 0.3)
WAY = st.floats(0.001, 0.999)  # share of the way from the start to the steam

approx = pytest.approx
each = settings(max_examples=200, deadline=None)


def core_by_differences(hours: float, points: int) -> float:
    """Solve the heat equation in an eighth of the brick: explicit differences, no series.

    From the middle, index 0, where the neighbor beyond is a mirror image, to the surface.
    """
    steps = [edge * 10 / 2 / points for edge in BRICK]
    most = 1 / (2 * 0.15 * sum(step**-2 for step in steps))
    count = int(np.ceil(hours * 3600 / most)) + 1
    interval = hours * 3600 / count
    field = np.full((points + 1,) * 3, 98.0)
    field[:-1, :-1, :-1] = 20.0
    inner = (slice(0, -1),) * 3
    for _ in range(count):
        change = np.zeros_like(field[inner])
        for axis, step in enumerate(steps):
            mirrored = np.concatenate([field.take([1], axis), field], axis)
            before = mirrored.take(range(points), axis)
            after = mirrored.take(range(2, points + 2), axis)
            others = tuple(slice(None) if a == axis else slice(0, -1) for a in range(3))
            change += ((before + after)[others] - 2 * field[inner]) / step**2
        field[inner] += 0.15 * interval * change
    return float(field[0, 0, 0])


@pytest.mark.parametrize("hours", [0.5, 1, 2, 4, 6])
def test_core_agrees_with_finite_differences(hours: float) -> None:
    # Independent numerical solution on two grids, extrapolated; 0.05 K of 78 K.
    coarse, fine = core_by_differences(hours, 8), core_by_differences(hours, 16)
    expected = fine + (fine - coarse) / 3
    assert cultivar_fx.core_temperature(hours, *BRICK, 20, 98, 0.15) == approx(expected, abs=0.05)


def test_one_term_of_the_slab() -> None:
    # Incropera, plane wall with a given surface temperature: 1.2733 and 1.5708, from memory.
    assert core.slab(1 / 4) == approx(1.2733 * np.exp(-(1.5708**2)), rel=1e-4)


@each
@given(fourier=st.floats(0.0001, 2))
def test_slab_is_the_whole_series(fourier: float) -> None:
    # Fourier's series, summed to 300 terms.
    odd = 2 * np.arange(300) + 1
    terms = (-1.0) ** np.arange(300) / odd * np.exp(-((odd * np.pi) ** 2) * fourier)
    assert core.slab(fourier) == approx(4 / np.pi * float(terms.sum()), abs=1e-14)


@each
@given(hours=HOURS, more=HOURS, edges=st.tuples(EDGE, EDGE, EDGE), start=START, hot=STEAM)
def test_core_warms_steadily_from_start_to_steam(
    hours: float, more: float, edges: tuple[float, float, float], start: float, hot: float
) -> None:
    earlier = core.core_temperature(hours, *edges, start, hot)
    later = core.core_temperature(hours + more, *edges, start, hot)
    assert start - 1e-9 <= earlier <= later + 1e-9
    assert later <= hot + 1e-9


def test_core_feels_nothing_at_first() -> None:
    assert cultivar_fx.core_temperature(0, *BRICK, 20, 98) == 20


def test_probe_of_a_real_run_gives_the_diffusivity_of_the_series() -> None:
    # What the series makes of 0.15 mm²/s after 7 h; 1 %, as promised of the hours.
    core = cultivar_fx.core_temperature(7, *BRICK, 20, 98, 0.15)
    found = cultivar_fx.diffusivity_from_probe(7, core, *BRICK, 20, 98)
    assert found == approx(0.15, rel=0.01)


@pytest.mark.parametrize("target", [10, 20, 98, 120])
def test_core_hours_need_a_target_between_start_and_steam(target: float) -> None:
    with pytest.raises(NotPossible, match="target_temperature: got"):
        cultivar_fx.core_hours(target, *BRICK, 20, 98)
    with pytest.raises(NotPossible, match="core_temperature: got"):
        cultivar_fx.diffusivity_from_probe(5, target, *BRICK, 20, 98)


def test_steam_is_hotter_than_the_block() -> None:
    with pytest.raises(NotPossible, match="steam_temperature: got 20"):
        cultivar_fx.core_temperature(5, *BRICK, 20, 20)


def test_core_in_american_units() -> None:
    # The same block in inches and °F.
    inches = [edge / 2.54 for edge in BRICK]
    metric = cultivar_fx.core_temperature(5, *BRICK, 20, 98)
    american = cultivar_fx.core_temperature(5, *inches, 68, 208.4, None, "us")
    assert (american - 32) / 1.8 == approx(metric, abs=1e-9)


# Hours until the core is hot


def hours_by_the_series(target: float, edges: tuple[float, float, float], hot: float) -> float:
    """Find the time at which Fourier's series, summed to 200 terms, reaches the target."""
    odd = 2 * np.arange(200) + 1
    signs = 4 / np.pi * (-1.0) ** np.arange(200) / odd

    def missing(hours: float) -> float:
        rates = [36 * 0.15 * hours / edge**2 for edge in edges]
        left = [float((signs * np.exp(-((odd * np.pi) ** 2) * rate)).sum()) for rate in rates]
        return hot - (hot - 20) * left[0] * left[1] * left[2] - target

    return float(brentq(missing, 0.002 * min(edges) ** 2 / 36 / 0.15, 5000))


@each
@given(edges=EDGES, way=WAY)
def test_core_hours_are_those_of_the_series(edges: tuple[float, float, float], way: float) -> None:
    # Conduction in a brick, Fourier's series: Incropera, from memory. Within 1 %, as promised.
    target = 20 + 78 * way
    expected = hours_by_the_series(target, edges, 98)
    assert core.core_hours(target, *edges, 20, 98) == approx(expected, rel=0.01)


@pytest.mark.parametrize("block", [(5, 6.5, 8.5), (5.25, 5.75, 9), (4, 4, 12)])
@pytest.mark.parametrize("target", [100, 140, 190, 200, 209])
def test_core_hours_answer_for_common_blocks(
    block: tuple[float, float, float], target: float
) -> None:
    # Bags of five to ten pounds in inches, from 60 °F to steam of 212 °F; the same series.
    edges = (block[0] * 2.54, block[1] * 2.54, block[2] * 2.54)
    celsius = 20 + (target - 60) / 152 * 78
    answer = cultivar_fx.core_hours(target, *block, 60, 212, units="us")
    assert answer == approx(hours_by_the_series(celsius, edges, 98), rel=0.01)


@each
@given(edges=EDGES, way=st.floats(0.01, 0.99), more=st.floats(0.001, 0.9), climb=st.floats(0, 20))
def test_a_hotter_core_takes_longer(
    edges: tuple[float, float, float], way: float, more: float, climb: float
) -> None:
    further = way + (0.999 - way) * more
    earlier, later = 20 + 78 * way, 20 + 78 * further
    assert core.core_hours(earlier, *edges, 20, 98) < core.core_hours(later, *edges, 20, 98)
    # During the climb and after it the hours come from two formulas, which meet within 2 %.
    climbing = [core.core_hours(each, *edges, 20, 98, 0.15, climb) for each in (earlier, later)]
    assert climbing[0] <= climbing[1] * 1.02


@cache
def climbing(edges: tuple[float, float, float], climb: float) -> tuple[np.ndarray, np.ndarray]:
    """Superpose the answers to many small steps of the steam: hours, and share of the way."""
    hours = np.linspace(0, 120, 120_001)
    left = np.ones_like(hours)
    odd = 2 * np.arange(60) + 1
    signs = 4 / np.pi * (-1.0) ** np.arange(60) / odd
    for edge in edges:
        fourier = 36 * 0.15 * hours / edge**2
        slab = sum(sign * np.exp(-((k * np.pi) ** 2) * fourier) for sign, k in zip(signs, odd))
        left *= np.where(fourier < 0.0018, 1, slab)
    whole = np.concatenate([[0], cumulative_trapezoid(left, hours)])
    before = np.where(hours < climb, hours - climb, np.interp(hours - climb, hours, whole))
    return hours, 1 - (whole - before) / climb


@pytest.mark.parametrize("edges", [(12.0, 16.0, 22.0), (14.0, 14.0, 14.0), (10.0, 40.0, 40.0)])
@pytest.mark.parametrize("climb", [0.5, 2.0, 5.0, 10.0])
@pytest.mark.parametrize("way", [0.35, 0.6, 0.85, 0.95, 0.99])
def test_a_climb_of_the_steam_delays_the_core(
    edges: tuple[float, float, float], climb: float, way: float
) -> None:
    # Duhamel's theorem on Fourier's series, integrated numerically; 3 % as promised.
    hours, share = climbing(edges, climb)
    expected = float(np.interp(way, share, hours))
    answer = cultivar_fx.core_hours(20 + 78 * way, *edges, 20, 98, 0.15, climb)
    assert answer == approx(expected, rel=0.03)


@each
@given(edges=EDGES, start=START, hot=STEAM, way=WAY, diffusivity=DIFFUSIVITY)
def test_diffusivity_comes_back_from_a_probe(
    edges: tuple[float, float, float], start: float, hot: float, way: float, diffusivity: float
) -> None:
    target = start + (hot - start) * way
    hours = core.core_hours(target, *edges, start, hot, diffusivity)
    found = core.diffusivity_from_probe(hours, target, *edges, start, hot)
    assert found == approx(diffusivity, rel=1e-9)


@pytest.mark.parametrize("edges", [(12.0, 16.0, 22.0), (14.0, 14.0, 14.0), (10.0, 40.0, 40.0)])
@pytest.mark.parametrize(("climb", "hours"), [(0.5, 6), (2, 6), (4, 8), (6, 10), (6, 16)])
def test_diffusivity_of_a_run_that_climbed(
    edges: tuple[float, float, float], climb: float, hours: float
) -> None:
    # What Duhamel's theorem makes of 0.15 mm²/s, as above; 3 %.
    times, share = climbing(edges, climb)
    probe = 20 + 78 * float(np.interp(hours, times, share))
    found = cultivar_fx.diffusivity_from_probe(hours, probe, *edges, 20, 98, climb)
    assert found == approx(0.15, rel=0.03)


def test_a_probe_is_read_after_the_climb() -> None:
    with pytest.raises(NotPossible, match="hours: got 5 h with a climb of 4 h, needs a reading"):
        cultivar_fx.diffusivity_from_probe(5, 90, *BRICK, 20, 98, 4)


def test_diffusivity_in_square_meters_a_second_is_refused() -> None:
    # 1.5E-7 m²/s is 0.15 mm²/s: a plain number is in mm²/s, a text says its unit.
    with pytest.raises(OutOfRange, match=r"diffusivity: got 1\.5e-07"):
        cultivar_fx.core_hours(95, *BRICK, 20, 98, 1.5e-7)
    typed = cultivar_fx.core_hours(95, *BRICK, 20, 98, "1.5e-7 m2/s")
    assert typed == approx(cultivar_fx.core_hours(95, *BRICK, 20, 98, 0.15), rel=1e-12)


# Cooling


@pytest.mark.parametrize("biot", [0.01, 0.1, 0.5, 1, 2, 5, 20, 100])
def test_root_of_the_cooling_slab(biot: float) -> None:
    # The exact root of x tan x = Bi; Yovanovich promises 0.4 %.
    exact = brentq(lambda x: x * np.tan(x) - biot, 1e-9, np.pi / 2 - 1e-9)
    assert core.cooling_root(biot) == approx(exact, rel=0.004)


def test_root_for_a_biot_number_of_1() -> None:
    # Incropera, Table 5.1 (from memory, recomputed): 0.8603 and 1.1191; 0.4 % of the closed form.
    assert core.cooling_root(1) == approx(0.8603, rel=0.004)
    assert core.cooling_start(core.cooling_root(1)) == approx(1.1191, rel=0.004)


def test_slab_in_air() -> None:
    # Yovanovich's example: half thickness 0.1 m, 20 W/(m·K), 100 W/(m²·K), 20 mm²/s, 600 s, so
    # a Biot number of 0.5 and a Fourier number of 1.2: 0.6405 by the closed form.
    root = core.cooling_root(0.5)
    assert core.cooling_start(root) * np.exp(-(root**2) * 1.2) == approx(0.6405, abs=0.00005)


def cooled_by_differences(hours: float, edge: float, film: float, conductivity: float) -> float:
    """Cool a cube by explicit differences in one dimension; the product for three."""
    points = 80
    step = edge / 100 / 2 / points
    diffusivity = 0.15e-6
    interval = 0.4 * step**2 / diffusivity
    field = np.ones(points + 1)
    for _ in range(int(hours * 3600 / interval)):
        inner = np.empty_like(field)
        inner[1:-1] = field[:-2] + field[2:] - 2 * field[1:-1]
        inner[0] = 2 * (field[1] - field[0])
        inner[-1] = 2 * (field[-2] - field[-1] - film * step / conductivity * field[-1])
        field = field + 0.4 * inner
    return float(field[0]) ** 3


@pytest.mark.parametrize(("film", "conductivity"), [(8, 0.3), (20, 0.3), (5, 0.5)])
def test_cooling_agrees_with_differences(film: float, conductivity: float) -> None:
    # Independent numerical solution with a film at the surface; 1 % of one term and its root.
    left = cooled_by_differences(8, 14, film, conductivity)
    answer = cultivar_fx.cooling_hours(18 + 80 * left, 14, 14, 14, 98, 18, film, conductivity, 0.15)
    assert answer == approx(8, rel=0.015)


def test_bulk_sawdust_cools_for_a_day_or_two() -> None:
    # Stamets, Growing Gourmet & Medicinal Mushrooms, p. 172: 1 to 2 days to below 38 °C.
    hours = cultivar_fx.cooling_hours(38, 40, 60, 80, 98, 18)
    assert 24 <= hours <= 72


@each
@given(edges=EDGES, film=st.floats(2, 50), more=st.floats(1.01, 3))
def test_a_fan_cools_faster(edges: tuple[float, float, float], film: float, more: float) -> None:
    still = core.cooling_hours(27, *edges, 98, 18, film)
    assert core.cooling_hours(27, *edges, 98, 18, film * more) < still


def test_no_block_gets_colder_than_the_air() -> None:
    with pytest.raises(NotPossible, match="target_temperature: got 17"):
        cultivar_fx.cooling_hours(17, *BRICK, 98, 18)


# Heat of the colony


def test_rise_in_a_slab() -> None:
    # Incropera, plane wall with generation (from memory, recomputed): 1.5 MW/m³, half thickness
    # 0.05 m, 75 W/(m·K) give 25 K. Here a thousandth of the heat and of the conductivity.
    rise = core.middle_of_brick(10, 500, 500)
    assert 1.5e6 / 75 * rise / 10000 == approx(25, rel=1e-4)


def test_rise_in_a_cube() -> None:
    # Series solution, recomputed: 0.0562 q a²/k.
    assert core.middle_of_brick(1, 1, 1) == approx(0.0562, abs=0.00005)


@each
@given(edges=st.tuples(EDGE, EDGE, EDGE).map(sorted))
def test_rise_in_a_brick(edges: list[float]) -> None:
    # The whole double series for a brick with heat made throughout, summed to 60 x 60 terms.
    across, along = (2 * np.indices((60, 60)) + 1).astype(float)
    waves = np.pi * np.sqrt((across / edges[0]) ** 2 + (along / edges[1]) ** 2)
    signs = (-1.0) ** ((across + along) / 2 - 1)
    reach = 1 - 1 / np.cosh(np.minimum(waves * edges[2] / 2, 500))
    series = 16 / np.pi**2 * signs / (across * along * waves**2) * reach
    assert core.middle_of_brick(*edges) == approx(float(series.sum()), rel=3e-4)


def test_rise_of_a_colonizing_block() -> None:
    # By hand: 0.2 g/(h·kg) at 61 kcal/day for each g/h (UC Davis) is 0.5908 W/kg; at 0.6 kg/L
    # 354.5 W/m³; a cube of 15 cm at 0.3 W/(m·K): 0.0562 * 354.5 * 0.0225 / 0.3 = 1.494 K.
    rise = cultivar_fx.colony_core_rise(0.2, 0.6, 15, 15, 15)
    assert rise == approx(1.494, rel=0.001)
    stack = cultivar_fx.colony_core_rise(0.2, 0.6, 60, 60, 60)
    assert stack == approx(16 * rise, rel=1e-9)


def test_rise_in_american_units() -> None:
    # The same in g/(h·lb), lb/gal, inches and Btu/(h·ft·°F); 1 Btu/(h·ft·°F) is 1.730735 W/(m·K).
    inches = (15 / 2.54,) * 3
    rise = cultivar_fx.colony_core_rise(
        0.2 * 0.45359237, 0.6 / 0.119826427, *inches, 0.3 / 1.730735, "us"
    )
    assert rise == approx(1.494 * 1.8, rel=0.001)
