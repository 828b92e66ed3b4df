"""What a cell or a range may hold, told apart: blanks, errors, dates, numbers."""

from __future__ import annotations

import datetime as dt
import re
from itertools import chain
from typing import TYPE_CHECKING, Any

from cultivar_fx.errors import ERROR_CODES, CellError
from cultivar_fx.stages.rounding import whole_down

if TYPE_CHECKING:
    from collections.abc import Iterable

    Grid = list[list[Any]]

DATE_ORIGIN = dt.date(1899, 12, 30)
"""Day 0 of spreadsheet dates after February 1900, in every program that we serve."""

_SECONDS_PER_DAY = 86_400
_ISO_DATE = re.compile(r"\d{4}-\d\d-\d\d")
_US_DATE = re.compile(r"(\d\d?)/(\d\d?)/(\d{4})")
_OWN = (float, int, str, type(None))
_ROWS = frozenset((list, tuple))
_NOTHING = ("NaTType", "NAType")


def is_grid(value: object) -> bool:
    """Return whether a value is a range, or anything else that holds several values."""
    return isinstance(value, (list, tuple)) or getattr(value, "ndim", 0) > 0


def is_flat(value: Any) -> bool:
    """Return whether a range came as one plain list of values."""
    if isinstance(value, (list, tuple)):
        return not any(map(is_grid, value))
    return bool(value.ndim == 1)


def as_grid(value: Any) -> Grid:
    """Return any range as rows of equal length; a flat list is a column.

    What is that already comes back as it is: nobody changes it.
    """
    if not is_grid(value):
        return [[value]]
    if not isinstance(value, (list, tuple)):
        value = _listed(value)
    if set(map(type, value)) <= _ROWS and len(set(map(len, value))) == 1 and value[0]:
        return value  # type: ignore[no-any-return]
    rows = [list(row) if isinstance(row, (list, tuple)) else [row] for row in value]
    width = max((len(row) for row in rows), default=0)
    if width == 0:
        return [[None]]
    return [row + [None] * (width - len(row)) for row in rows]


def _listed(array: Any) -> list[Any]:
    """Return an array, a column or a table of numpy or pandas as lists of Python's own values."""
    if hasattr(array, "to_numpy"):
        array = array.astype(object).to_numpy()
    return list(_in_microseconds(array).tolist())


def _in_microseconds(array: Any) -> Any:
    """Return numpy's times in the unit that turns into Python's own, not into plain numbers."""
    kind = array.dtype.kind
    return array.astype(f"{kind}8[us]") if kind in ("m", "M") else array


def flat(grid: Iterable[Iterable[object]]) -> list[object]:
    """Return the values of a range row by row."""
    return list(chain.from_iterable(grid))


def plain(value: Any) -> object:
    """Return a single value of numpy as Python's own; others as they are."""
    if type(value) in _OWN or not hasattr(value, "dtype") or is_grid(value):
        return value
    return _in_microseconds(value).item()


def is_blank(value: object) -> bool:
    """Return whether a cell is empty, holds only spaces, or what pandas writes for nothing."""
    if value is None:
        return True
    if isinstance(value, str):
        return not value.strip()
    if isinstance(value, float):
        return value != value
    return type(value).__name__ in _NOTHING


def is_blank_range(value: object) -> bool:
    """Return whether a range holds nothing but blanks."""
    return is_grid(value) and all(is_blank(plain(one)) for row in as_grid(value) for one in row)


def error_code(value: object) -> str:
    """Return the code of an error value, as an error or as its text; an empty text for others."""
    if isinstance(value, CellError):
        return value.code
    if isinstance(value, str) and value.lstrip().startswith("#"):
        code = value.strip().upper()
        return code if code in ERROR_CODES else ""
    return ""


def is_date(value: object) -> bool:
    """Return whether a value is a date, with or without a time of day, or the text of a date."""
    if isinstance(value, str):
        return any(form.fullmatch(value.strip()) for form in (_ISO_DATE, _US_DATE))
    return isinstance(plain(value), dt.date)


def is_unclear_date(value: object) -> bool:
    """Return whether a text is a date with slashes whose month and day may be taken either way."""
    match = _US_DATE.fullmatch(value.strip()) if isinstance(value, str) else None
    if match is None:
        return False
    month, day = int(match[1]), int(match[2])
    return month != day and 0 < month <= 12 and 0 < day <= 12


def serial(value: Any) -> float:
    """Return the spreadsheet's number of a date, with the time of day as its fraction.

    Raises
    ------
    ValueError
        If it is the text of a day that no calendar has, or of one of two days.
    """
    if isinstance(value, str):
        value = _day_of(value.strip())
    if not isinstance(value, dt.datetime):
        return float((value - DATE_ORIGIN).days)
    seconds = value.hour * 3600 + value.minute * 60 + value.second + value.microsecond / 1e6
    return (value.date() - DATE_ORIGIN).days + seconds / _SECONDS_PER_DAY


def _day_of(text: str) -> dt.date:
    """Read a date as 2026-03-14, or as 3/14/2026 where only one order makes a day of it."""
    match = _US_DATE.fullmatch(text)
    if match is None:
        return dt.date.fromisoformat(text)
    month, day, year = map(int, match.groups())
    if is_unclear_date(text):
        raise ValueError(f"which may be {year}-{month:02}-{day:02} or {year}-{day:02}-{month:02}")
    return dt.date(year, month, day)


def date_of(number: float) -> dt.date:
    """Return the date of a spreadsheet's number, without its time of day."""
    return DATE_ORIGIN + dt.timedelta(days=whole_down(number))


def shown(value: object) -> str:
    """Show in a sentence what an argument got."""
    if isinstance(value, float):
        return f"{value:.10g}"
    text = repr(value) if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else text[:57] + "..."
