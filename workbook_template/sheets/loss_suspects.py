"""Which spawn lot, steam run or recipe lost more blocks than luck explains: the worst, in words."""

from __future__ import annotations

from workbook_template.schema.fields import Computed, Counter
from workbook_template.sheets.costing_parts import number_of
from workbook_template.sheets.loss_groups import JUDGED, KINDS, SUSPECTS, each
from workbook_template.sheets.money_text import whole_words
from workbook_template.writing.blocks import Calculated, Form, Grid

LISTED = 5
"""How many groups the sheet lists."""


def _listed(key: str, label: str, unit: str) -> Computed:
    return Computed(key, label, unit, f"INDEX({{suspects.{key}}},{{at}})*1")


_LABELS = ",".join(f'"{one.label}"' for one in KINDS)

SUSPICIOUS = Grid(
    "suspicious",
    "Most suspicious: against batches of the same strains on the rest of the farm",
    (
        Computed(
            "group",
            "Group",
            "state",
            f'CHOOSE({{kind}},{_LABELS})&" "&{each([one.name for one in KINDS])}',
        ),
        _listed("batches", "Batches", "count"),
        _listed("group_blocks", "Blocks", "count"),
        _listed("group_lost", "Lost", "count"),
        Computed("expected", "Expected", "number", "ROUND(INDEX({suspects.expected},{at}),1)"),
        Computed("excess", "More than expected", "number", "{group_lost}-{expected}"),
        Computed(
            "cost",
            "Cost of the excess",
            "money",
            "MAX(0,{excess})*{loss_cost_each}",
        ),
        _listed("chance", "Luck alone: this group", "fraction"),
        Computed("luck", "Luck alone: any group", "fraction", "1-(1-{chance})^{suspect_count}"),
        Computed(
            "at",
            "Line",
            "count",
            'CHOOSE(1+({line}<=COUNT({suspects.rank})),"",'
            f"{number_of('{line}', 'suspects.rank', 'suspects.line')})",
            is_working=True,
        ),
        Computed("kind", "Kind", "count", "INDEX({suspects.kind},{at})*1", is_working=True),
        Computed(
            "row", "Row of the batch", "count", "INDEX({suspects.row},{at})*1", is_working=True
        ),
        Counter("line"),
    ),
    rows=LISTED,
)

_FIGURES = Form(
    "Groups of batches",
    (
        Calculated(
            "judged_count",
            "Batches looked at",
            "count",
            "MIN(ROWS({judged.line}),COUNT({batches.judged_turn}))",
            "The last ones old enough to judge.",
        ),
        Calculated("suspect_chi", "Chi-square of all", "number", "SUM({judged.chi_part})"),
        Calculated("suspect_freedom", "Degrees of freedom", "number", "SUM({judged.free_part})"),
        Calculated(
            "suspect_count",
            "Groups judged",
            "count",
            "COUNT({suspects.turn})",
            "So many comparisons are made at once.",
        ),
        Calculated(
            "suspect_share",
            "Luck alone: any group",
            "fraction",
            'CHOOSE(1+({suspect_count}>0)*({judged_count}>{enough_for_spread}),"",'
            "N(INDEX({suspicious.luck},1)))",
            "Of farms where nothing is wrong, those with a group as bad as the worst here.",
        ),
    ),
)

_WHAT = [one.label.lower() for one in KINDS]
_NONE = f"{', '.join(_WHAT[:-1])} or {_WHAT[-1]}"
_MANY = f"{'s, '.join(_WHAT[:-1])}s and {_WHAT[-1]}s"
_OF_FARMS = "(1/MAX({suspect_share},{suspect_limit}^3))"
"""Beyond that, how seldom is no longer said: no farm has records that would show it."""


def _first(column: str) -> str:
    return f"INDEX({{suspicious.{column}}},1)"


_FARMS = whole_words(f"ROUND({_OF_FARMS},0-INT(LOG10({_OF_FARMS})))")
SENTENCE = (
    f'CHOOSE(1+COUNT({{suspect_share}}),"Too few batches to judge {_MANY}.",'
    f"CHOOSE(1+({{suspect_share}}<{{suspect_limit}}),"
    f'"No {_NONE} stands out by more than luck explains.",'
    f'{_first("group")}&" lost "&{_first("group_lost")}&" of "&{_first("group_blocks")}'
    f'&" blocks where "&ROUND({_first("expected")},0)&" were expected; luck alone gives that "'
    '&CHOOSE(1+({suspect_share}<{suspect_limit}^3),"on","on fewer than")&" 1 of "'
    f'&{_FARMS}&" farms."))'
)


WORKINGS = (_FIGURES, JUDGED, SUSPECTS)
