"""Single values on their way from Calc and back."""

from __future__ import annotations

import re
import struct
from typing import Any

import pytest

from cultivar_fx.hosts.calc_values import answer


def _answer(name: str, *given: Any, sign: str = ".") -> Any:
    return answer(name, given, lambda: sign)


def _error_number(value: float) -> int:
    """Return the number in the lower half of what is not a number, where Calc looks for it."""
    assert value != value
    return int(struct.unpack("<II", struct.pack("<d", value))[0])


@pytest.mark.parametrize(
    ("sign", "text", "number"),
    [
        (",", "0,5", 50.0),
        (".", "0.5", 50.0),
        (",", "2,5E-001", 75.0),
        (".", "50%", 50.0),
        (",", "50%", 50.0),
    ],
)
def test_numbers_are_read_with_the_sign_of_the_locale(sign: str, text: str, number: float) -> None:
    assert _answer("DRY_MASS", "100", text, None, sign=sign) == pytest.approx(number)


@pytest.mark.parametrize(
    ("code", "given"),
    [
        (519, ("100", "0,5", None)),  # #VALUE!: a text in a locale with decimal points
        (503, ("100", "50", None)),  # #NUM!
        (32767, ("100", "", None)),  # #N/A
        (519, ("100 L", "0.5", None)),
        (519, ("100", "0.5", 7.0)),
    ],
)
def test_errors_carry_the_number_that_calc_shows(code: int, given: tuple[Any, ...]) -> None:
    # LibreOffice's error numbers: its help on error codes, from memory; seen in test_calc_addin
    assert _error_number(_answer("DRY_MASS", *given)) == code


def test_all_blank_is_an_empty_text() -> None:
    assert _answer("DRY_MASS", "", "", None) == ""


def test_blank_cell_for_the_units_is_metric() -> None:
    assert _answer("DRY_MASS", "100 kg", "0.5", 0.0) == 50.0


def test_error_in_a_computed_range_is_passed_on() -> None:
    division = struct.unpack("<d", struct.pack("<II", 532, 0x7FF80000))[0]
    found = _answer("MOISTURE_OF_MIX", ((10.0,), (division,)), ((0.77,), (0.35,)), None)
    assert _error_number(found) == 532


def test_one_zero_for_a_range_may_be_an_empty_cell() -> None:
    assert _error_number(_answer("MOISTURE_OF_MIX", 10.0, 0.0, None)) == 32767


def test_answer_is_a_table_where_an_optional_argument_may_be_a_range() -> None:
    # 6 kg each: 87 bags of 526 kg, 86 once 7 kg are lost.
    assert _answer("BAG_COUNT", "526", "6", ((0.5, 7.0),), None) == ((87.0, 86.0),)


def test_date_is_its_number() -> None:
    # 2026-09-14 is day 46279 from 1899-12-30 on, and 30 days earlier is 46249.
    assert _answer("START_DATE", "46279", "30", None) == 46249.0
    assert _answer("START_DATE", "2026-09-14", "30", None) == 46249.0


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        (("WATER_TO_ADD", (100.0, 0.5, 0.4)), "wetter already"),
        (("WATER_TO_ADD", (100.0, 0.06, 0.62)), "^$"),
        (("SHELF_SPACES", (2.0, 1.0, 40.0, 40.0, 0.0)), "^gap: is 0 or an empty cell"),
        (("WATER_TO_ADD", (0.0, 0.06, 0.62)), "^If the cell that counts as 0 is empty: mass: "),
    ],
)
def test_why(given: tuple[str, tuple[float, ...]], sentence: str) -> None:
    assert re.search(sentence, _answer("WHY", *given))
