"""The rules of a call: every kind of cell content, and what comes back for it."""

from __future__ import annotations

import datetime as dt
import re
import subprocess
import sys
from typing import Any

import pytest
from cases import CELLS, PYTHON_CELLS, PYTHON_RANGES, RANGES, WATER, Case
from host_calls import as_shown, same

import cultivar_fx
from cultivar_fx.calls.call import call, cell_value, reason
from cultivar_fx.calls.cells import serial
from cultivar_fx.catalog.registry import definition
from cultivar_fx.errors import (
    ERROR_CODES,
    CellError,
    ErrorGiven,
    FunctionError,
    Missing,
    NotPossible,
    OutOfRange,
    UnknownFunction,
    UnknownUnit,
    WrongType,
)

ALL = [*CELLS, *RANGES, *PYTHON_CELLS, *PYTHON_RANGES]
SENTENCE = re.compile(r"(units|[a-z_]+(, value \d+)?|[A-Z_]+): .+\.")

each_case = pytest.mark.parametrize(
    "case", ALL, ids=[f"{case.function}: {case.about}" for case in ALL]
)


def padded(case: Case) -> list[Any]:
    """Return one value for each argument, as a host does."""
    left_out = len(definition(case.function).arguments) - len(case.arguments)
    return [*case.arguments, *[None] * left_out]


@each_case
def test_cell_shows(case: Case) -> None:
    answer = cell_value(case.function, padded(case), case.units)
    assert same(as_shown(answer), case.shown), answer


@each_case
def test_python_gives_or_raises(case: Case) -> None:
    function = getattr(cultivar_fx, case.function.lower())
    named = {} if case.units is None else {"units": case.units}
    if not case.fails:
        assert same(as_shown(function(*case.arguments, **named)), case.shown)
        return
    with pytest.raises(FunctionError) as caught:
        function(*case.arguments, **named)
    assert isinstance(caught.value, ValueError)
    assert caught.value.code == case.shown
    assert SENTENCE.fullmatch(str(caught.value)), str(caught.value)


@each_case
def test_why_has_a_sentence_just_where_there_is_an_error(case: Case) -> None:
    arguments = padded(case) if case.units is not None else case.arguments
    units = () if case.units is None else (case.units,)
    sentence = cultivar_fx.why(case.function, *arguments, *units)
    assert bool(sentence) == any(code in str(case.shown) for code in ERROR_CODES)


@pytest.mark.parametrize(
    ("arguments", "kind", "sentence"),
    [
        (
            (100, 6, 0.62),
            OutOfRange,
            "moisture: got 6, needs a fraction from 0 to below 1 (for 6 percent type 6% or 0.06).",
        ),
        (
            (-1, 0.06, 0.62),
            OutOfRange,
            "mass: got -1, needs a number in kg, 0 or more (or a text with its unit, such as "
            '"5 kg").',
        ),
        (
            (-1, 0.06, 0.62, "us"),
            OutOfRange,
            "mass: got -1, needs a number in lb, 0 or more (or a text with its unit, such as "
            '"5 lb").',
        ),
        (
            ("-1 kg", 0.06, 0.62, "us"),
            OutOfRange,
            "mass: got '-1 kg', needs a number in kg, 0 or more (or a text with its unit, such as "
            '"5 kg").',
        ),
        (
            ("-1 oz", 0.06, 0.62),
            OutOfRange,
            "mass: got '-1 oz', needs a number in oz, 0 or more (or a text with its unit, such as "
            '"5 oz").',
        ),
        (
            ("wet", 0.06, 0.62),
            WrongType,
            "mass: got 'wet', which is not one number and one unit; needs a number in kg, 0 or "
            'more (or a text with its unit, such as "5 kg").',
        ),
        (
            ("5 zorks", 0.06, 0.62),
            UnknownUnit,
            "mass: got '5 zorks', which has the unknown unit 'zorks'; needs a number "
            'in kg, 0 or more (or a text with its unit, such as "5 kg").',
        ),
        (
            ("5 L", 0.06, 0.62),
            WrongType,
            "mass: got '5 L', which has the unit 'L', which does not measure mass; needs a number "
            'in kg, 0 or more (or a text with its unit, such as "5 kg").',
        ),
        (
            (100, True, 0.62),
            WrongType,
            "moisture: got True, needs a fraction from 0 to below 1.",
        ),
        (
            (100, None, 0.62),
            Missing,
            "moisture: is blank, needs a fraction from 0 to below 1.",
        ),
        (
            (100, "#DIV/0!", 0.62),
            ErrorGiven,
            "moisture: is the error #DIV/0! already.",
        ),
        (
            (100, 0.06, 0.62, "imperial"),
            WrongType,
            'units: got \'imperial\', needs "metric" or "us".',
        ),
        (
            (1e308, 0, 0.999),
            NotPossible,
            "WATER_TO_ADD: these numbers together give no finite answer.",
        ),
        (
            (100, 0.06, 0.62, "us", 5),
            WrongType,
            "WATER_TO_ADD takes 4 arguments (mass, moisture, target, [units]), got 5.",
        ),
    ],
)
def test_sentence_names_the_argument_what_it_got_and_what_it_needs(
    arguments: tuple[Any, ...], kind: type[FunctionError], sentence: str
) -> None:
    with pytest.raises(FunctionError) as caught:
        cultivar_fx.water_to_add(*arguments)
    assert type(caught.value) is kind
    assert str(caught.value) == sentence
    assert cultivar_fx.why("WATER_TO_ADD", *arguments) == sentence


@pytest.mark.parametrize(
    ("name", "arguments", "sentence"),
    [
        (
            "MOISTURE_OF_MIX",
            ([10, None, 6.8], [0.77, "", 35]),
            "moistures, value 3: got 35, needs a fraction from 0 to 1 "
            "(for 35 percent type 35% or 0.35).",
        ),
        (
            "MOISTURE_OF_MIX",
            ([10, 6.8], [0.77, None]),
            "moistures, value 2: is blank, needs a fraction from 0 to 1.",
        ),
        (
            "MOISTURE_OF_MIX",
            ([10, 6.8], [0.77]),
            "moistures: has 1 values where another range has 2, needs as many.",
        ),
        ("START_DATE", ("14.3.2026", 42), "sale_date: got '14.3.2026', which is not a date; "
         "needs a date such as 2026-03-14."),
        ("START_DATE", ("3/4/2026", 42), "sale_date: got '3/4/2026', which may be 2026-03-04 or "
         "2026-04-03, needs a date such as 2026-03-14."),
        ("START_DATE", ("14/3/2026", 42), "sale_date: got '14/3/2026', needs a date such as "
         "2026-03-14."),
        ("START_DATE", ("2026-02-30", 42), "sale_date: got '2026-02-30', needs a date such as "
         "2026-03-14."),
        ("START_DATE", (46095, -1), "days: got -1, needs a number of days from 0 to 3650 (or a "
         'text with its unit, such as "5 d").'),
        ("LOSS_LOW", (1.5, 20), "lost: got 1.5, needs a whole number, 0 or more."),
        ("BLOCKS_FOR_CONFIDENCE", (0, 0.1, 0.9), "good_blocks: got 0, needs a whole number from "
         "1 to 1000."),
        ("MOISTURE_FROM_SAMPLE", (10, 2, "us"), "container_mass: got 'us', which is a unit system, "
         'which goes last; needs a number in lb, 0 or more (or a text with its unit, such as '
         '"5 lb").'),
        ("CONVERT_UNITS", (5, "kg"), "quantity: got 5, needs a text. One number and one unit, "
         'such as "200 lb".'),
        ("CONVERT_UNITS", ("5 kg", None), "unit: is blank, needs a text."),
        ("DRY_MASS", ([1, -1], 0.06), "mass: got -1, needs a number in kg, 0 or more (or a text "
         'with its unit, such as "5 kg").'),
        ("DRY_MASS", ([1, 2, 3], [0.1, 0.2]), "The ranges have different sizes, need the same."),
        ("COST_PER_KILOGRAM", (5, 0), "kilograms: got 0, needs a number of kilograms above 0 (or "
         'a text with its unit, such as "5 kg").'),
    ],
)  # fmt: skip
def test_why(name: str, arguments: tuple[Any, ...], sentence: str) -> None:
    assert cultivar_fx.why(name, *arguments) == sentence


@pytest.mark.parametrize(
    ("name", "arguments", "sentence"),
    [
        # 0 and 25 °C are 32 and 77 °F; 40 °C is 104 °F, 16 °C is 60.8 °F, by hand.
        ("HARVEST_HEAT", (10, "95 degF"), "temperature: got '95 degF', needs a number in degF from "
         '32 to 77 (or a text with its unit, such as "5 degF").'),
        ("HARVEST_HEAT", (10, 95, "us"), "temperature: got 95, needs a number in °F from 32 to 77 "
         '(or a text with its unit, such as "5 °F").'),
        ("HARVEST_HEAT", (10, "300 K"), "temperature: got '300 K', needs a number in K from 273.15 "
         'to 298.15 (or a text with its unit, such as "5 K").'),
        ("HARVEST_HEAT", (10, "95 °C", "us"), "temperature: got '95 °C', needs a number in °C from "
         '0 to 25 (or a text with its unit, such as "5 °C").'),
        ("RELATIVE_HUMIDITY", ("60 degF", "70 degF"), "wet_bulb: got 70 degF, needs to be at most "
         "the dry bulb (60 degF)."),
        ("RELATIVE_HUMIDITY", (60, 70, None, "us"), "wet_bulb: got 70 °F, needs to be at most the "
         "dry bulb (60 °F)."),
        ("RELATIVE_HUMIDITY", (60, "70 °F", None, "us"), "wet_bulb: got 70 °F, needs to be at most "
         "the dry bulb (60 °F)."),
        ("RELATIVE_HUMIDITY", (16, "70 °F"), "wet_bulb: got 70 °F, needs to be at most the dry "
         "bulb (60.8 °F)."),
        ("RELATIVE_HUMIDITY", (20, 21), "wet_bulb: got 21 °C, needs to be at most the dry bulb (20 "
         "°C)."),
        ("RELATIVE_HUMIDITY", ([60, 50], 70, None, "us"), "wet_bulb: got 70 °F, needs to be at "
         "most the dry bulb (60 °F)."),
        ("SPENT_SUBSTRATE", (10, 100, 0.5, 0.3, "us"), "fresh_mass: holds 50 lb of dry matter, "
         "needs to hold at most the 7 lb that the substrate has left."),
        ("SPENT_SUBSTRATE", (10, "100 kg", 0.5, 0.3), "fresh_mass: holds 50 kg of dry matter, "
         "needs to hold at most the 7 kg that the substrate has left."),
        # A unit system in the wrong place goes first: it says what the other numbers are.
        ("RELATIVE_HUMIDITY", (160, 200, "us"), "altitude: got 'us', which is a unit system, which "
         'goes last; needs a number in ft from -1640.42 to 36089.2 (or a text with its unit, such '
         'as "5 ft").'),
    ],
)  # fmt: skip
def test_a_sentence_keeps_to_the_unit_that_was_typed(
    name: str, arguments: tuple[Any, ...], sentence: str
) -> None:
    assert cultivar_fx.why(name, *arguments) == sentence


def test_why_is_empty_where_nothing_is_wrong() -> None:
    assert cultivar_fx.why("WATER_TO_ADD", 100, 0.06, 0.62) == ""
    assert cultivar_fx.why("WATER_TO_ADD", None, None, None) == ""
    assert cultivar_fx.why(None) == ""


@pytest.mark.parametrize(
    "name",
    ["WATER_TO_ADD", "water_to_add", "CFX.WATER_TO_ADD", "CFX_WATER_TO_ADD", "Cfx.Water_To_Add"],
)
def test_a_function_goes_by_all_its_names(name: str) -> None:
    assert call(name, 100, 0.06, 0.62) == pytest.approx(100 * WATER, rel=1e-9)
    assert cultivar_fx.why(name, 100, 6, 0.62).startswith("moisture: got 6")


def test_why_works_as_any_other_function_does() -> None:
    sentence = cultivar_fx.why("WATER_TO_ADD", 100, 6, 0.62)
    assert cell_value("WHY", ["WATER_TO_ADD", 100, 6, 0.62]) == sentence
    assert cell_value("WHY", [[["WATER_TO_ADD"]], 100, 6, 0.62]) == sentence
    assert call("WHY", "WATER_TO_ADD", 100, 6, 0.62) == sentence


def test_unknown_function() -> None:
    assert repr(cell_value("WATER_TO_AD", [100, 0.06, 0.62])) == "#NAME?"
    sentence = "there is no function 'WATER_TO_AD'; did you mean WATER_TO_ADD"
    assert reason("WATER_TO_AD", [100]).startswith(sentence)
    with pytest.raises(UnknownFunction):
        call("sum", 1, 2)
    with pytest.raises(AttributeError, match="water_to_ad"):
        _ = cultivar_fx.water_to_ad


@pytest.mark.parametrize("name", [5, True, ["a", "b"]])
def test_why_needs_a_name(name: Any) -> None:
    with pytest.raises(FunctionError):
        cultivar_fx.why(name)


def test_arguments_by_their_names() -> None:
    expected = pytest.approx(100 * WATER, rel=1e-9)
    assert cultivar_fx.water_to_add(target=0.62, moisture=0.06, mass=100) == expected
    assert cultivar_fx.water_to_add(100, target=0.62, moisture=0.06, units="metric") == expected
    assert cultivar_fx.loss_low(3, 100) == cultivar_fx.loss_low(lost=3, total=100, confidence=0.95)


@pytest.mark.parametrize(
    ("named", "fault"),
    [
        ({"weight": 100}, r"water_to_add\(\) got 'weight', but there is none of that name"),
        ({"mass": 100}, r"water_to_add\(\) got 'mass', twice"),
    ],
)
def test_wrong_names_are_refused_as_python_does(named: dict[str, Any], fault: str) -> None:
    with pytest.raises(TypeError, match=fault):
        cultivar_fx.water_to_add(100, 0.06, 0.62, **named)


@pytest.mark.parametrize(
    ("name", "arguments"),
    [
        ("water_to_add", (1, 0.06, 0.62, "us", 5)),
        ("water_to_add", (1, 0.06, 0.62, None, None)),
        ("wet_basis", (1, "us")),
        ("loss_low", (1, 2, 0.95, 1, "metric")),
    ],
)
def test_too_many_arguments_are_refused(name: str, arguments: tuple[Any, ...]) -> None:
    with pytest.raises(WrongType, match=rf"{name.upper()} takes \d arguments? \("):
        getattr(cultivar_fx, name)(*arguments)


def test_arguments_that_a_host_left_out_are_an_error_value() -> None:
    assert repr(cell_value("WATER_TO_ADD", [100, 0.06])) == "#VALUE!"


def test_error_values_are_compared_by_what_the_cell_shows() -> None:
    assert CellError("#N/A", "one reason") == CellError("#N/A", "another")
    assert CellError("#N/A", "") != CellError("#NUM!", "")
    assert CellError("#N/A", "") != "#N/A"
    assert len({CellError("#N/A", "one reason"), CellError("#N/A", "another")}) == 1
    assert repr(CellError("#DIV/0!", "")) == "#DIV/0!"


def test_an_error_value_says_why() -> None:
    answer = cell_value("WATER_TO_ADD", [100, 6, 0.62])
    assert answer.reason == cultivar_fx.why("WATER_TO_ADD", 100, 6, 0.62)


def _modules_after(code: str) -> set[str]:
    """Return what a new Python has imported after running some code."""
    listing = f"{code}\nimport sys\nprint(' '.join(sys.modules))"
    done = subprocess.run(
        [sys.executable, "-c", listing], capture_output=True, text=True, check=True
    )
    return set(done.stdout.split())


HEAVY = {"numpy", "pandas", "xlwings", "openpyxl", "pint", "formualizer", "scipy"}


def test_importing_the_package_imports_nothing_heavy() -> None:
    assert not HEAVY & _modules_after("import cultivar_fx")


def test_plain_numbers_and_percent_need_no_library() -> None:
    code = "import cultivar_fx; cultivar_fx.water_to_add([100, 'wet'], '6%', 0.62, 'us')"
    assert not HEAVY & _modules_after(code)


def test_texts_without_the_library_of_units_are_errors_not_tracebacks() -> None:
    code = (
        "import sys; sys.modules['pint'] = None\n"
        "import cultivar_fx\n"
        "assert cultivar_fx.why('DRY_MASS', '5 stone', 0.5).startswith("
        "\"mass: got '5 stone', which has a unit, but the library that knows units is missing\")"
    )
    assert "cultivar_fx" in _modules_after(code)


def test_a_moment_is_its_day_and_the_part_of_the_day_that_is_over() -> None:
    # 2026-09-14 is day 46279 of spreadsheets; 18:45:36.5 is 67536.5 of 86400 seconds, by hand.
    moment = dt.datetime(2026, 9, 14, 18, 45, 36, 500_000)
    assert serial(moment) == pytest.approx(46279 + 67536.5 / 86400, abs=1e-10)


@pytest.mark.parametrize(
    ("name", "arguments", "noun"),
    [
        ("LETHALITY", ([0, "x"], [100, 100]), "needs a number of hours"),
        ("PAYBACK_YEARS", ("x", 100), "needs an amount of money"),
        ("YEARLY_DEPRECIATION", (900, 0, "x"), "needs a number of years"),
        ("LABOR_COST", ("x", 20), "needs a number of minutes"),
        ("COST_PER_POUND", (100, "x"), "needs a number of pounds"),
        ("COST_PER_KILOGRAM", (100, "x"), "needs a number of kilograms"),
        ("HARVEST_PER_AREA", (10, 10, "x"), "needs a number of days"),
    ],
)
def test_sentence_says_what_kind_of_number_is_needed(
    name: str, arguments: tuple[Any, ...], noun: str
) -> None:
    assert noun in call("WHY", name, *arguments)


def test_division_by_what_is_too_small_to_be_multiplied_is_not_possible() -> None:
    with pytest.raises(NotPossible, match=r"BLOCK_LENGTH: .* give no finite answer"):
        cultivar_fx.block_length(2.75, 0.6, 1e-200, 1e-200)
