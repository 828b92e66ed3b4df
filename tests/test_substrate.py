"""Substrate: moisture, water, nitrogen and carbon against published figures and mass balances."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import cultivar_fx
from cultivar_fx.errors import NotPossible
from cultivar_fx.stages import substrate

EXACT = 1e-9
MASS = st.floats(0.001, 10000)
MOISTURE = st.floats(0, 0.95)
CONTENT = st.floats(0, 0.6)
MATERIALS = st.lists(st.tuples(MASS, MOISTURE), min_size=1, max_size=6)

approx = pytest.approx
each = settings(max_examples=200, deadline=None)


# Published figures: moisture


def test_moisture_of_a_sample() -> None:
    # Richard & Trautmann, Cornell Composting, moisture page: 10 g wet, 2.3 g dry.
    assert cultivar_fx.moisture_from_sample("10 g", "2.3 g") == approx(0.77, abs=0.005)


def test_second_material_to_reach_a_goal() -> None:
    # Richard & Trautmann, Cornell Composting, moisture page; printed to 0.1 kg.
    answer = cultivar_fx.dry_material_to_add("10 kg", "77%", "60%", "35%")
    assert answer == approx(6.8, abs=0.05)


@pytest.mark.parametrize(
    ("wet", "dry"),
    [
        ("8%", 0.086957),
        ("10%", 0.111111),
        ("55%", 1.22222),
        ("60%", 1.5),
        ("62%", 1.63158),
        ("65%", 1.85714),
    ],
)
def test_wet_and_dry_basis(wet: str, dry: float) -> None:
    # Computed: db = wb/(1-wb); half a unit of the last printed digit.
    assert cultivar_fx.dry_basis(wet) == approx(dry, abs=5e-6)
    assert cultivar_fx.wet_basis(dry) == approx(float(wet.strip("%")) / 100, abs=5e-6)


@pytest.mark.parametrize(
    ("moisture", "target", "water"),
    [
        ("8%", "62%", 1.42105),
        ("10%", "62%", 1.36842),
        ("10%", "60%", 1.25),
        ("10%", "65%", 1.57143),
        ("6%", "62%", 1.47368),
    ],
)
def test_water_for_a_kilogram_as_received(moisture: str, target: str, water: float) -> None:
    # Computed: mass balance; half a unit of the last printed digit.
    assert cultivar_fx.water_to_add("1 kg", moisture, target) == approx(water, abs=5e-6)


def test_whole_batch() -> None:
    # Computed: mass balance of 80 kg pellets at 7 % and 20 kg bran at 12 %, brought to 62 %:
    # 74.4 kg + 17.6 kg dry, over 0.38.
    dry = cultivar_fx.dry_mass("80 kg", "7%") + cultivar_fx.dry_mass("20 kg", "12%")
    assert dry == approx(92.00, abs=0.005)
    assert cultivar_fx.mass_at_moisture(dry, "62%") == approx(242.1053, abs=5e-5)
    mixed = cultivar_fx.moisture_of_mix([80, 20], ["7%", "12%"])
    assert cultivar_fx.water_to_add("100 kg", mixed, "62%") == approx(142.1053, abs=5e-5)


def test_moisture_after_spawning() -> None:
    # Computed: mass balance of that batch and 4 % of its mass in spawn at 45 % (an assumption).
    answer = cultivar_fx.moisture_of_mix([242.1053, 9.6842], ["62%", "45%"])
    assert answer == approx(0.61346, abs=5e-6)


def test_moisture_is_on_wet_basis() -> None:
    # ISO 18134-1/-3 scope (abstract): water over total mass.
    assert cultivar_fx.moisture_from_sample(100, 90) == approx(0.10, rel=EXACT)


def test_dry_basis_is_that_of_wood_science() -> None:
    # ASTM D4442, from memory: water over oven-dry mass.
    assert cultivar_fx.dry_basis("10%") == approx(10 / 90, rel=EXACT)


def test_air_dry_to_oven_dry_composition() -> None:
    # J. Wood Sci. 2020, doi 10.1186/s10086-020-01935-7, Table 3: chips at 9.2 % db hold 44.68 %
    # carbon as they lie, 48.79 % of dry mass.
    dry_share = cultivar_fx.dry_mass(1, cultivar_fx.wet_basis("9.2%"))
    assert 0.4468 / dry_share == approx(0.4879, abs=5e-5)


@pytest.mark.parametrize("moisture", [0.08, 0.10], ids=["pellets", "EN 14961-2 limit"])
@pytest.mark.parametrize("target", [0.50, 0.55, 0.60, 0.67, 0.69])
def test_water_lands_on_moistures_that_growers_use(moisture: float, target: float) -> None:
    # Targets: Shen, Liu, Wang & Royse 2008 (shiitake); Royse, Penn State Extension (oyster).
    water = cultivar_fx.water_to_add(100, moisture, target)
    assert (100 * moisture + water) / (100 + water) == approx(target, rel=EXACT)


def test_water_in_raw_shiitake() -> None:
    # USDA nutrient database, as quoted in a cultivation book: 89.74 g of 100 g is water.
    assert cultivar_fx.dry_mass("100 g", "89.74%") == approx(0.01026, rel=EXACT)


# Published figures: composition


@pytest.mark.parametrize(
    ("protein_one", "protein_other"), [(0.12, 0.14), (0.14, 0.18), (0.18, 0.04)]
)
def test_nitrogen_of_by_products(protein_one: float, protein_other: float) -> None:
    # Crude protein: Alabama Extension, By-product feeds quick reference guide, Table 1.
    # Factor 6.25 (Kjeldahl). Equal dry masses: the protein of the mix lies in the middle.
    answer = cultivar_fx.nitrogen_of_mix([1, 1], [0, 0], [protein_one / 6.25, protein_other / 6.25])
    assert answer == approx((protein_one + protein_other) / 2 / 6.25, rel=EXACT)


def test_supplement_share_of_wheat_middlings() -> None:
    # Nitrogen of soybean hulls 1.92 %, wheat middlings 2.88 %: crude protein of Alabama Extension,
    # Table 1, over 6.25. Two thirds hulls and one third middlings hold 2.24 %.
    assert cultivar_fx.supplement_share("1.92%", "2.88%", "2.24%") == approx(1 / 3, rel=EXACT)


def test_carbon_nitrogen_ratio_by_mass_as_used() -> None:
    # "How to calculate the C:N ratio of your compost mix" (docslib 12269573): 21.5 / 0.62 = 34.7.
    # It ignores moisture, so every material has the same one here.
    answer = cultivar_fx.carbon_nitrogen_ratio(
        ["50 lb", "10 lb", "2 lb"], ["12%"] * 3, ["40%", "10%", "25%"], ["1%", "1%", "1%"]
    )
    assert answer == approx(34.7, abs=0.05)


def test_carbon_nitrogen_ratio_of_wood_chips() -> None:
    # J. Wood Sci. 2020, Table 3: C 48.79 %, N 0.16 %; derived 304.9.
    answer = cultivar_fx.carbon_nitrogen_ratio([1], ["9.2%"], ["48.79%"], ["0.16%"])
    assert answer == approx(304.9, abs=0.05)


def test_meter_that_shows_too_much() -> None:
    # Plain proportion: a meter that shows 20 L for 19 L shows 100 L for 95 L.
    assert cultivar_fx.meter_setting("95 L", "20 L", "19 L") == approx(100, rel=EXACT)


# Common practice


def test_five_pound_block_of_equal_parts() -> None:
    # Common practice, no source: a pound of hardwood and a pound of soybean-hull pellets take
    # about 1.4 L for a block of about five pounds near 62 to 63 %. "About" is taken as a tenth.
    pellets = cultivar_fx.moisture_of_mix(["1 lb", "1 lb"], ["8%", "10%"])
    dry = cultivar_fx.dry_mass("2 lb", pellets)
    for target in ("62%", "63%"):
        assert cultivar_fx.water_to_add("2 lb", pellets, target) == approx(1.4, rel=0.10)
        assert cultivar_fx.mass_at_moisture(dry, target) == approx(5 * 0.45359237, rel=0.10)
    # With just 1.4 L it comes out within two points of that.
    block = cultivar_fx.moisture_of_mix(["1 lb", "1 lb", "1.4 kg"], ["8%", "10%", "100%"])
    assert block == approx(0.625, abs=0.02)


# Mass balances and round trips


@each
@given(MASS, MOISTURE)
def test_dry_mass_and_back(mass: float, moisture: float) -> None:
    dry = substrate.dry_mass(mass, moisture)
    assert dry + mass * moisture == approx(mass, rel=EXACT)
    assert substrate.mass_at_moisture(dry, moisture) == approx(mass, rel=EXACT)


@each
@given(MASS, MOISTURE, st.floats(0, 100))
def test_sample_gives_back_its_moisture(mass: float, moisture: float, container: float) -> None:
    oven_dry = container + mass * (1 - moisture)
    answer = substrate.moisture_from_sample(container + mass, oven_dry, container)
    assert answer == approx(moisture, abs=1e-9)


@each
@given(MOISTURE)
def test_wet_basis_and_back(moisture: float) -> None:
    assert substrate.wet_basis(substrate.dry_basis(moisture)) == approx(moisture, rel=EXACT)


@each
@given(st.floats(0, 50))
def test_dry_basis_and_back(moisture: float) -> None:
    assert substrate.dry_basis(substrate.wet_basis(moisture)) == approx(moisture, rel=EXACT)


@each
@given(MATERIALS)
def test_mix_holds_the_water_of_its_materials(materials: list[tuple[float, float]]) -> None:
    masses, moistures = zip(*materials)
    answer = substrate.moisture_of_mix(masses, moistures)
    water = sum(mass * moisture for mass, moisture in materials)
    assert answer * sum(masses) == approx(water, rel=EXACT)
    assert min(moistures) - 1e-12 <= answer <= max(moistures) + 1e-12


@each
@given(MASS, MOISTURE, MOISTURE)
def test_added_water_keeps_the_dry_matter(mass: float, one: float, other: float) -> None:
    moisture, target = sorted((one, other))
    water = substrate.water_to_add(mass, moisture, target)
    assert water >= 0
    assert (mass + water) * (1 - target) == approx(mass * (1 - moisture), rel=EXACT)
    assert (mass + water) * target == approx(mass * moisture + water, rel=EXACT)


@each
@given(MASS, st.tuples(st.floats(0, 0.3), st.floats(0.35, 0.6), st.floats(0.6, 0.95)))
def test_added_dry_material_balances(mass: float, moistures: tuple[float, float, float]) -> None:
    added_moisture, target, moisture = moistures
    added = substrate.dry_material_to_add(mass, moisture, target, added_moisture)
    water = mass * moisture + added * added_moisture
    dry = mass * (1 - moisture) + added * (1 - added_moisture)
    assert water == approx((mass + added) * target, rel=EXACT)
    assert dry == approx((mass + added) * (1 - target), rel=EXACT)


@each
@given(MASS, st.floats(0, 0.5), st.floats(0.5, 0.9), st.floats(1, 50))
def test_too_much_water_is_taken_back(
    mass: float, moisture: float, target: float, excess: float
) -> None:
    # Material put in for the excess water needs just that water itself.
    wet = mass + substrate.water_to_add(mass, moisture, target) + excess
    wet_moisture = 1 - mass * (1 - moisture) / wet
    added = substrate.dry_material_to_add(wet, wet_moisture, target, 0.1)
    assert substrate.water_to_add(added, 0.1, target) == approx(excess, rel=1e-6)


@each
@given(st.lists(st.tuples(MASS, MOISTURE, CONTENT), min_size=1, max_size=6))
def test_mix_holds_the_nitrogen_of_its_materials(rows: list[tuple[float, ...]]) -> None:
    masses, moistures, nitrogens = zip(*rows)
    dry = sum(mass - mass * moisture for mass, moisture, _ in rows)
    nitrogen = sum((mass - mass * moisture) * share for mass, moisture, share in rows)
    answer = substrate.nitrogen_of_mix(masses, moistures, nitrogens)
    assert answer * dry == approx(nitrogen, rel=EXACT, abs=1e-12)


@each
@given(st.lists(st.tuples(MASS, MOISTURE, CONTENT, st.floats(0.001, 0.1)), min_size=1, max_size=6))
def test_carbon_nitrogen_ratio_in_the_handbook_form(rows: list[tuple[float, ...]]) -> None:
    # Cornell Composting, C/N pages; On-Farm Composting Handbook NRAES-54 (from memory):
    # sum of Q·C·(100−M) over sum of Q·N·(100−M), all in percent.
    percent = [(q, 100 * m, 100 * c, 100 * n) for q, m, c, n in rows]
    above = sum(q * c * (100 - m) for q, m, c, _ in percent)
    below = sum(q * n * (100 - m) for q, m, _, n in percent)
    assert substrate.carbon_nitrogen_ratio(*zip(*rows)) == approx(above / below, rel=EXACT)


@each
@given(st.floats(0, 0.02), st.floats(0.021, 0.1), st.floats(0, 1))
def test_supplement_share_reaches_the_nitrogen(base: float, supplement: float, part: float) -> None:
    target = min(base + part * (supplement - base), supplement)
    share = substrate.supplement_share(base, supplement, target)
    mixed = substrate.nitrogen_of_mix([1 - share, share], [0, 0], [base, supplement])
    assert mixed == approx(target, rel=EXACT, abs=1e-12)


# What is not possible


def test_sample_that_gains_mass_is_refused() -> None:
    with pytest.raises(NotPossible, match="oven_dry_mass"):
        cultivar_fx.moisture_from_sample(10, 11)


def test_container_heavier_than_the_sample_is_refused() -> None:
    with pytest.raises(NotPossible, match="container_mass"):
        cultivar_fx.moisture_from_sample(10, 5, 6)


def test_wetter_than_the_target_names_the_way_back() -> None:
    with pytest.raises(NotPossible, match="DRY_MATERIAL_TO_ADD"):
        cultivar_fx.water_to_add(100, "65%", "62%")


def test_drier_than_the_target_names_the_other_function() -> None:
    with pytest.raises(NotPossible, match="WATER_TO_ADD"):
        cultivar_fx.dry_material_to_add(100, "60%", "62%", "10%")


def test_material_as_wet_as_the_target_brings_nothing_down() -> None:
    with pytest.raises(NotPossible, match="added_moisture"):
        cultivar_fx.dry_material_to_add(100, "65%", "62%", "62%")


def test_mix_of_nothing_is_refused() -> None:
    with pytest.raises(NotPossible, match="masses"):
        cultivar_fx.moisture_of_mix([0, 0], ["8%", "10%"])
    with pytest.raises(NotPossible, match="masses"):
        cultivar_fx.nitrogen_of_mix([10], ["100%"], ["1%"])


def test_mix_without_nitrogen_has_no_ratio() -> None:
    with pytest.raises(NotPossible, match="nitrogens"):
        cultivar_fx.carbon_nitrogen_ratio([1], [0], ["48%"], [0])


@pytest.mark.parametrize("target", ["1%", "4%"])
def test_nitrogen_outside_base_and_supplement_is_refused(target: str) -> None:
    with pytest.raises(NotPossible, match="target_nitrogen"):
        cultivar_fx.supplement_share("1.92%", "2.88%", target)


def test_supplement_has_to_be_richer() -> None:
    with pytest.raises(NotPossible, match="supplement_nitrogen"):
        cultivar_fx.supplement_share("2%", "2%", "2%")


def test_sample_of_nothing_but_water_is_all_moisture() -> None:
    # Nothing is left beside the container: by the definition of moisture.
    assert cultivar_fx.moisture_from_sample(30, 20, 20) == 1


def test_base_and_supplement_alone_are_the_ends_of_the_share() -> None:
    # Mass balance: none of the supplement leaves the base as it is, all of it the supplement.
    assert cultivar_fx.supplement_share(0.001, 0.02, 0.001) == 0
    assert cultivar_fx.supplement_share(0.001, 0.02, 0.02) == 1
