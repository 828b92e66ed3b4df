"""What a cell may pass and what it gets back: one table for every way into a spreadsheet.

``CELLS`` and ``RANGES`` hold only what a spreadsheet can hold: numbers, texts, error values by
their text, blanks, booleans, dates. ``PYTHON_CELLS`` and ``PYTHON_RANGES`` hold what only Python
callers pass. A range is a list of rows; ``FLAT`` lists are one column, and come back as one.

Expected values follow from the definitions of moisture and of a mass balance (28/19 L of water
per kg from 6 to 62 % wet basis, as in the table of water per kg of material as received), from
exact unit factors (NIST SP 811: the pound is 0.45359237 kg, the US gallon 231 cubic inches of
2.54 cm), from the calendar, and from the rules of a call; nothing is taken from the code.
"""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from fractions import Fraction
from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from cultivar_fx.errors import CellError

VALUE, NUM, NA, NAME = "#VALUE!", "#NUM!", "#N/A", "#NAME?"
ERRORS = (VALUE, NUM, NA, NAME, "#DIV/0!", "#REF!", "#NULL!")

POUND = 0.45359237  # kg, exact
GALLON = 231 * 2.54**3 / 1000  # L, exact
FOOT = 0.3048  # m, exact
WATER = 28 / 19  # L per kg, 6 to 62 % wet basis: (0.62 - 0.06) / (1 - 0.62)


class Case(NamedTuple):
    """One call and what it has to show; ``shown`` is a value, or the text of an error value."""

    about: str
    function: str
    arguments: tuple[Any, ...]
    shown: Any
    units: Any = None

    @property
    def fails(self) -> bool:
        """Return whether the call as a whole is an error."""
        return isinstance(self.shown, str) and self.shown in ERRORS


def _water(about: str, shown: Any, *arguments: Any, units: Any = None) -> Case:
    return Case(about, "WATER_TO_ADD", arguments, shown, units)


def _dry(about: str, shown: Any, *arguments: Any, units: Any = None) -> Case:
    return Case(about, "DRY_MASS", arguments, shown, units)


def _start(about: str, shown: Any, *arguments: Any) -> Case:
    return Case(about, "START_DATE", arguments, shown)


def _mix(about: str, shown: Any, masses: Any, moistures: Any) -> Case:
    return Case(about, "MOISTURE_OF_MIX", (masses, moistures), shown)


NUMBERS = [
    _water("numbers", 100 * WATER, 100.0, 0.06, 0.62),
    _water("whole numbers", 100 * WATER, 100, 0.06, 0.62),
    _water("zero", 0, 0, 0.06, 0.62),
    _dry("the same number in either system", 188, 200, 0.06),
    _dry("the same number in either system, us", 188, 200, 0.06, units="us"),
    _water("a number outside the limits", NUM, -1, 0.06, 0.62),
    _water("a number at an open limit", NUM, 100, 0.06, 1),
    _water("a number close to an open limit", 100 * (1 - 2**-40) * 2**40, 100, 0, 1 - 2**-40),
    _water("numbers that are impossible together", NUM, 100, 0.62, 0.06),
    _water("numbers without a finite answer", NUM, 1e308, 0, 0.999),
    _water("percent without its sign", NUM, 100, 6, 62),
    Case("a count that is not whole", "LOSS_LOW", (1.5, 20, 0.95), NUM),
    Case("a negative temperature", "WALL_HEAT_LOSS", (10, 2, 20, -10), 150),
]

TEXTS = [
    _water("text quantity", 200 * POUND * WATER, "200 lb", 0.06, 0.62),
    _water(
        "text quantity in its own unit, us answer", 100 * WATER / GALLON, "100 kg", 0.06, 0.62
    )._replace(units="us"),
    _water("percent as text", 100 * WATER, 100, "6%", "62 %"),
    _water("percent of a half", 100 * 0.025 / 0.975, 100, 0, "2.5%"),
    _water("number as text", 100 * WATER, "100", "0.06", "0.62"),
    _water("number as text, us", 100 * POUND * WATER / GALLON, "100", 0.06, 0.62, units="us"),
    _water("spaces around", 200 * POUND * WATER, "  200   lb ", " 6% ", 0.62),
    _water("no-break space", 200 * POUND * WATER, "200\u00a0lb", 0.06, 0.62),
    _water("no space", 200 * POUND * WATER, "200lb", 0.06, 0.62),
    _water("plus sign", 200 * POUND * WATER, "+200 lb", 0.06, 0.62),
    _water("power of ten", 200 * POUND * WATER, "2e2 lb", 0.06, 0.62),
    _water("bare decimal point", 0.5 * POUND * WATER, ".5 lb", 0.06, 0.62),
    _water("negative quantity", NUM, "-5 lb", 0.06, 0.62),
    _water("percent outside the limits", NUM, 100, "6%", "162%"),
    _water("percent sign forgotten in a text", NUM, 100, 0.06, "62"),
    _water("unit of another kind", VALUE, "200 L", 0.06, 0.62),
    _water("angle for a share", VALUE, 100, "3 deg", 0.62),
    _water("unit that nobody knows", VALUE, "200 zorks", 0.06, 0.62),
    _water("unit where a count belongs", VALUE, "200 kg 3", 0.06, 0.62),
    _water("unit alone", VALUE, "lb", 0.06, 0.62),
    _water("words", VALUE, "wet", 0.06, 0.62),
    _water("thousands separator", VALUE, "1,000 lb", 0.06, 0.62),
    _water("decimal comma", VALUE, 100, 0.06, "0,62"),
    _water("two quantities", VALUE, "2 lb 3 oz", 0.06, 0.62),
    _water("expression", VALUE, "9**9 kg", 0.06, 0.62),
    _water("expression in the unit", VALUE, "9 kg*9", 0.06, 0.62),
    _water("tower of powers", VALUE, "9 m**3**3**3**3**3", 0.06, 0.62),
    _water("formula", VALUE, "=1+1", 0.06, 0.62),
    _water("fraction as text", VALUE, 100, 0.06, "1/2"),
    _water("program", VALUE, "__import__('os').system('true')", 0.06, 0.62),
    _water("program as unit", VALUE, "1 __import__('os')", 0.06, 0.62),
    _water("infinity as text", VALUE, "inf", 0.06, 0.62),
    _water("not a number as text", VALUE, "nan", 0.06, 0.62),
    _water("too large as text", NUM, "1e999 kg", 0.06, 0.62),
    _water("very long text", VALUE, "1 " + " " * 5000 + "lb", 0.06, 0.62),
    _water("boolean as text", VALUE, "TRUE", 0.06, 0.62),
    _water("date as text where none belongs", VALUE, "2026-03-14", 0.06, 0.62),
    Case("unit where a plain number belongs", "LOSS_LOW", ("3 kg", 100, 0.95), VALUE),
    Case("temperatures", "WALL_HEAT_LOSS", ("10 m2", 2, "68 °F", "14 degF"), 150),
    Case("temperatures, us", "WALL_HEAT_LOSS", (10 / FOOT**2, "2 m²·K/W", 68, 14), 150, "us"),
    Case("answer in the unit of the name", "COST_PER_POUND", (POUND, "1 kg"), POUND**2),
    Case("text for a text", "CONVERT_UNITS", ("200 lb", "kg"), 200 * POUND),
    Case("number for a text", "CONVERT_UNITS", (200, "kg"), VALUE),
]

BLANKS = [
    _water("all blank", "", None, None, None),
    _water("all empty texts", "", "", "", ""),
    _water("all spaces", "", "  ", "\t", "\u00a0"),
    _water("one blank", NA, None, 0.06, 0.62),
    _water("one empty text", NA, 100, "", 0.62),
    _water("last one spaces", NA, 100, 0.06, "  "),
    Case("optional blank is its default", "MOISTURE_FROM_SAMPLE", (10, 2.3, None), 0.77),
    Case("optional empty text is its default", "MOISTURE_FROM_SAMPLE", (10, 2.3, " "), 0.77),
    Case("required blank, optional given", "MOISTURE_FROM_SAMPLE", (None, None, 1), ""),
    Case("text blank", "CONVERT_UNITS", (None, ""), ""),
    Case("one text blank", "CONVERT_UNITS", ("5 kg", None), NA),
]

BOOLEANS = [
    _water("true", VALUE, True, 0.06, 0.62),
    _water("false", VALUE, 100, False, 0.62),
    Case("true for a text", "CONVERT_UNITS", ("5 kg", True), VALUE),
]

UNITS = [
    _water("units us", 100 * POUND * WATER / GALLON, 100, 0.06, 0.62, units="us"),
    _water("units in capitals", 100 * POUND * WATER / GALLON, 100, 0.06, 0.62, units="US"),
    _water("units with spaces", 100 * POUND * WATER / GALLON, 100, 0.06, 0.62, units=" us "),
    _water("units metric", 100 * WATER, 100, 0.06, 0.62, units="metric"),
    _water("units Metric", 100 * WATER, 100, 0.06, 0.62, units="Metric"),
    _water("units blank", 100 * WATER, 100, 0.06, 0.62, units=None),
    _water("units empty text", 100 * WATER, 100, 0.06, 0.62, units=""),
    _water("units of an empire", VALUE, 100, 0.06, 0.62, units="imperial"),
    _water("units a number", VALUE, 100, 0.06, 0.62, units=1),
    _water("units an error", "#REF!", 100, 0.06, 0.62, units="#REF!"),
    Case("units in the place before", "MOISTURE_FROM_SAMPLE", (10, 2.3, "us"), VALUE),
]

# 2026-03-14 is day 46095, counted from 2024-01-01 as day 45292 (Excel's numbering)
DATES = [
    _start("date", dt.date(2026, 1, 31), dt.date(2026, 3, 14), 42),
    _start("date and time", dt.date(2026, 1, 31), dt.datetime(2026, 3, 14, 18, 30), 42),
    _start("date as text", dt.date(2026, 1, 31), "2026-03-14", 42),
    _start("date as text with spaces", dt.date(2026, 1, 31), " 2026-03-14 ", 42),
    _start("date as number", 46053, 46095, 42),
    _start("number of a date as text", 46053, "46095", 42),
    _start("leap day", dt.date(2024, 2, 29), "2024-03-01", "1 day"),
    _start("days as text", dt.date(2026, 1, 31), dt.date(2026, 3, 14), "6 weeks"),
    _start("half a day begins the day before", dt.date(2026, 1, 30), dt.date(2026, 3, 14), 42.5),
    _start("day that no calendar has", VALUE, "2026-02-30", 42),
    _start("date in another spelling", VALUE, "14.03.2026", 42),
    _start("date with slashes", dt.date(2026, 1, 31), "3/14/2026", 42),
    _start("date with slashes and a zero", dt.date(2026, 1, 31), " 03/14/2026 ", 42),
    _start("date with slashes, month and day alike", dt.date(2026, 3, 2), "3/3/2026", 1),
    _start("date with slashes that may be two days", VALUE, "3/4/2026", 42),
    _start("date with slashes, day first", VALUE, "14/3/2026", 42),
    _start("date with slashes that no calendar has", VALUE, "2/30/2026", 42),
    _start("date with slashes and a short year", VALUE, "3/14/26", 42),
    _start("date with a unit", VALUE, "46095 kg", 42),
    _start("before the first date", NUM, "1800-03-14", 42),
    _start("date where days belong", VALUE, "2026-03-14", dt.date(2026, 1, 31)),
    _start("all blank", "", None, None),
    _start("days blank", NA, "2026-03-14", None),
    _water("date where a mass belongs", VALUE, dt.date(2026, 3, 14), 0.06, 0.62),
]

INCOMING_ERRORS = [
    *(_water(f"incoming {code}", code, code, 0.06, 0.62) for code in ERRORS),
    *(_water(f"incoming {code}, last", code, 100, 0.06, code) for code in ERRORS),
    _water("error beside blanks", "#DIV/0!", None, "#DIV/0!", None),
    _water("error beside nonsense", "#DIV/0!", "wet", "#DIV/0!", 62),
    _water("error in lower case", NA, "#n/a", 0.06, 0.62),
    _water("text that only looks like an error", VALUE, "#WET!", 0.06, 0.62),
    Case("error in an optional argument", "MOISTURE_FROM_SAMPLE", (10, 2.3, "#REF!"), "#REF!"),
    Case("error for a text", "CONVERT_UNITS", ("#NAME?", "kg"), NAME),
    _start("error for a date", "#REF!", "#REF!", 42),
    _mix("error in a range", "#DIV/0!", [[10], ["#DIV/0!"]], [[0.77], [0.35]]),
]

CELLS = [*NUMBERS, *TEXTS, *BLANKS, *BOOLEANS, *UNITS, *DATES, *INCOMING_ERRORS]

# 10 kg at 77 % and 6.8 kg at 35 % make 60 %: Richard & Trautmann, Cornell Composting
AGGREGATES = [
    _mix("ranges", 0.6, [[10], [6.8]], [[0.77], [0.35]]),
    _mix("rows", 0.6, [[10, 6.8]], [[0.77, 0.35]]),
    _mix("a row and a column", 0.6, [[10, 6.8]], [[0.77], [0.35]]),
    _mix("texts in ranges", 0.6, [["10 kg"], ["6800 g"]], [["77%"], [0.35]]),
    _mix("blank lines", 0.6, [[10], [None], [6.8], [""]], [[0.77], [""], [0.35], [None]]),
    _mix("single cells", 0.77, 10, 0.77),
    _mix("one value missing", NA, [[10], [6.8]], [[0.77], [None]]),
    _mix("blank ranges", "", [[None], [""]], [[None], [" "]]),
    _mix("one range blank", NA, [[10], [6.8]], [[None], [None]]),
    _mix("ranges of different length", VALUE, [[10], [6.8]], [[0.77], [0.35], [0.2]]),
    _mix("words in a range", VALUE, [[10], ["wet"]], [[0.77], [0.35]]),
    _mix("percent without its sign in a range", NUM, [[10], [6.8]], [[77], [35]]),
    _mix("true in a range", VALUE, [[10], [True]], [[0.77], [0.35]]),
    _mix("no mass at all", NUM, [[0], [0]], [[0.77], [0.35]]),
]

KILOGRAM = 0.94  # dry, of one at 6 %
SPILLS = [
    _dry("column", [[KILOGRAM], [2 * KILOGRAM]], [[1], [2]], 0.06),
    _dry("row", [[KILOGRAM, 2 * KILOGRAM]], [[1, 2]], 0.06),
    _dry("grid", [[KILOGRAM, 2 * KILOGRAM], [3 * KILOGRAM, 0]], [[1, 2], [3, 0]], 0.06),
    _dry("two columns", [[KILOGRAM], [1]], [[1], [2]], [[0.06], [0.5]]),
    _dry("column by row", [[0.5, 0.75], [1, 1.5]], [[1], [2]], [[0.5, 0.25]]),
    _dry("single cell", KILOGRAM, [[1]], 0.06),
    _dry("single cell with a column", [[0.5], [1]], [[1], [2]], [[0.5]]),
    _dry(
        "errors in their places",
        [[KILOGRAM], [NUM], [VALUE], ["#REF!"]],
        [[1], [-1], ["wet"], ["#REF!"]],
        0.06,
    ),
    _dry("blanks in their places", [[KILOGRAM], [NA]], [[1], [None]], 0.06),
    _dry("blank rows stay blank", [[0.5], [""]], [[1], [None]], [[0.5], [""]]),
    _dry("columns that don't fit", [[0.5], [1], [NA]], [[1], [2], [3]], [[0.5], [0.5]]),
    _dry("texts", [[POUND / 2], [0.5]], [["1 lb"], ["1 kg"]], "50%"),
    _dry("wrong single cell", NUM, [[1]], 62),
    _dry("wrong beside a column", [[NUM], [NUM]], [[1], [2]], 62),
    _dry("units beside a column", [[188], [94]], [[200], [100]], 0.06, units="us"),
    Case("text arguments", "CONVERT_UNITS", ([["1 lb"], ["2 lb"]], "kg"), [[POUND], [2 * POUND]]),
    _start("dates", [[dt.date(2026, 1, 31)], [46053]], [["2026-03-14"], [46095]], 42),
    # an hour at 121.1 °C: 60 minutes at this reference, ten times as many 10 °C below it
    Case(
        "column beside ranges",
        "LETHALITY",
        ([[0], [1]], [[121.1], [121.1]], [[121.1], [111.1]], 10),
        [[60], [600]],
    ),
]

# Weil 1970: litters of rats, pups that died among those alive on day 4; the design effect by the
# ratio estimator of Rao & Scott 1992, Biometrics 48:577, as exact fractions.
CONTROL = (
    [0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 2, 1, 2, 3, 3],
    [13, 12, 9, 9, 8, 8, 13, 12, 10, 10, 9, 13, 5, 7, 10, 10],
)
TREATED = (
    [0, 0, 0, 0, 1, 1, 1, 1, 1, 1, 2, 3, 5, 3, 7, 7],
    [12, 11, 10, 9, 11, 10, 10, 9, 9, 5, 9, 7, 10, 6, 10, 7],
)


def design_effect_of(lost: list[int], totals: list[int]) -> Fraction:
    """Return the variance of a ratio of totals over that of independent blocks."""
    count, rate = len(totals), Fraction(sum(lost), sum(totals))
    squares = sum((one - rate * total) ** 2 for one, total in zip(lost, totals))
    variance = Fraction(count, count - 1) * squares / sum(totals) ** 2
    return variance / (rate * (1 - rate) / sum(totals))


def _column(numbers: list[int]) -> list[list[int]]:
    return [[number] for number in numbers]


# Two batches of ten, 0 and 4 lost: 2 above and below 2 expected, (4 + 4) / (10 · 0.2 · 0.8) = 5.
PAIR = ([[0], [4]], [[10], [10]])

EVIDENCE = [
    *(
        Case(
            f"design effect, {about}",
            "DESIGN_EFFECT",
            tuple(map(_column, litters)),
            float(design_effect_of(*litters)),
        )
        for about, litters in (("control", CONTROL), ("treated", TREATED))
    ),
    *(
        case
        for name in ("DISPERSION", "DESIGN_EFFECT")
        for case in (
            Case("two batches", name, PAIR, 5),
            Case("a blank batch", name, ([[0], [None], [4]], [[10], [""], [10]]), 5),
            Case("a batch of 0 blocks", name, ([[0], [0], [4]], [[10], [0], [10]]), 5),
            Case("rows", name, ([[0, 4]], [[10, 10]]), 5),
            Case("none lost", name, ([[0], [0]], [[10], [30]]), 1),
            Case("all lost", name, ([[10], [30]], [[10], [30]]), 1),
            Case("alike", name, ([[2], [2]], [[10], [10]]), 1),
            Case("all or nothing", name, ([[10], [0]], [[10], [10]]), 20),
            Case("one batch", name, ([[4]], [[10]]), NUM),
            Case("one batch with blocks", name, ([[4], [0]], [[10], [0]]), NUM),
            Case("more lost than started", name, ([[0], [11]], [[10], [10]]), NUM),
            Case("lost of no blocks", name, ([[0], [4], [1]], [[10], [10], [0]]), NUM),
            Case("fewer than none", name, ([[0], [-4]], [[10], [10]]), NUM),
            Case("fewer than none started", name, ([[0], [0]], [[10], [-10]]), NUM),
            Case("a total missing", name, ([[0], [4], [1]], [[10], [10], [None]]), NA),
            Case("losses missing", name, ([[0], [4], [None]], [[10], [10], [10]]), NA),
            Case("different sizes", name, ([[0], [4], [1]], [[10], [10]]), VALUE),
            Case("words", name, ([[0], ["four"]], [[10], [10]]), VALUE),
            Case("blank ranges", name, ([[None], [None]], [[None], [None]]), ""),
        )
    ),
    # 435 blocks a side, 50 a batch, correlation in a batch 0.05: times 1 + 49 · 0.05, after Donner
    # & Klar, Design and Analysis of Cluster Randomization Trials
    Case("trial by batches", "TRIAL_BLOCKS", (0.05, 0.1, 0.95, 0.8, 3.45), 1501),
    Case("dispersion below 1", "TRIAL_BLOCKS", (0.05, 0.1, 0.95, 0.8, 0.99), NUM),
    Case("dispersion below 1", "LOSS_LOW", (3, 100, 0.95, 0.05), NUM),
    # Pocock 1977, Biometrika 64:191, at 5 % together; at 1 % shared equally
    *(
        Case(f"{looks} looks", "LOOK_CONFIDENCE", (0.95, looks), 1 - level)
        for looks, level in enumerate((0.05, 0.0294, 0.0221, 0.0182, 0.0158), 1)
    ),
    Case("looks at 99 %", "LOOK_CONFIDENCE", (0.99, 4), 0.9975),
    Case("looks at 90 %", "LOOK_CONFIDENCE", (0.9, 2), 0.9412),
    Case("too many looks", "LOOK_CONFIDENCE", (0.95, 6), NUM),
    Case("half a look", "LOOK_CONFIDENCE", (0.95, 1.5), NUM),
    Case("own figure blank without batches", "BLENDED", (None, 0.8, 0, 8), 0.8),
    Case("own figure an empty text without batches", "BLENDED", ("", 0.8, 0, 8), 0.8),
    Case("own figure blank with batches", "BLENDED", (None, 0.8, 3, 8), NA),
    Case("own figure and batches blank", "BLENDED", (None, 0.8, None, 8), NA),
    Case("own figure a word without batches", "BLENDED", ("good", 0.8, 0, 8), VALUE),
    Case("own figure an error without batches", "BLENDED", ("#DIV/0!", 0.8, 0, 8), "#DIV/0!"),
    Case("own figure of 0", "BLENDED", (0, 0.5, 3, 3), 0.25),
    Case("nothing to blend", "BLENDED", (None, None, None, None), ""),
    Case(
        "own figures of a column",
        "BLENDED",
        ([[1], [None], [None]], 0.5, [[3], [0], [3]], 3),
        [[0.75], [0.5], [NA]],
    ),
]

RANGES = [*AGGREGATES, *SPILLS, *EVIDENCE]

PYTHON_CELLS = [
    _water("currency", 100 * WATER, Decimal(100), 0.06, 0.62),
    _water("exact fraction", 100 * WATER, 100, Fraction(6, 100), 0.62),
    _water("numpy float", 100 * WATER, np.float64(100), 0.06, 0.62),
    _water("numpy short float", 100 * WATER, np.float32(100), 0.06, 0.62),
    _water("numpy whole number", 100 * WATER, np.int64(100), 0.06, 0.62),
    _water("numpy array without dimension", 100 * WATER, np.array(100.0), 0.06, 0.62),
    _water("numpy text", 200 * POUND * WATER, np.str_("200 lb"), 0.06, 0.62),
    _water("not a number", NA, float("nan"), 0.06, 0.62),
    _water("not a number, all", "", float("nan"), np.nan, np.float32("nan")),
    _water("pandas nothing", NA, 100, pd.NA, 0.62),
    _water("pandas no time", NA, 100, 0.06, pd.NaT),
    _water("infinity", NUM, float("inf"), 0.06, 0.62),
    _water("negative infinity", NUM, 100, float("-inf"), 0.62),
    _water("beyond all floats", NUM, 10**400, 0.06, 0.62),
    _water("beyond all floats, us", NUM, 10**400, 0.06, 0.62, units="us"),
    _water("decimal infinity", NUM, Decimal("inf"), 0.06, 0.62),
    _water("decimal signaling", NUM, Decimal("sNaN"), 0.06, 0.62),
    _water("numpy true", VALUE, np.True_, 0.06, 0.62),
    _water("complex", VALUE, 1 + 2j, 0.06, 0.62),
    _water("numpy complex", VALUE, np.complex128(1 + 2j), 0.06, 0.62),
    _water("bytes", VALUE, b"200 lb", 0.06, 0.62),
    _water("length of time", VALUE, dt.timedelta(days=1), 0.06, 0.62),
    _water("numpy length of time", VALUE, np.timedelta64(1, "ns"), 0.06, 0.62),
    _water("time of day", VALUE, dt.time(12, 30), 0.06, 0.62),
    _water("numpy date where a mass belongs", VALUE, np.datetime64("2026-03-14"), 0.06, 0.62),
    _water("table by its keys", VALUE, {"mass": 100}, 0.06, 0.62),
    _water(
        "units in a range of one", 100 * POUND * WATER / GALLON, 100, 0.06, 0.62, units=[["us"]]
    ),
    _start("numpy date", dt.date(2026, 1, 31), np.datetime64("2026-03-14"), 42),
    _start("numpy date and time", dt.date(2026, 1, 31), np.datetime64("2026-03-14T08", "ns"), 42),
    _start("pandas date", dt.date(2026, 1, 31), pd.Timestamp("2026-03-14"), 42),
    _water("error value", "#DIV/0!", CellError("#DIV/0!", ""), 0.06, 0.62),
    _mix("error value in a range", "#DIV/0!", [10, CellError("#DIV/0!", "")], [0.77, 0.35]),
]

PYTHON_RANGES = [
    _mix("lists", 0.6, [10, 6.8], [0.77, 0.35]),
    _mix("tuples", 0.6, (10, 6.8), (0.77, 0.35)),
    _mix("numpy arrays", 0.6, np.array([10, 6.8]), np.array([[0.77], [0.35]])),
    _mix("pandas columns", 0.6, pd.Series([10, 6.8]), pd.Series([0.77, 0.35], index=[7, 9])),
    _mix("pandas blanks", 0.6, pd.Series([10, None, 6.8]), pd.Series([0.77, None, 0.35])),
    _dry("flat list", [KILOGRAM, 2 * KILOGRAM], [1, 2], 0.06),
    _dry("numpy array", [KILOGRAM, 2 * KILOGRAM], np.array([1.0, 2.0]), 0.06),
    _dry("numpy grid", [[KILOGRAM], [2 * KILOGRAM]], np.array([[1], [2]]), 0.06),
    _dry("pandas column", [KILOGRAM, 2 * KILOGRAM], pd.Series([1, 2], index=["a", "b"]), 0.06),
    _dry("pandas texts", [POUND / 2, NA], pd.Series(["1 lb", None]), "50%"),
    _dry("pandas whole numbers with blanks", [0.5, NA], pd.Series([1, None], dtype="Int64"), 0.5),
    _dry("pandas table", [[KILOGRAM, 2 * KILOGRAM]], pd.DataFrame({"a": [1], "b": [2]}), 0.06),
    _dry("ragged list", [[0.5, 1], [1.5, NA]], [[1, 2], [3]], 0.5),
    _dry("empty list", "", [], []),
    _dry("empty list for one of two", NA, [], 0.5),
    _dry("list of one", 0.5, [1], 0.5),
    _dry("numpy lengths of time", [VALUE, VALUE], np.array([1, 2], dtype="timedelta64[ns]"), 0.5),
    _start(
        "numpy dates",
        [dt.date(2026, 1, 31), NA],
        np.array(["2026-03-14", "NaT"], dtype="datetime64[ns]"),
        42,
    ),
    _start(
        "pandas dates",
        [dt.date(2026, 1, 31), NA],
        pd.Series(pd.to_datetime(["2026-03-14", None])),
        42,
    ),
]
