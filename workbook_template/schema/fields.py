"""The parts that the schema and the sheets are written in: inputs, table columns, tables."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from cultivar_fx.catalog.definition import Limits, parse_limits
from cultivar_fx.catalog.dimensions import DIMENSIONS, FOOT, OUNCE, POUND, US, Dimension

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

ASSUMPTION = "Assumption: measure yours."
COMMON_PRACTICE = "Common practice, no source."
ENTERED = "Entered by the farm."

CURRENCY_MARK = "money"
"""Stands for the currency symbol in a unit's label."""

_WORKBOOK_ONLY = (
    Dimension("price of a mass", "money/kg", "money/lb", 1.0, POUND),
    Dimension("amount by area", "money/m²", "money/ft²", 1.0, FOOT**2),
    Dimension("price of energy", "money/kWh", "money/kWh"),
    Dimension("wage", "money/h", "money/h"),
    Dimension("energy of a mass", "kWh/kg", "kWh/lb", 1.0, POUND),
    Dimension("loads of a week", "loads/week", "loads/week"),
    Dimension("hours of a week", "h/week", "h/week"),
    Dimension("yearly amount", "money/year", "money/year"),
    Dimension("work on a mass", "min/kg", "min/lb", 1.0, POUND),
    Dimension("work on a block", "min/block", "min/block"),
    Dimension("work on a load", "min/load", "min/load"),
    Dimension("energy of a day", "kWh/day", "kWh/day"),
    Dimension("blocks of a year", "blocks/year", "blocks/year"),
    Dimension("price of a bag", "money/bag", "money/bag"),
    Dimension("price of a pack", "money/pack", "money/pack"),
    Dimension("cost of a block", "money/block", "money/block"),
    Dimension("mass of a sample", "g", "g"),
    Dimension("rounding", "rounding", "rounding"),
    Dimension("ratio", "ratio", "ratio"),
    Dimension("units of a station", "units", "units"),
    Dimension("mass in a pack", "kg/pack", "oz/pack", OUNCE, pint_unit="kg"),
    Dimension("harvest of a block", "kg/block", "lb/block", POUND, pint_unit="kg"),
    Dimension("choice", "choice", "choice", is_text=True),
    Dimension("state", "state", "state", is_text=True),
)
_CUBIC_FOOT = 28.316846592
"""Liters; exact, by the foot."""
_BY_NAME = (
    Dimension("mixer volume", "L", "ft³", _CUBIC_FOOT, pint_unit="L"),
    Dimension("nitrogen share", "fraction", "fraction"),
    Dimension("mixer density", "kg/L", "lb/ft³", POUND, _CUBIC_FOOT, pint_unit="kg/L"),
)
"""What the trade has in other us units than the functions, or with more decimals."""
WORKBOOK_DIMENSIONS = (
    DIMENSIONS
    | {dimension.metric: dimension for dimension in _WORKBOOK_ONLY}
    | {dimension.name: dimension for dimension in _BY_NAME}
)
_UNLABELED = ("count", "number", "text", "choice", "state", "rounding", "ratio", "units")
_LABELS = {"fraction": "%", "d": "days", "a": "years"} | dict.fromkeys(_UNLABELED, "")


def dimension_of(unit: str) -> Dimension:
    """Find the dimension that a metric unit label, or its own name, stands for."""
    return WORKBOOK_DIMENSIONS[unit]


def unit_label(dimension: Dimension, units: str, currency: str) -> str:
    """Return the unit as it is written beside a cell or in a heading."""
    label = dimension.unit(units)
    if label == "date":
        return "yyyy-mm-dd"
    return _LABELS.get(label, label.replace(CURRENCY_MARK, currency).replace(" only", ""))


_LAST_DATE = 2_958_465.0
"""9999-12-31: no program knows a later one."""
_MOST, _MOST_MONEY = 1e6, 1e12
"""No small farm has as much of anything; a date that lost its hyphens is more, such as 20260914."""


@dataclass(frozen=True)
class Field:
    """One thing that the grower types, described once.

    Attributes
    ----------
    key : str
        Stable name of the cell, or of the column within its table. It never changes from version
        to version.
    label : str
        What the sheet calls it, without the unit.
    unit : str
        Metric unit label or name of a dimension, a key of ``WORKBOOK_DIMENSIONS``.
    limits : str
        What is possible, in the words of the functions' docstrings, in the metric unit.
    lowest : float, optional
        For a share: the smallest that a farm can mean, apart from 0 where the limits allow it.
        Programs make 0.62 % of a typed 0.62, a hundredth of what was meant; where this is more
        than a hundredth of the largest share that a farm has, no such slip goes through.
    help : str
        The prompt beside the cell.
    usual : float, optional
        For a share without a default above 0: what the prompt shows how to type.
    default : float or str, optional
        What a new workbook starts with, in the metric unit.
    us_default : float, optional
        The same for a us workbook where a rounder number is at home, in its unit.
    source : str
        Where the default comes from.
    choices : str
        For a choice: the table column or the list to choose from, as ``table.column`` or as
        words parted by ``|``.
    required : bool
        Whether a row of the table makes no sense without it.
    of_money : bool
        Whether it tells about money although its unit does not, such as a share of a price.
    of_customers : bool
        Whether it may name a customer.
    width : float
        Of its column, in characters, where its kind does not say.
    """

    key: str
    label: str
    unit: str
    limits: str = ""
    help: str = ""
    lowest: float | None = None
    usual: float | None = None
    default: float | str | None = None
    us_default: float | None = None
    source: str = ENTERED
    choices: str = ""
    required: bool = True
    of_money: bool = False
    of_customers: bool = False
    width: float = 0.0

    @property
    def dimension(self) -> Dimension:
        """The kind of quantity."""
        return dimension_of(self.unit)

    @property
    def is_money(self) -> bool:
        """Return whether it is an amount of money, or tells about one."""
        return self.of_money or CURRENCY_MARK in self.unit

    @property
    def bounds(self) -> Limits:
        """The limits, read."""
        return parse_limits(self.limits) if self.limits else Limits()

    @property
    def ranges(self) -> tuple[Limits, ...]:
        """Return the numbers that make sense, one range or several, in the metric unit."""
        bounds = self.bounds
        if bounds.high is None:
            bounds = bounds._replace(high=self.most)
        if self.lowest is None:
            return (bounds,)
        found = [bounds._replace(low=self.lowest, above=False)]
        if bounds.hold(0):
            found.insert(0, Limits(0, 0))
        if bounds.hold(-self.lowest):
            found.insert(0, bounds._replace(high=-self.lowest, below=False))
        return tuple(found)

    @property
    def most(self) -> float:
        """Return what no number goes beyond that has no upper limit, in the metric unit."""
        if self.dimension.is_date:
            return _LAST_DATE
        return _MOST_MONEY if CURRENCY_MARK in self.unit else _MOST

    @property
    def example(self) -> float:
        """Return a share to show how one is typed."""
        share = self.usual if self.usual is not None else self.default
        if not isinstance(share, float) or not share:
            raise ValueError(f"{self.key}: a share needs a default above 0, or what is usual")
        return share

    @property
    def is_number(self) -> bool:
        """Return whether the cell holds a number or a date."""
        return not self.dimension.is_text

    def start_value(self, units: str) -> float | str | None:
        """Return the default in the unit of a system."""
        if units == US and self.us_default is not None:
            return self.us_default
        return self.in_units(self.default, units)

    def in_units(self, value: float | str | None, units: str) -> float | str | None:
        """Bring a value from the metric unit to that of a system."""
        if units == US and isinstance(value, (int, float)) and self.dimension.differs:
            return self.dimension.from_metric(value)
        return value


class Start(NamedTuple):
    """What a cell of a table starts with in a new workbook, in the metric unit.

    ``us`` is the same in the us unit where a rounder number is at home, ``source`` where it is
    from.
    """

    value: float | str
    us: float | None = None
    source: str = ENTERED


@dataclass(frozen=True)
class Computed:
    """A column that each row of a table computes.

    ``formula`` is a template: ``{key}`` is another column of the row, ``{table.key}`` a whole
    column elsewhere, ``{$key}`` an input cell of that key, ``CFX.NAME(...)`` a worksheet function.
    ``is_presence`` marks a column that tells no more of a private figure than that it is there.
    ``finds`` names the choice of the row whose place in its list the column computes. ``width`` is
    in characters, where the kind does not say. ``is_working`` marks an intermediate step, which
    nobody reads to decide: it stands out of sight (``writing.workings``).
    """

    key: str
    label: str
    unit: str
    formula: str
    help: str = ""
    is_presence: bool = False
    finds: str = ""
    width: float = 0.0
    is_working: bool = False

    @property
    def dimension(self) -> Dimension:
        """The kind of quantity."""
        return dimension_of(self.unit)


@dataclass(frozen=True)
class Counter:
    """A column of 1, 2, 3 … that numbers the rows of a grid, as a rule for its formulas only."""

    key: str
    label: str = "Row"
    unit: str = "count"
    is_working: bool = True

    @property
    def dimension(self) -> Dimension:
        """The kind of quantity."""
        return dimension_of(self.unit)


Column = Field | Computed | Counter


def is_working(column: Column) -> bool:
    """Return whether a column is an intermediate step, which stands out of sight."""
    return not isinstance(column, Field) and column.is_working


TO_FIX = "to_fix"
"""The key of the column in which each row of a table says what is wrong with it."""


class Rule(NamedTuple):
    """One thing that a row of a table must not be, apart from what its single inputs accept.

    Attributes
    ----------
    key : str
        The column of the cell that it is about.
    words : str
        What is wrong, to stand behind the column's label, without full stop, colon or question
        mark.
    condition : str
        Template that is true, or 1, where it is so; an error counts as not so. Where something
        else is wrong first, such as text for a date, it has to be false.
    """

    key: str
    words: str
    condition: str


@dataclass(frozen=True)
class Table:
    """A table that grows: one row a thing, inputs first, then what is computed from them.

    ``first`` names the column that a row cannot be without; a row where it is blank waits. Last of
    what a person reads is what each row says is wrong with it (``rules.to_fix``): the ``faults``,
    what its inputs do not accept, and the ``warnings``, which may well be right and are to be
    checked. Behind that come the workings. ``starts`` are the rows of a new workbook, by column.
    """

    key: str
    title: str
    columns: Sequence[Field | Computed]
    rows: int
    unique: bool = True
    faults: Sequence[Rule] = ()
    warnings: Sequence[Rule] = ()
    starts: Sequence[Mapping[str, Start]] = ()

    def __post_init__(self) -> None:
        """Add the column of what is wrong, and put the workings at the end."""
        columns = sorted((*self.columns, _TO_FIX), key=is_working)
        object.__setattr__(self, "columns", tuple(columns))

    @property
    def first(self) -> Field:
        """The column that makes a row."""
        field = self.columns[0]
        if not isinstance(field, Field):
            raise TypeError(f"table {self.key} starts with a computed column")
        return field

    @property
    def fields(self) -> list[Field]:
        """The columns that are typed."""
        return [column for column in self.columns if isinstance(column, Field)]

    def column(self, key: str) -> Field | Computed:
        """Find a column by its key."""
        return next(column for column in self.columns if column.key == key)

    def field(self, key: str) -> Field:
        """Return an input column by its key."""
        return next(column for column in self.fields if column.key == key)

    def start_rows(self, units: str) -> list[dict[str, float | str | None]]:
        """Return the rows that a new workbook starts with, in the units of a system."""
        return [
            {
                key: one.us
                if units == US and one.us is not None
                else self.field(key).in_units(one.value, units)
                for key, one in row.items()
            }
            for row in self.starts
        ]


_WIDTHS = {"date": 11.5, "choice": 18.0, "state": 18.0, "text": 26.0}
_NARROWEST = 9.0


def width_of(column: Column) -> float:
    """Return how wide a column is: as it says itself, or as its kind and its longest word ask."""
    if not isinstance(column, Counter) and column.width:
        return column.width
    words = column.label.split()
    usual = _WIDTHS.get(column.dimension.name, _NARROWEST)
    if isinstance(column, Field) and column.choices and "." not in column.choices:
        words += column.choices.split("|")
        usual = _NARROWEST
    return max(usual, max(map(len, words)) + 1.0)


@dataclass(frozen=True)
class Section:
    """A group of inputs under one heading."""

    title: str
    fields: Sequence[Field]


_TO_FIX = Computed(
    TO_FIX,
    "To fix",
    "state",
    "",  # made of the rules of the table, in the units of the workbook
    "What is wrong in the row, cell by cell; with a question mark: check it.",
    width=40.0,
)


def choices_found(*choices: Field) -> Computed:
    """Make the column that is 1 where choices of a row are on their lists, and 0 elsewhere."""
    formula = "*".join(
        f"ISNUMBER(MATCH({{{one.key}}},{{{one.choices}}},0))"
        if "." in one.choices
        else "(" + "+".join(f'({{{one.key}}}="{word}")' for word in one.choices.split("|")) + ")"
        for one in choices
    )
    words = "0 where a choice is not on its list."
    return Computed(
        "found", "Choices on their lists", "count", f"{formula}*1", words, is_working=True
    )


def heading(column: Column, units: str, currency: str) -> str:
    """Return a column's heading with its unit, free of what table references cannot hold."""
    label = unit_label(column.dimension, units, currency)
    is_said = label in column.label.lower().split()  # as in "Days in fruiting"
    return f"{column.label}, {label}" if label and not is_said else column.label
