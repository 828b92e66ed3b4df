"""Charts that read well in print and aloud: title, axis titles, alternative text."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from openpyxl.chart import BarChart, LineChart, Reference, ScatterChart, Series, StockChart
from openpyxl.chart.axis import ChartLines
from openpyxl.chart.label import DataLabelList
from openpyxl.chart.shapes import GraphicalProperties
from openpyxl.drawing.line import LineProperties
from openpyxl.drawing.spreadsheet_drawing import SpreadsheetDrawing
from openpyxl.drawing.text import CharacterProperties

from workbook_template.writing import styles

if TYPE_CHECKING:
    from collections.abc import Sequence

    from workbook_template.writing.writer import Writer

CHART_ROWS = 19
"""Rows of the sheet that a chart covers, its gap included."""

_WIDTH, _HEIGHT = 19.0, 8.5  # cm
_COLORS = (styles.ACCENT, "B0703C", "E6CFB0", "8A8A8A")  # told apart in black and white too
_CHARTS = {"line": LineChart, "scatter": ScatterChart, "range": StockChart}
_TITLE = CharacterProperties(sz=1200, b=True, solidFill=styles.ACCENT)
_SMALL = CharacterProperties(sz=900, b=False, solidFill=styles.QUIET)
_Dash = Literal["solid", "dash", "dot", "dashDot"]
_DASHES: tuple[_Dash, ...] = ("solid", "dash", "dot", "dashDot")


@dataclass(frozen=True)
class Chart:
    """What a chart shows: one line or bar for each row of the cells named.

    ``categories`` and each of ``values`` is the key of a column, ``table.column``, or a list of
    keys of form cells that stand below each other. ``kind`` is bar, col, line, scatter (lines over
    categories that are numbers) or range: for each category a line from the lowest to the highest
    value, with a mark between them. A range takes the three values lowest, mark and highest, and
    three names that continue a sentence, such as ``["low", "your figure", "high"]``.

    ``limits`` are what some of the values must not go over or stay under, in their order: each is
    drawn dashed, in the color of its value, and has a name behind those of the values. ``bounds``
    are the low and the high end of the first value: thin, dotted, in its color, named last.
    """

    title: str
    categories: str | Sequence[str]
    values: Sequence[str | Sequence[str]]
    names: Sequence[str]
    category_title: str
    value_title: str
    description: str
    kind: str = "bar"
    number_format: str = "0.00"
    column: str = "A"
    height: float = _HEIGHT
    """In cm; as it is for up to a dozen bars in as many rows as ``CHART_ROWS``."""
    width: float = _WIDTH
    """In cm."""
    limits: Sequence[str | Sequence[str]] = ()
    bounds: Sequence[str] = ()
    label_every: int = 1
    """How many categories there are to each one that is labeled."""


def add_chart(writer: Writer, row: int, chart: Chart) -> None:
    """Draw a chart whose upper left corner is in a row."""
    drawn: Any = _CHARTS.get(chart.kind, BarChart)()
    drawn.title = chart.title
    drawn.width, drawn.height = chart.width, chart.height
    categories = _cells(writer, chart.categories, label=True)
    across = categories if chart.kind == "scatter" else None
    series = [
        Series(_cells(writer, values), across, title=name)
        for values, name in zip(
            (*chart.values, *chart.limits, *chart.bounds), chart.names, strict=True
        )
    ]
    if chart.kind == "range":
        _draw_range(drawn, series)
    else:
        drawn.series = [_styled(one, number, chart) for number, one in enumerate(series)]
    if across is None:
        drawn.set_categories(categories)
    else:
        drawn.scatterStyle = "lineMarker"
    if len(chart.names) == 1 or chart.kind == "range":
        drawn.legend = None
    else:
        drawn.legend.position = "b"
    if chart.kind not in _CHARTS:
        drawn.type = chart.kind
        drawn.gapWidth = 40
    if chart.kind == "bar":
        drawn.x_axis.scaling.orientation = "maxMin"
    if chart.kind == "bar" or chart.label_every > 1:
        drawn.x_axis.tickLblSkip = chart.label_every
    drawn.x_axis.title, drawn.y_axis.title = _category_title(chart), chart.value_title
    drawn.y_axis.majorGridlines.spPr = GraphicalProperties(ln=_line(styles.GRID, width=6350))
    _set_titles(drawn)
    drawn.x_axis.delete = drawn.y_axis.delete = False
    drawn.y_axis.number_format = chart.number_format
    drawn.alternative_text = (chart.title, chart.description)
    writer.worksheet.add_chart(drawn, f"{chart.column}{row}")


def _category_title(chart: Chart) -> str:
    """Return what the categories are, in a range also what its line and its mark stand for."""
    if chart.kind != "range":
        return chart.category_title
    low, mark, high = chart.names
    return f"{chart.category_title}. Line: {low} to {high}; mark: {mark}"


def _draw_range(drawn: Any, series: Sequence[Any]) -> None:
    """Let three series be a line from the lowest to the highest, with a mark between.

    Programs know such lines from charts of prices, whose series are highest, lowest and last.
    """
    low, mark, high = series
    drawn.series = [high, low, mark]
    for one in drawn.series:
        one.graphicalProperties.line.noFill = True
        one.smooth = False
        one.marker.symbol = "none"
    mark.marker.symbol, mark.marker.size = "diamond", 9
    ink = GraphicalProperties(solidFill=styles.INK, ln=_line(styles.INK))
    mark.marker.graphicalProperties = ink
    drawn.hiLowLines = ChartLines(spPr=GraphicalProperties(ln=_line(styles.ACCENT, width=63500)))


def _line(color: str, dash: _Dash = "solid", width: int = 9525) -> LineProperties:
    """Return how a line is drawn; its width is in English Metric Units, 12,700 a point."""
    return LineProperties(solidFill=color, prstDash=dash, w=width)


def _set_titles(drawn: Any) -> None:
    """Write what the standard leaves open: how large titles are, and that none covers the plot.

    Excel lays titles over the plot, and rounds corners.
    """
    for one, looks in (
        (drawn.title, _TITLE),
        (drawn.x_axis.title, _SMALL),
        (drawn.y_axis.title, _SMALL),
    ):
        one.overlay = False
        for run in one.tx.rich.p[0].r:
            run.rPr = looks
    if drawn.legend is not None:
        drawn.legend.overlay = False
    drawn.roundedCorners = False


def _cells(writer: Writer, keys: str | Sequence[str], label: bool = False) -> Reference:
    """Return the cells of a column, or of form rows below each other or the labels beside them."""
    if isinstance(keys, str):
        table, _, column = keys.partition(".")
        place = writer.book.columns[table, column]
        sheet, first, last, at = place.sheet, place.first, place.last, place.column
    else:
        cells = [writer.book.cells[key] for key in keys]
        sheet, first, last = cells[0].sheet, cells[0].row, cells[-1].row
        at = cells[0].column - label
    worksheet = writer.book.workbook[sheet]
    return Reference(worksheet, min_col=at, min_row=first, max_row=last)


def _styled(series: Any, number: int, chart: Chart) -> Any:
    is_bound = number >= len(chart.values) + len(chart.limits)
    place = 0 if is_bound else number % len(chart.values)
    color = _COLORS[place % len(_COLORS)]
    if chart.kind in _CHARTS:
        dash: _Dash = "solid" if chart.limits else _DASHES[place % len(_DASHES)]
        is_limit = number >= len(chart.values)
        dash = "dot" if is_bound else "dash" if is_limit else dash
        series.graphicalProperties.line = _line(color, dash, 15000 if is_bound else 28000)
        series.smooth = False
        series.marker.symbol = "none" if is_limit else "circle"
        series.marker.graphicalProperties.solidFill = color
        series.marker.graphicalProperties.line.solidFill = color
    else:
        series.graphicalProperties.solidFill = color
        series.graphicalProperties.line.solidFill = styles.INK
    if len(chart.names) == 1:
        series.dLbls = DataLabelList(
            showVal=True,
            showSerName=False,
            showCatName=False,
            showLegendKey=False,
            showPercent=False,
        )
        series.dLbls.numFmt = chart.number_format
    return series


_drawing: Any = SpreadsheetDrawing
_plain_frame = _drawing._chart_frame


def _frame_with_alternative_text(drawing: Any, number: int) -> Any:
    """Return a chart's frame its alternative text, for which openpyxl has no place of its own."""
    frame = _plain_frame(drawing, number)
    title, description = getattr(drawing.charts[number - 1], "alternative_text", ("", ""))
    frame.nvGraphicFramePr.cNvPr.title = title
    frame.nvGraphicFramePr.cNvPr.descr = description
    return frame


_drawing._chart_frame = _frame_with_alternative_text
