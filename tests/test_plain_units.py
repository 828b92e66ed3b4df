"""Units in a Python that has no pint: the same as pint's, from a table."""

from __future__ import annotations

import json
import sys
from typing import TYPE_CHECKING, Any

import pytest
from cases import DATES, TEXTS, UNITS, Case
from host_calls import as_shown, same
from hypothesis import given, settings
from hypothesis import strategies as st

from cultivar_fx.calls import plain_units, units
from cultivar_fx.calls.call import cell_value
from cultivar_fx.catalog.dimensions import DIMENSIONS
from cultivar_fx.errors import UnknownUnit
from cultivar_fx.hosts.calc_units import write_table

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

TABLE = write_table()
PLAIN = plain_units.PlainRegistry(json.loads(TABLE))
PINT = units.registry()
USUAL = "kg g lb oz m ft h minute gallon L W J K delta_degF Btu Pa"

names = st.sampled_from(
    sorted(filter(str.isidentifier, json.loads(TABLE)["units"]))
) | st.sampled_from(USUAL.split())
prefixes = st.sampled_from(["", "", "", "k", "m", "c", "kilo", "milli"])
factors = st.builds(
    "{}{}{}{}".format,
    prefixes,
    names,
    st.sampled_from(["", "", "s"]),
    st.sampled_from(["", "", "**2", "**3"]),
)


def _factor(registry: Any, text: str) -> float | None:
    """Return the factor to the root units, or nothing where the text is no unit."""
    try:
        return float(registry.get_root_units(registry.parse_units(text))[0])
    except Exception:  # pint raises many kinds
        return None


known = factors.filter(lambda text: _factor(PINT, text) is not None)
products = st.builds(
    "{}{}{}".format, known, st.sampled_from(["*", "/", " ", " / "]), known
) | st.builds("{}/({}*{})".format, known, known, known)


@settings(max_examples=300)
@given(factors | products)
def test_factors_are_those_of_pint(text: str) -> None:
    wanted = _factor(PINT, text)
    assert _factor(PLAIN, text) == (None if wanted is None else pytest.approx(wanted, rel=1e-12))


@pytest.fixture
def without_pint(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[None]:
    """A Python without pint, which reads the table in its place."""
    (tmp_path / plain_units.TABLE_FILE).write_text(TABLE, encoding="utf-8")
    monkeypatch.setitem(sys.modules, "pint", None)
    monkeypatch.setattr(plain_units, "__file__", str(tmp_path / "plain_units.py"))
    _forget()
    yield
    _forget()


def _forget() -> None:
    for remembered in (units.registry, units.converter, units._unit_converter):
        remembered.cache_clear()


@pytest.mark.usefixtures("without_pint")
@pytest.mark.parametrize(
    "case", [*TEXTS, *UNITS, *DATES], ids=lambda case: f"{case.function} {case.about}"
)
def test_every_text_of_the_table_of_cases(case: Case) -> None:
    assert same(as_shown(cell_value(case.function, case.arguments, case.units)), case.shown)


# Exact: international pound and foot, US gallon, and the degree Fahrenheit (NIST SP 811).
@pytest.mark.usefixtures("without_pint")
@pytest.mark.parametrize(
    ("text", "unit", "number"),
    [
        ("68 °F", "°C", 20.0),
        ("20 degC", "degF", 68.0),
        ("20 degC", "K", 293.15),
        ("9 delta_degF", "delta_degC", 5.0),
        ("1 ft²·°F·h/Btu", "m²·K/W", 0.3048**2 * 5 / 9 * 3600 / 1055.05585262),
        ("1 lb/gal", "kg/L", 0.45359237 / 3.785411784),
        ("60 cfm", "ft**3/s", 1.0),
        ("3 kg/(m²·d)", "kg/m**2/week", 21.0),
        ("2 sq ft", "in**2", 288.0),
        ("5 kilograms", "g", 5000.0),
    ],
)
def test_conversions(text: str, unit: str, number: float) -> None:
    assert units.convert(text, unit) == pytest.approx(number, rel=1e-12)


@pytest.mark.usefixtures("without_pint")
@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("5 degC", "delta_degC"),
        ("5 delta_degF", "degF"),
        ("1 kg", "L"),
        ("1 (kg", "g"),
        ("1 kg)", "g"),
        ("1 kdegC", "K"),
    ],
)
def test_nonsense_is_refused(text: str, unit: str) -> None:
    with pytest.raises(ValueError, match=r"has the (unknown )?unit"):
        units.convert(text, unit)


@pytest.mark.usefixtures("without_pint")
def test_without_the_table_too_the_reason_is_named(tmp_path: Path) -> None:
    (tmp_path / plain_units.TABLE_FILE).unlink()
    with pytest.raises(UnknownUnit, match="library that knows units is missing"):
        units.quantity_in("5 stone", DIMENSIONS["kg"])
