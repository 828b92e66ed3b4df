"""Units: the factors of both systems, and the texts that growers write."""

from __future__ import annotations

import os
import subprocess
import sys
from typing import TYPE_CHECKING

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import cultivar_fx
from cultivar_fx.calls.units import as_typed, has_unit, parse_number_and_unit, quantity_in
from cultivar_fx.catalog.dimensions import DIMENSIONS, SYSTEMS, Dimension
from cultivar_fx.errors import UnknownUnit, WrongType

if TYPE_CHECKING:
    from pathlib import Path

# NIST SP 811, Guide for the Use of the SI, appendix B: exact ones in full
INCH = 0.0254  # m
FOOT = 0.3048  # m
YARD = 0.9144  # m
POUND = 0.45359237  # kg
OUNCE = POUND / 16  # kg
GALLON = 231 * INCH**3 * 1000  # L
BTU = 1055.05585262  # J, International Table
PSI = POUND * 9.80665 / INCH**2 / 1000  # kPa
HORSEPOWER = 550 * FOOT * POUND * 9.80665 / 1000  # kW

WITH_UNIT = [dimension for dimension in DIMENSIONS.values() if dimension.has_unit]

# What pint calls the us units, written here once more and on their own
PINT_US = {
    "lb": "pound",
    "US gal": "US_liquid_gallon",
    "°F": "degF",
    "ft": "foot",
    "in": "inch",
    "ft²": "foot**2",
    "ft³": "foot**3",
    "cfm": "foot**3/minute",
    "lb/gal": "pound/US_liquid_gallon",
    "lb/h": "pound/hour",
    "lb/(ft²·d)": "pound/foot**2/day",
    "ft²·°F·h/Btu": "foot**2*delta_degF*hour/table_btu",
    "Btu/(h·ft²·°F)": "table_btu/hour/foot**2/delta_degF",
    "Btu/(h·ft·°F)": "table_btu/hour/foot/delta_degF",
    "g/(h·lb)": "gram/hour/pound",
}
PINT: pint.UnitRegistry[float] = pint.UnitRegistry()
PINT.define(f"table_btu = {BTU} joule")


@pytest.mark.parametrize(
    "dimension", [d for d in WITH_UNIT if d.differs], ids=lambda dimension: dimension.name
)
@pytest.mark.parametrize("number", [1.0, 0.0, -40.0, 212.0, 1234.5])
def test_factor_of_the_us_unit_agrees_with_pint(dimension: Dimension, number: float) -> None:
    difference = dimension.name == "temperature difference"
    name = "delta_degF" if difference else PINT_US[dimension.us]
    expected = PINT.Quantity(number, name).to(dimension.pint_unit).magnitude
    assert dimension.to_metric(number) == pytest.approx(expected, rel=1e-12, abs=1e-12)
    assert dimension.from_metric(expected) == pytest.approx(number, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize("dimension", WITH_UNIT, ids=lambda dimension: dimension.name)
@pytest.mark.parametrize("system", SYSTEMS)
def test_a_unit_can_be_typed_as_it_is_shown(dimension: Dimension, system: str) -> None:
    label = dimension.unit(system).replace(" only", "")
    expected = dimension.to_metric(5) if system == "us" else 5
    assert quantity_in(f"5 {label}", dimension) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("metric_unit", "text", "expected"),
    [
        ("kg", "3 kg", 3),
        ("kg", "3 Kg", 3),
        ("kg", "3 KG", 3),
        ("kg", "3 kgs", 3),
        ("kg", "3 kilograms", 3),
        ("kg", "3 g", 0.003),
        ("kg", "3 G", 0.003),
        ("kg", "3 grams", 0.003),
        ("kg", "3 mg", 0.000003),
        ("kg", "3 t", 3000),
        ("kg", "3 tonnes", 3000),
        ("kg", "3 lb", 3 * POUND),
        ("kg", "3 lbs", 3 * POUND),
        ("kg", "3 LBS", 3 * POUND),
        ("kg", "3 lbs.", 3 * POUND),
        ("kg", "3 pounds", 3 * POUND),
        ("kg", "3 oz", 3 * OUNCE),
        ("kg", "3 OZ", 3 * OUNCE),
        ("kg", "3 ounces", 3 * OUNCE),
        ("kg", "3 tons", 6000 * POUND),
        ("L", "3 L", 3),
        ("L", "3 l", 3),
        ("L", "3 liters", 3),
        ("L", "3 litres", 3),
        ("L", "3 mL", 0.003),
        ("L", "3 ml", 0.003),
        ("L", "3 gal", 3 * GALLON),
        ("L", "3 Gal", 3 * GALLON),
        ("L", "3 gals", 3 * GALLON),
        ("L", "3 US gal", 3 * GALLON),
        ("L", "3 U.S. gal", 3 * GALLON),
        ("L", "3 US gallons", 3 * GALLON),
        ("L", "3 gallons", 3 * GALLON),
        ("L", "3 quarts", 3 * GALLON / 4),
        ("L", "3 qt", 3 * GALLON / 4),
        ("L", "3 cups", 3 * GALLON / 16),
        ("L", "3 fl oz", 3 * GALLON / 128),
        ("L", "3 fl. oz.", 3 * GALLON / 128),
        ("L", "3 fluid ounces", 3 * GALLON / 128),
        ("L", "3 Fluid Ounce", 3 * GALLON / 128),
        ("L", "3 us gals", 3 * GALLON),
        ("L", "3 US Gallon", 3 * GALLON),
        ("L", "3 cubic yards", 3 * YARD**3 * 1000),
        ("L", "3 yd^3", 3 * YARD**3 * 1000),
        ("L", "3 yd3", 3 * YARD**3 * 1000),
        ("L", "3 ft3", 3 * FOOT**3 * 1000),
        ("L", "3 ft³", 3 * FOOT**3 * 1000),
        ("L", "3 cu ft", 3 * FOOT**3 * 1000),
        ("L", "3 cu. ft.", 3 * FOOT**3 * 1000),
        ("L", "3 m3", 3000),
        ("m²", "3 ft²", 3 * FOOT**2),
        ("m²", "3 ft2", 3 * FOOT**2),
        ("m²", "3 ft^2", 3 * FOOT**2),
        ("m²", "3 sq ft", 3 * FOOT**2),
        ("m²", "3 square feet", 3 * FOOT**2),
        ("m²", "3 m²", 3),
        ("m³", "3 cubic feet", 3 * FOOT**3),
        ("m", "3 ft", 3 * FOOT),
        ("m", "3 feet", 3 * FOOT),
        ("m", "3 cm", 0.03),
        ("cm", "3 in", 300 * INCH),
        ("cm", "3 in.", 300 * INCH),
        ("cm", "3 inches", 300 * INCH),
        ("cm", "3 IN", 300 * INCH),
        ("cm", "3 FT", 300 * FOOT),
        ("cm", "3 μm", 0.0003),
        ("cm", "3 µm", 0.0003),
        ("cm", "3 cm", 3),
        ("cm", "3 mm", 0.3),
        ("°C", "50 °F", 10),
        ("°C", "50°F", 10),
        ("°C", "50 ºF", 10),
        ("°C", "50 ℉", 10),
        ("°C", "50 ℃", 50),
        ("°C", "50 F", 10),
        ("°C", "50 f", 10),
        ("°C", "50 degF", 10),
        ("°C", "50 deg F", 10),
        ("°C", "50 degrees Fahrenheit", 10),
        ("°C", "-40 °F", -40),
        ("°C", "212 °F", 100),
        ("°C", "3 °C", 3),
        ("°C", "3 C", 3),
        ("°C", "3 degC", 3),
        ("°C", "3 celsius", 3),
        ("°C", "273.15 K", 0),
        ("K", "18 °F", 10),
        ("K", "3 °C", 3),
        ("K", "3 K", 3),
        ("m³/h", "3 cfm", 180 * FOOT**3),
        ("m³/h", "3 CFM", 180 * FOOT**3),
        ("m³/h", "3 ft3/min", 180 * FOOT**3),
        ("m³/h", "3 m3/h", 3),
        ("m³/h", "3 m³/h", 3),
        ("m³/h", "3 L/s", 10.8),
        ("kg/L", "3 lb/ft3", 3 * POUND / FOOT**3 / 1000),
        ("kg/L", "3 lb/gal", 3 * POUND / GALLON),
        ("kg/L", "3 kg/m³", 0.003),
        ("kg/L", "3 g/mL", 3),
        ("kWh", "3 kWh", 3),
        ("kWh", "3 kwh", 3),
        ("kWh", "3 MJ", 3 / 3.6),
        ("kWh", "3 Btu", 3 * BTU / 3.6e6),
        ("kWh", "3 BTU", 3 * BTU / 3.6e6),
        ("kW", "3 kW", 3),
        ("kW", "3 KW", 3),
        ("kW", "3 W", 0.003),
        ("kW", "3 hp", 3 * HORSEPOWER),
        ("kW", "3 Btu/h", 3 * BTU / 3.6e6),
        ("W", "3 kW", 3000),
        ("kPa", "3 kPa", 3),
        ("kPa", "3 psi", 3 * PSI),
        ("kPa", "3 hPa", 0.3),
        ("h", "3 h", 3),
        ("h", "3 hr", 3),
        ("h", "3 Hrs", 3),
        ("h", "3 hours", 3),
        ("h", "3 min", 0.05),
        ("h", "3 days", 72),
        ("d", "3 d", 3),
        ("d", "3 weeks", 21),
        ("d", "3 wk", 21),
        ("d", "3 wks", 21),
        ("d", "36 hours", 1.5),
        ("min", "3 hours", 180),
        ("min", "30 s", 0.5),
        ("a", "3 years", 3),
        ("a", "18 months", 1.5),
        ("ppm", "800 ppm", 800),
        ("ppm", "0.1 %", 1000),
        ("fraction", "62%", 0.62),
        ("fraction", "62 %", 0.62),
        ("fraction", "62 percent", 0.62),
        ("fraction", "500 ppm", 0.0005),
        ("fraction", "3 g/kg", 0.003),
        ("g/h", "3 g/h", 3),
        ("g/h", "3 kg/day", 125),
        ("m²·K/W", "3 m²·K/W", 3),
        ("m²·K/W", "13 ft²·°F·h/Btu", 13 * FOOT**2 * 5 / 9 * 3600 / BTU),
        ("kJ/(kg·K)", "3 kJ/(kg·K)", 3),
        ("kJ/(kg·K)", "1 Btu/(lb·°F)", BTU / 1000 / POUND * 1.8),
        ("mm²/s", "3 mm2/s", 3),
    ],
)
def test_common_spellings(metric_unit: str, text: str, expected: float) -> None:
    assert quantity_in(text, DIMENSIONS[metric_unit]) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("metric_unit", "text", "metric", "shown"),
    [
        ("°C", "5 degF", 100, 212),
        ("°C", "5 K", 25, 298.15),
        ("kg", "5 oz", POUND, 16),
        ("cm", "5 mm", 1, 10),
        ("kW", "5 W", 1.5, 1500),
        ("mm²/s", "5 m2/s", 0.15, 1.5e-7),
    ],
)
def test_what_is_told_comes_in_the_unit_that_was_typed(
    metric_unit: str, text: str, metric: float, shown: float
) -> None:
    told = as_typed(text, DIMENSIONS[metric_unit])
    assert told is not None
    assert told.us == text.partition(" ")[2]
    assert told.from_metric(metric) == pytest.approx(shown, rel=1e-9)
    assert told.to_metric(shown) == pytest.approx(metric, rel=1e-9)


@pytest.mark.parametrize("text", ["5", "wet", "5 zorks", "5 kg"])
def test_a_text_without_a_unit_of_its_kind_tells_none(text: str) -> None:
    assert as_typed(text, DIMENSIONS["°C"]) is None
    assert as_typed(text, DIMENSIONS["count"]) is None


def test_liters_of_carbon_dioxide() -> None:
    # ideal gas at 20 °C and 101.325 kPa, molar mass 44.0095 g/mol (CODATA, IUPAC; from memory):
    # 1.8295 g/L
    grams = quantity_in("1 L/h", DIMENSIONS["g/h"])
    assert grams == pytest.approx(44.0095 * 101.325 / (8.314462618 * 293.15), rel=1e-12)
    assert grams == pytest.approx(1.8295, abs=5e-4)
    assert quantity_in("18.9 L/min", DIMENSIONS["g/h"]) == pytest.approx(18.9 * 60 * grams)


@pytest.mark.parametrize(
    ("metric_unit", "text"),
    [
        ("kg", "3 L"),
        ("L", "3 oz"),
        ("L", "3 ft2"),
        ("°C", "3 kg"),
        ("fraction", "3 kg"),
        ("fraction", "3 degrees"),
        ("fraction", "3 rad"),
        ("kPa", "3 m"),
        ("h", "3 m"),
        ("count", "3 kg"),
        ("count", "3 %"),
        ("number", "3 %"),
        ("money", "3 %"),
        ("kg", "3"),
        ("kg", "kg"),
        ("kg", ""),
        ("kg", "1,000 kg"),
        ("kg", "1 000 kg"),
        ("kg", "--3 kg"),
        ("kg", "3 -kg"),
        ("kg", "3e kg kg"),
    ],
)
def test_other_quantities_are_refused(metric_unit: str, text: str) -> None:
    with pytest.raises((WrongType, UnknownUnit)):
        quantity_in(text, DIMENSIONS[metric_unit])


@pytest.mark.parametrize(
    "unit",
    [
        "zorks",
        "kg 3",
        "lb 3 oz",
        "kg*9",
        "**9 kg",
        "kg**9",
        "kg**3**3**3**3",
        "(kg)**3",
        "kg/",
        "/kg",
        "(kg",
        "kg)",
        "kg;",
        "kg+kg",
        "kg-kg",
        "kg=3",
        "kg{}",
        "kg[0]",
        "kg.real",
        "kg()",
        "lambda: 0",
        "__import__('os')",
        "kg" * 30,
        "ML",  # milliliters in capitals, or millions of liters
        "Min",  # minutes in capitals, not a million inches
        "Yd",
        "klb",
        "\N{PILE OF POO}",
    ],
)
def test_what_is_no_plain_product_of_units_is_unknown(unit: str) -> None:
    with pytest.raises(UnknownUnit, match="unknown unit"):
        quantity_in(f"9 {unit}", DIMENSIONS["kg"])


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=60))
def test_no_text_is_more_than_refused(text: str) -> None:
    try:
        number = quantity_in(text, DIMENSIONS["kg"])
    except (WrongType, UnknownUnit):
        return
    assert isinstance(number, float)


@settings(max_examples=200, deadline=None)
@given(st.floats(-1e12, 1e12), st.sampled_from(["", " ", "  "]))
def test_numbers_are_read_to_the_last_digit(number: float, space: str) -> None:
    assert parse_number_and_unit(f"{number!r}{space}kg") == (number, "kg")


@pytest.mark.parametrize(
    ("text", "named"), [("5 lb", True), ("5%", True), ("5", False), (" 5 ", False), ("lb", False)]
)
def test_has_unit(text: str, named: bool) -> None:
    assert has_unit(text) is named


@pytest.mark.parametrize(
    ("quantity", "unit", "expected"),
    [
        ("200 lb", "kg", 200 * POUND),
        ("1 kg", "lb", 1 / POUND),
        ("1 US gal", "L", GALLON),
        ("1 L", "fl oz", 128 / GALLON),
        ("1 yd3", "L", YARD**3 * 1000),
        ("100 cfm", "m³/h", 6000 * FOOT**3),
        ("40 lb/ft3", "kg/L", 40 * POUND / FOOT**3 / 1000),
        ("10000 Btu/h", "kW", BTU / 360),
        ("15 psi", "kPa", 15 * PSI),
        ("62%", "ppm", 620000),
        ("212 °F", "°C", 100),
        ("100 °C", "°F", 212),
        ("212 F", "C", 100),
        ("100 C", "F", 212),
        ("37 C", "degF", 98.6),
        ("98.6 degF", "C", 37),
        ("0 °C", "K", 273.15),
        ("300 K", "F", 80.33),
        ("-40 F", "C", -40),
        (" 5 kg ", " g ", 5000),
    ],
)
def test_convert_units(quantity: str, unit: str, expected: float) -> None:
    assert cultivar_fx.convert_units(quantity, unit) == pytest.approx(expected, rel=1e-9)


@settings(max_examples=200, deadline=None)
@given(st.floats(-273, 1000))
def test_temperatures_go_both_ways(celsius: float) -> None:
    fahrenheit = cultivar_fx.convert_units(f"{celsius!r} °C", "°F")
    assert fahrenheit == pytest.approx(celsius * 1.8 + 32, abs=1e-9)  # definition
    back = cultivar_fx.convert_units(f"{fahrenheit!r} °F", "°C")
    assert back == pytest.approx(celsius, abs=1e-9)


@pytest.mark.parametrize(
    ("quantity", "unit", "kind"),
    [
        ("200 lb", "L", WrongType),
        ("200 lb", "zorks", UnknownUnit),
        ("200 zorks", "kg", UnknownUnit),
        ("200", "kg", WrongType),
        ("lb", "kg", WrongType),
        ("72 F", "kg", WrongType),
        ("1 oz", "fl oz", WrongType),
    ],
)
def test_convert_units_refuses(quantity: str, unit: str, kind: type[Exception]) -> None:
    with pytest.raises(kind, match=r"quantity: got .* needs one number and one unit"):
        cultivar_fx.convert_units(quantity, unit)


def typed_on_a_terminal(text: str, kept_in: Path) -> str:
    """Convert a text quantity in a new process, which keeps pint's definitions in a folder."""
    environment = os.environ | {
        name: str(kept_in) for name in ("XDG_CACHE_HOME", "LOCALAPPDATA", "HOME")
    }
    command = [sys.executable, "-m", "workbook_template.cli", "calc", "CONVERT_UNITS", text, "kg"]
    return subprocess.run(command, env=environment, capture_output=True, text=True).stdout


def test_pints_definitions_are_read_anew_where_the_kept_ones_are_broken(tmp_path: Path) -> None:
    # 14 avoirdupois pounds of 0.45359237 kg: Weights and Measures Act 1985, from memory
    assert typed_on_a_terminal("1 stone", tmp_path) == "6.35029318\n"
    kept = [one for one in tmp_path.rglob("*") if one.is_file()]
    assert kept
    for one in kept:
        one.write_bytes(one.read_bytes()[:10])
        os.utime(one, (2**32, 2**32))  # newer than pint itself, so that they are tried
    assert typed_on_a_terminal("1 stone", tmp_path) == "6.35029318\n"


def test_pints_definitions_need_no_room_to_be_kept(tmp_path: Path) -> None:
    no_folder = tmp_path / "file"
    no_folder.touch()
    assert typed_on_a_terminal("1 stone", no_folder) == "6.35029318\n"
