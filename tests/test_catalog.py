"""The catalog: names that people type, and definitions that agree with their functions."""

from __future__ import annotations

import datetime as dt
import inspect
import re
from decimal import Decimal

import pytest

import cultivar_fx
from cultivar_fx.calls.call import call
from cultivar_fx.catalog.definition import Definition, parse_limits, sections
from cultivar_fx.catalog.dimensions import DIMENSIONS, METRIC, US
from cultivar_fx.catalog.native import formula
from cultivar_fx.catalog.registry import STAGES, definition, functions
from cultivar_fx.errors import UnknownFunction
from cultivar_fx.formula.tree import Node, Place, walk

# The contract: names, arguments and their order are typed into people's cells, and stay as they
# are. Square brackets: optional. New functions and new optional arguments go behind the others.
CONTRACT = """
substrate
    dry_mass(mass, moisture)
    mass_at_moisture(dry_mass, moisture)
    moisture_from_sample(wet_mass, oven_dry_mass, [container_mass])
    wet_basis(dry_basis_moisture)
    dry_basis(wet_basis_moisture)
    moisture_of_mix(masses, moistures)
    water_to_add(mass, moisture, target)
    dry_material_to_add(mass, moisture, target, added_moisture)
    nitrogen_of_mix(masses, moistures, nitrogens)
    carbon_nitrogen_ratio(masses, moistures, carbons, nitrogens)
    supplement_share(base_nitrogen, supplement_nitrogen, target_nitrogen)
    meter_setting(volume, meter_reading, measured_volume)
bags
    bag_count(batch_mass, bag_mass, [lost_mass])
    left_over(batch_mass, bag_mass, [lost_mass])
    batch_mass(bags, bag_mass, [lost_mass])
    bulk_density(mass, volume)
    fill_volume(bag_mass, bulk_density)
    block_length(bag_mass, bulk_density, thickness, width)
    largest_batch(mixer_volume, bulk_density, working_fill)
    mixer_loads(batch_mass, mixer_volume, bulk_density, working_fill)
steam
    boiling_point(altitude)
    specific_heat(moisture, [temperature])
    heat_up_energy(mass, moisture, start_temperature, end_temperature)
    heat_up_hours(energy, power, [efficiency])
    steam_rate(power, [efficiency], [feed_temperature])
    lethal_rate(temperature, [reference_temperature], [z_value])
    lethality(hours, temperatures, [reference_temperature], [z_value])
core
    core_temperature(hours, thickness, width, length, start_temperature, steam_temperature,
        [diffusivity])
    core_hours(target_temperature, thickness, width, length, start_temperature, steam_temperature,
        [diffusivity], [ramp_hours])
    diffusivity_from_probe(hours, core_temperature, thickness, width, length, start_temperature,
        steam_temperature, [ramp_hours])
    cooling_hours(target_temperature, thickness, width, length, start_temperature,
        air_temperature, [film_coefficient], [conductivity], [diffusivity])
    colony_core_rise(carbon_dioxide_per_mass, bulk_density, thickness, width, length,
        [conductivity])
spawn
    spawn_needed(substrate_mass, rate)
    spawn_rate(spawn_mass, substrate_mass)
    spawn_rate_dry(spawn_mass, spawn_moisture, substrate_mass, substrate_moisture)
    spawn_bags(spawn_mass, spawn_bag_mass)
    blocks_per_spawn_bag(spawn_bag_mass, block_mass, rate)
    spawn_to_start(spawn_mass, expansion, generations, [loss_rate])
incubation
    respiration_heat(carbon_dioxide_rate)
    wall_heat_loss(area, r_value, inside_temperature, outside_temperature)
    heater_power(wall_heat_loss, air_heat, colony_heat, [margin])
    cooling_power(wall_heat_gain, air_heat, colony_heat, [equipment_heat], [margin])
air
    fresh_air(carbon_dioxide_rate, room_ppm, outdoor_ppm, [altitude])
    room_carbon_dioxide(carbon_dioxide_rate, air_flow, outdoor_ppm, [altitude])
    carbon_dioxide_after(hours, start_ppm, air_flow, room_volume, outdoor_ppm,
        [carbon_dioxide_rate], [altitude])
    air_changes(air_flow, room_volume)
    air_changes_from_decay(hours, start_ppm, end_ppm, outdoor_ppm)
    carbon_dioxide_from_rise(hours, start_ppm, end_ppm, room_volume, [altitude])
climate
    saturation_pressure(temperature)
    humidity_ratio(temperature, relative_humidity, [altitude])
    dew_point(temperature, relative_humidity)
    vapor_pressure_deficit(temperature, relative_humidity)
    relative_humidity(dry_bulb, wet_bulb, [altitude])
    humidifying_water(air_flow, outside_temperature, outside_humidity, room_temperature,
        room_humidity, [altitude])
    air_heat(air_flow, outside_temperature, outside_humidity, room_temperature, room_humidity,
        [altitude])
harvest
    biological_efficiency(fresh_mass, dry_substrate_mass)
    expected_harvest(dry_substrate_mass, biological_efficiency)
    yield_rate(fresh_mass, wet_substrate_mass)
    efficiency_from_yield(yield_rate, moisture)
    drying_ratio(fresh_moisture, dried_moisture)
    dried_mass(fresh_mass, fresh_moisture, dried_moisture)
    harvest_per_area(fresh_mass, area, days)
    spent_substrate(dry_substrate_mass, fresh_mass, fresh_moisture, [dry_matter_loss])
storage
    harvest_heat(mass, temperature)
    cold_room_power(mass, start_temperature, end_temperature, hours, moisture,
        [respiration_heat], [wall_heat_gain], [margin])
    storage_loss(mass, days, daily_loss)
losses
    loss_low(lost, total, [confidence], [dispersion])
    loss_high(lost, total, [confidence], [dispersion])
    loss_difference_low(lost_a, total_a, lost_b, total_b, [confidence],
        [dispersion])
    loss_difference_high(lost_a, total_a, lost_b, total_b, [confidence],
        [dispersion])
    blocks_to_start(good_blocks, loss_rate, [chance], [dispersion])
    blocks_for_confidence(good_blocks, loss_rate, confidence)
    trial_blocks(loss_a, loss_b, [confidence], [power], [dispersion])
    welch_p_value(values_a, values_b)
    blocks_to_inspect(share, confidence, [lot_size])
evidence
    dispersion(lost, totals)
    design_effect(lost, totals)
    credibility(batches, weight)
    blended(own, plan, batches, weight)
    look_confidence(confidence, looks)
money
    cost_per_pound(cost, pounds)
    cost_per_kilogram(cost, kilograms)
    cost_after_losses(cost, loss_rate)
    price_for_margin(cost, margin)
    price_for_markup(cost, markup)
    margin(price, cost)
    markup(price, cost)
    break_even(fixed_cost, price, variable_cost)
    yearly_depreciation(cost, salvage, years)
    labor_cost(minutes, hourly_wage, [burden])
    payback_years(investment, yearly_net)
planning
    blocks_for_demand(demand, yield_per_block, loss_rate)
    blocks_in_progress(blocks_per_week, days)
    shelf_spaces(shelf_length, shelf_depth, block_length, block_depth, [gap], [shelves])
    blocks_per_week(places, days)
    start_date(sale_date, days)
everywhere
    convert_units(quantity, unit)
    why(function)
"""
RANGES = {"masses", "moistures", "nitrogens", "carbons", "values_a", "values_b"}
RANGES_OF = {
    "LETHALITY": {"hours", "temperatures"},
    "DISPERSION": {"lost", "totals"},
    "DESIGN_EFFECT": {"lost", "totals"},
}

LONGEST_HELP = 255  # what Excel shows of a description
ORDER = ["", "Parameters", "Returns", "Raises", "Notes", "References", "Examples"]
ALWAYS = {"", "Parameters", "Returns", "References", "Examples"}
PYTHON_ONLY = {
    "CONVERT_UNITS": "units of any kind are looked up in a library",
    "WHY": "it reads sentences from the definitions",
}

ALL = list(functions().values())
NATIVE = [wanted for wanted in ALL if wanted.name not in PYTHON_ONLY]

each_function = pytest.mark.parametrize("wanted", ALL, ids=lambda wanted: wanted.name)
each_native = pytest.mark.parametrize("wanted", NATIVE, ids=lambda wanted: wanted.name)


def _contract() -> list[tuple[str, str, str]]:
    """Return stage, name and arguments of each line of the contract."""
    lines = []
    stage = ""
    for line in re.sub(r",\n +", ", ", CONTRACT.strip()).splitlines():
        if line.startswith(" "):
            name, arguments = line.strip().rstrip(")").split("(")
            lines.append((stage, name, arguments))
        else:
            stage = line
    return lines


def test_names_arguments_and_order_are_those_that_people_have_typed() -> None:
    described = [
        (
            wanted.stage,
            wanted.python_name,
            ", ".join(a.name if a.required else f"[{a.name}]" for a in wanted.arguments),
        )
        for wanted in ALL
    ]
    assert described == _contract()


@each_function
def test_ranges_are_ranges_and_single_values_are_not(wanted: Definition) -> None:
    ranges = {argument.name for argument in wanted.arguments if argument.is_range}
    names = {argument.name for argument in wanted.arguments}
    assert ranges == RANGES_OF.get(wanted.name, names & RANGES)


@each_function
def test_no_range_is_of_whole_numbers(wanted: Definition) -> None:
    """Their formula would need INT of a range, for which the engine of stored values has none."""
    assert not [a.name for a in wanted.arguments if a.is_range and a.limits.whole]


def test_stages_stand_in_the_order_of_the_work() -> None:
    assert list(dict.fromkeys(wanted.stage for wanted in ALL)) == list(STAGES)


@each_function
def test_units_go_with_every_dimensioned_argument_or_result(wanted: Definition) -> None:
    # Plain numbers in the unit of the name; a text is no dimensioned number
    without = {"COST_PER_POUND", "COST_PER_KILOGRAM", "CONVERT_UNITS", "WHY"}
    plain = {"fraction", "count", "number", "money", "date"}
    dimensions = {a.dimension.name for a in wanted.arguments} | {wanted.result.name}
    assert wanted.takes_units == (wanted.name not in without and bool(dimensions - plain))


@each_function
def test_docstring_has_its_sections_in_order(wanted: Definition) -> None:
    found = list(sections(wanted.function))
    assert set(found) >= ALWAYS
    assert found == [name for name in ORDER if name in found]


@each_function
def test_docstring_describes_just_the_parameters_of_the_signature(wanted: Definition) -> None:
    described = re.findall(r"^(\w+) : (.+)$", sections(wanted.function)["Parameters"], re.M)
    parameters = [
        parameter
        for parameter in inspect.signature(wanted.function).parameters.values()
        if parameter.kind is not parameter.VAR_POSITIONAL
    ]
    assert [name for name, _ in described] == [parameter.name for parameter in parameters]
    for (_, kind), parameter in zip(described, parameters, strict=True):
        assert kind == {"Sequence[float]": "sequence of float"}.get(
            parameter.annotation, parameter.annotation
        )


@each_function
def test_definition_agrees_with_signature_and_docstring(wanted: Definition) -> None:
    parameters = inspect.signature(wanted.function).parameters
    body = sections(wanted.function)["Parameters"]
    for argument in wanted.arguments:
        default = parameters[argument.name].default
        assert argument.default == (None if default is inspect.Parameter.empty else default)
        text = " ".join(body.split(f"{argument.name} : ")[1].split(" : ")[0].split())
        unit, _, limits = re.search(r"\[([^];]+)(; )?([^]]*)\]\.", text).groups()
        assert argument.dimension is DIMENSIONS[unit]
        assert argument.limits == parse_limits(limits)
        assert argument.limits.hold(argument.default or 0) or argument.required


@each_function
def test_something_is_required(wanted: Definition) -> None:
    assert any(argument.required for argument in wanted.arguments)
    required = [argument.required for argument in wanted.arguments]
    assert required == sorted(required, reverse=True)


@each_function
def test_texts_are_short_enough_for_excel(wanted: Definition) -> None:
    assert 0 < len(wanted.summary) <= LONGEST_HELP
    assert 0 < len(wanted.result_help) <= LONGEST_HELP
    for argument in wanted.arguments:
        assert 0 < len(argument.help) <= LONGEST_HELP, argument.name


@each_function
def test_texts_are_whole_sentences(wanted: Definition) -> None:
    for text in (
        wanted.summary,
        wanted.result_help,
        wanted.source,
        *(a.help for a in wanted.arguments),
    ):
        assert text[0].isupper() or text[0].isdigit(), text
        assert text.endswith("."), text
        assert "[" not in text, text


def _half_a_digit(printed: str) -> float:
    exponent = Decimal(printed).as_tuple().exponent
    assert isinstance(exponent, int)
    return float(Decimal(5).scaleb(exponent - 1)) * (1 + 1e-9)


@each_function
def test_example_is_right_to_the_printed_digits(wanted: Definition) -> None:
    answer = call(wanted.name, *wanted.example.arguments)
    printed = wanted.example.value
    if isinstance(answer, (str, dt.date)):
        assert repr(answer) == printed
    else:
        assert answer == pytest.approx(float(printed), rel=0, abs=_half_a_digit(printed))


@each_function
def test_example_has_enough_digits_and_no_false_ones(wanted: Definition) -> None:
    printed = wanted.example.value
    if re.fullmatch(r"-?[\d.]+(e-?\d+)?", printed):
        digits = len(printed.split("e")[0].replace(".", "").lstrip("-0"))
        answer = float(call(wanted.name, *wanted.example.arguments))
        exact = abs(answer - float(printed)) <= 1e-9 * abs(answer)
        assert exact or 3 <= digits <= 7


def places(tree: Node) -> set[str]:
    return {node.key for node in walk(tree) if isinstance(node, Place)}


@each_native
def test_native_formula_uses_every_argument(wanted: Definition) -> None:
    assert places(wanted.native) == {argument.name for argument in wanted.arguments}
    cells = {argument.name: f"CELL_{place}" for place, argument in enumerate(wanted.arguments)}
    for units in (METRIC, US):
        written = formula(wanted.name, cells, units)
        assert all(re.search(rf"\b{cell}\b", written) for cell in cells.values())


@each_native
def test_conditions_name_only_arguments(wanted: Definition) -> None:
    for condition in wanted.requires:
        assert places(condition) <= {argument.name for argument in wanted.arguments}


@each_function
def test_only_what_needs_python_has_no_native_formula(wanted: Definition) -> None:
    assert bool(wanted.native) == (wanted.name not in PYTHON_ONLY)


@each_function
def test_functions_that_raise_say_so_and_have_a_native_condition(wanted: Definition) -> None:
    raises = "Raises" in sections(wanted.function)
    assert bool(wanted.requires) <= raises
    if wanted.native:
        assert bool(wanted.requires) == raises


@each_function
def test_python_function_has_the_name_and_the_text(wanted: Definition) -> None:
    function = getattr(cultivar_fx, wanted.python_name)
    assert function.__name__ == wanted.python_name
    assert function.__doc__ == wanted.function.__doc__
    assert wanted.python_name in dir(cultivar_fx)


@pytest.mark.parametrize(
    "name", ["DRY_MASS", "dry_mass", "CFX.DRY_MASS", "cfx.dry_mass", "CFX_DRY_MASS", " DRY_MASS "]
)
def test_a_function_is_found_by_all_its_names(name: str) -> None:
    assert definition(name).worksheet_name == "CFX.DRY_MASS"


@pytest.mark.parametrize(
    ("name", "near"),
    [
        ("DRY_MAS", "DRY_MASS"),
        ("CFX.WATER_TOADD", "WATER_TO_ADD"),
        ("LOSSLOW", "LOSS_LOW"),
        ("water", "HUMIDIFYING_WATER"),
    ],
)
def test_an_unknown_name_brings_up_the_near_ones(name: str, near: str) -> None:
    with pytest.raises(UnknownFunction, match=f"did you mean .*{near}"):
        definition(name)


@pytest.mark.parametrize("name", ["", "SUM", "CFX.", "x" * 1000])
def test_what_is_far_from_any_name_is_just_unknown(name: str) -> None:
    with pytest.raises(UnknownFunction, match="there is no function") as caught:
        definition(name)
    assert len(str(caught.value)) < 100


@pytest.mark.parametrize("text", ["0 or so", "from 0", "1 or less", "-", "0 to", "above"])
def test_limits_that_nobody_understands_are_refused(text: str) -> None:
    with pytest.raises(SyntaxError, match="are not understood"):
        parse_limits(text)


@pytest.mark.parametrize(
    ("text", "inside", "outside"),
    [
        ("0 or more", [0, 1e9], [-1e-9]),
        ("above 0", [1e-9], [0, -1]),
        ("0 to 1", [0, 1], [-1e-9, 1 + 1e-9]),
        ("0 to below 1", [0, 1 - 1e-9], [1]),
        ("above 0 to below 1", [0.5], [0, 1]),
        ("-50 to 90", [-50, 90], [-51, 91]),
        ("1 or more, whole", [1, 2], [0, 1.5]),
        ("1 to 1000, whole", [1, 1000], [1001, 0]),
        ("", [-1e9, 1e9], []),
    ],
)
def test_limits_hold_what_they_say(text: str, inside: list[float], outside: list[float]) -> None:
    limits = parse_limits(text)
    assert all(map(limits.hold, inside))
    assert not any(map(limits.hold, outside))


DOCSTRING = """Twice a mass.

Parameters
----------
mass : float
    Mass [{unit}].

Returns
-------
float
    Twice the mass [kg].

References
----------
Arithmetic.

Examples
--------
>>> {example}
2
"""


@pytest.mark.parametrize(
    ("unit", "example", "words"),
    [
        ("stone; above 0", "doubled(1)", "no known unit in brackets"),
        ("kg; above 0", "doubled", "is not a call"),
    ],
)
def test_docstring_that_defines_nothing_is_refused(unit: str, example: str, words: str) -> None:
    def doubled(mass: float) -> float:
        return 2 * mass

    doubled.__doc__ = DOCSTRING.format(unit=unit, example=example)
    made = Definition(doubled, "2*{mass}", "", False, False, False)
    with pytest.raises(SyntaxError, match=words):
        _ = (made.arguments, made.example)


def test_definition_shows_its_name() -> None:
    assert repr(definition("DRY_MASS")) == "<Definition DRY_MASS>"


def test_package_has_nothing_but_its_functions() -> None:
    assert set(cultivar_fx.__all__) >= {one.python_name for one in functions().values()}
    with pytest.raises(AttributeError, match="no attribute 'wet_mass'"):
        _ = cultivar_fx.wet_mass


@pytest.mark.parametrize(
    ("argument", "default"),
    [
        # Nothing lost, nothing added, no other thing beside it: what is left out is not there.
        ("container_mass", 0),
        ("lost_mass", 0),
        ("loss_rate", 0),
        ("margin", 0),
        ("burden", 0),
        ("carbon_dioxide_rate", 0),
        ("respiration_heat", 0),
        ("wall_heat_gain", 0),
        ("efficiency", 1),
        ("shelves", 1),
        # A lot so large that the blocks taken from it do not count.
        ("lot_size", 0),
        # Sea level, where tables of moist air are given for.
        ("altitude", 0),
        # The usual choices of statistics: Cohen, Statistical Power Analysis, from memory.
        ("confidence", 0.95),
        ("power", 0.8),
        # Each block on its own, as in the published intervals.
        ("dispersion", 1),
        # 250 °F and 18 °F, as in the canning literature, from memory: 121.1 °C and 10 K.
        ("reference_temperature", 121.1),
        ("z_value", 10),
    ],
)
def test_what_is_left_out_is_what_is_usual(argument: str, default: float) -> None:
    defaults = [
        one.default
        for wanted in functions().values()
        for one in wanted.arguments
        if one.name == argument and one.default is not None
    ]
    assert defaults
    assert set(defaults) == {default}
