"""Start: what to do this week, what is unusual, the key figures; and the way into the workbook."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.fields import dimension_of, unit_label
from workbook_template.sheets import due, guide, unusual
from workbook_template.sheets.first_steps import FirstSteps, StepsDone
from workbook_template.sheets.start_charts import AHEAD, Charts
from workbook_template.sheets.start_figures import Figures
from workbook_template.writing.blocks import Lines, NewPage, Sheet

if TYPE_CHECKING:
    from collections.abc import Sequence

    from workbook_template.writing.blocks import Settings

START = "Start"
INVENTED = (
    "Everything in this copy is invented: the farm, its prices and its figures are a made-up "
    "example, and no real business is meant."
)


def sheet(settings: Settings, others: Sequence[Sheet]) -> Sheet:
    """Lay the sheet out; the others are those that it leads to."""
    notice = [Lines("Invented example", (INVENTED,), "farm caution")] if settings.invented else []
    mass = unit_label(dimension_of("kg"), settings.units, settings.currency)
    printed = [
        *notice,
        FirstSteps(),
        due.due_list(mass),
        unusual.Unusual(),
        Figures(),
        Charts(),
        guide.LEGEND,
        NewPage(),
        *guide.guide(others),
    ]
    return Sheet(
        name=START,
        purpose="What to do this week, what is out of the ordinary, and where the farm stands.",
        blocks=[*printed, guide.VERSION],
        printed_blocks=len(printed),
        widths=(36, 13, 12, 28, 26, 20),
        workings=(StepsDone(), *unusual.workings(mass), AHEAD),
    )
