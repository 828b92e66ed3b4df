"""What the losses of one month cost: the month picked, in a sentence, and by cause in the list."""

from __future__ import annotations

from workbook_template.schema.losses import CONTAMINATIONS
from workbook_template.schema.outlook import LOSSES_OF_MONTH, MONTHS_BACK
from workbook_template.sheets.loss_money import COUNTED, total
from workbook_template.sheets.money_text import money_words, whole_words
from workbook_template.writing.blocks import Calculated, Form

IN_MONTH = '{losses.date},">="&{loss_month_from},{losses.date},"<"&{loss_month_until}'
KNOWN = "{loss_month_logged}>0"
"""Nothing is known of a month before the first batch: no loss there is no 0."""

_WORDS = ",".join(f'"{one}"' for one in MONTHS_BACK)
_BACK = f"(MATCH({{loss_month}},{{{_WORDS}}},0)-1)"
_NAMES = CONTAMINATIONS.split("|")
_CONTAMINATED = f"{', '.join(_NAMES[:-1])} or {_NAMES[-1]}"


def _of_contaminations(column: str) -> str:
    return "+".join(f'SUMIFS({{by_cause.{column}}},{{by_cause.cause}},"{one}")' for one in _NAMES)


def _blocks(key: str) -> str:
    return f'{whole_words(f"{{{key}}}")}&" block"&REPT("s",({{{key}}}<>1)*1)'


def words(currency: str) -> str:
    """Write what the losses of the month cost, in all and those by contamination."""
    month = 'YEAR({loss_month_from})&"-"&TEXT(MONTH({loss_month_from}),"00")'
    cost = money_words("N({?loss_month_cost})", currency)
    contaminated = money_words("N({?loss_month_contaminated_cost})", currency)
    lost = (
        f'{_blocks("loss_month_blocks")}&" lost cost "&{cost}'
        f'&", sales not made included. Contaminated ({_CONTAMINATED}): "'
        f'&{_blocks("loss_month_contaminated")}&", "&{contaminated}&"."'
    )
    unpriced = (
        f'{_blocks("loss_month_blocks")}&" lost, contaminated "'
        '&{loss_month_contaminated}&"; the cost needs a complete product line of each strain."'
    )
    known = f"CHOOSE(1+COUNT({{?loss_month_cost}}),{unpriced},{lost})"
    some = f'CHOOSE(1+({{loss_month_blocks}}>0),"no block was lost.",{known})'
    return f'{month}&": "&CHOOSE(1+({KNOWN}),"nothing was logged yet.",{some})'


def form(currency: str) -> Form:
    """Return the month to pick, and the answer."""
    answer = Calculated("loss_month_words", "Answer", "state", words(currency))
    return Form(LOSSES_OF_MONTH.title, (*LOSSES_OF_MONTH.fields, answer))


WORKINGS = Form(
    "The month picked",
    (
        Calculated(
            "loss_month_from", "From", "date", f"DATE(YEAR({{today}}),MONTH({{today}})-{_BACK},1)"
        ),
        Calculated(
            "loss_month_until",
            "To before",
            "date",
            "DATE(YEAR({loss_month_from}),MONTH({loss_month_from})+1,1)",
        ),
        Calculated(
            "loss_month_logged",
            "Batches and losses by its end",
            "count",
            'COUNTIF({batches.made},"<"&{loss_month_until})'
            '+COUNTIF({losses.date},"<"&{loss_month_until})',
            "Without any, nothing is known of the month.",
        ),
        Calculated(
            "loss_month_blocks", "Blocks lost", "count", f"SUMIFS({{losses.blocks}},{IN_MONTH})"
        ),
        Calculated(
            "loss_month_cost",
            "Cost with lost sales",
            "money",
            total("loss_cost", IN_MONTH, COUNTED),
        ),
        Calculated(
            "loss_month_contaminated",
            "Blocks contaminated",
            "count",
            _of_contaminations("month_blocks"),
            f"Lost to {_CONTAMINATED}.",
        ),
        Calculated(
            "loss_month_contaminated_cost",
            "Cost of these",
            "money",
            _of_contaminations("month_cost"),
        ),
    ),
)
