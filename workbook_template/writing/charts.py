"""Charts that read well in print and aloud: title, axis titles, alternative text."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from openpyxl.chart import BarChart, LineChart, Reference, ScatterChart, Series
from openpyxl.chart.label import DataLabelList
from openpyxl.drawing.line import LineProperties
from openpyxl.drawing.spreadsheet_drawing import SpreadsheetDrawing

from workbook_template.writing import styles

if TYPE_CHECKING:
    from collections.abc import Sequence

    from workbook_template.writing.writer import Writer

CHART_ROWS = 19
"""Rows of the sheet that a chart covers, its gap included."""

_WIDTH, _HEIGHT = 19.0, 8.5  # cm
_COLORS = (styles.ACCENT, "B0703C", "E6CFB0", "8A8A8A")  # told apart in black and white too
_CHARTS = {"line": LineChart, "scatter": ScatterChart}
_DASHES: tuple[Literal["solid", "dash", "dot", "dashDot"], ...] = (
    "solid",
    "dash",
    "dot",
    "dashDot",
)


@dataclass(frozen=True)
class Chart:
    """What a chart shows: one line or bar for each row of the cells named.

    ``categories`` and each of ``values`` is the key of a column, ``table.column``, or a list of
    keys of form cells that stand below each other. ``kind`` is bar, col, line, or scatter: lines
    over categories that are numbers.
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


def add_chart(writer: Writer, row: int, chart: Chart) -> None:
    """Draw a chart whose upper left corner is in a row."""
    drawn: Any = _CHARTS.get(chart.kind, BarChart)()
    if chart.kind not in _CHARTS:
        drawn.type = chart.kind
        drawn.gapWidth = 40
    drawn.title = chart.title
    drawn.width, drawn.height = _WIDTH, chart.height
    categories = _cells(writer, chart.categories, label=True)
    across = categories if chart.kind == "scatter" else None
    for number, (values, name) in enumerate(zip(chart.values, chart.names, strict=True)):
        series = Series(_cells(writer, values), across, title=name)
        drawn.series.append(_styled(series, number, chart))
    if across is None:
        drawn.set_categories(categories)
    else:
        drawn.scatterStyle = "lineMarker"
    if len(chart.values) == 1:
        drawn.legend = None
    else:
        drawn.legend.position = "b"
    if chart.kind == "bar":
        drawn.x_axis.scaling.orientation = "maxMin"
        drawn.x_axis.tickLblSkip = 1
    drawn.x_axis.title, drawn.y_axis.title = chart.category_title, chart.value_title
    _keep_off_the_plot(drawn)
    drawn.x_axis.delete = drawn.y_axis.delete = False
    drawn.y_axis.number_format = chart.number_format
    drawn.alternative_text = (chart.title, chart.description)
    writer.worksheet.add_chart(drawn, f"{chart.column}{row}")


def _keep_off_the_plot(drawn: Any) -> None:
    """Write what the standard leaves open: Excel lays titles over the plot, and rounds corners."""
    for one in (drawn.title, drawn.x_axis.title, drawn.y_axis.title, drawn.legend):
        if one is not None:
            one.overlay = False
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
    color = _COLORS[number % len(_COLORS)]
    if chart.kind in _CHARTS:
        line = LineProperties(solidFill=color, prstDash=_DASHES[number % len(_DASHES)], w=28000)
        series.graphicalProperties.line = line
        series.smooth = False
        series.marker.symbol = "circle"
        series.marker.graphicalProperties.solidFill = color
        series.marker.graphicalProperties.line.solidFill = color
    else:
        series.graphicalProperties.solidFill = color
        series.graphicalProperties.line.solidFill = styles.INK
    if len(chart.values) == 1:
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
