"""Charts that read well in print and aloud: title, axis titles, alternative text."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from openpyxl.chart import BarChart, Reference
from openpyxl.chart.label import DataLabelList
from openpyxl.drawing.spreadsheet_drawing import SpreadsheetDrawing

from workbook_template import styles
from workbook_template.page import LABEL, VALUE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from workbook_template.writer import Writer

_WIDTH, _HEIGHT = 19.0, 8.5  # cm


def bar_chart(
    writer: Writer, row: int, keys: Sequence[str], title: str, value_title: str, description: str
) -> None:
    """Draw bars for the cells of neighboring form rows."""
    places = [writer.book.cells[key] for key in keys]
    rows = (places[0].row, places[-1].row)
    chart = BarChart()
    chart.type = "bar"
    chart.title = title
    chart.legend = None
    chart.gapWidth = 40
    chart.width, chart.height = _WIDTH, _HEIGHT
    chart.add_data(Reference(writer.worksheet, min_col=VALUE, min_row=rows[0], max_row=rows[1]))
    chart.set_categories(
        Reference(writer.worksheet, min_col=LABEL, min_row=rows[0], max_row=rows[1])
    )
    chart.x_axis.scaling.orientation = "maxMin"
    chart.x_axis.title, chart.y_axis.title = "Step", value_title
    chart.x_axis.delete = chart.y_axis.delete = False
    series = chart.series[0]
    series.graphicalProperties.solidFill = styles.ACCENT
    series.graphicalProperties.line.solidFill = styles.ACCENT
    series.dLbls = DataLabelList(
        showVal=True, showSerName=False, showCatName=False, showLegendKey=False, showPercent=False
    )
    series.dLbls.numFmt = "0.00"
    _describe(chart, title, description)
    writer.worksheet.add_chart(chart, f"A{row}")


def _describe(chart: Any, title: str, description: str) -> None:
    chart.alternative_text = (title, description)


_plain_frame = SpreadsheetDrawing._chart_frame


def _frame_with_alternative_text(drawing: SpreadsheetDrawing, number: int) -> Any:
    """Give a chart's frame its alternative text, for which openpyxl has no place of its own."""
    frame = _plain_frame(drawing, number)
    title, description = getattr(drawing.charts[number - 1], "alternative_text", ("", ""))
    frame.nvGraphicFramePr.cNvPr.title = title
    frame.nvGraphicFramePr.cNvPr.descr = description
    return frame


SpreadsheetDrawing._chart_frame = _frame_with_alternative_text  # type: ignore[method-assign]
