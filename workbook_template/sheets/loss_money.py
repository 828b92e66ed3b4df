"""What the losses cost: spent on the blocks, and not earned with them.

A good block earns its contribution (the Costing sheet), which has to cover the fixed cost share of
the block first. What was spent on a block holds that share too, so that the sum of both would
count it twice; it is therefore taken off once:

    cost of a loss = spent on the block + contribution not earned - fixed cost share

That is what the block would have been sold for, less picking, packing, delivery and what else
comes after spawning. The contribution is that of the strain's product lines, weighted by the good
blocks that a usual week takes for each; where none is sold in a usual week, each counts the same.
"""

from __future__ import annotations

from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.figures import used_in
from workbook_template.schema.materials import STRAINS
from workbook_template.schema.products import PRODUCTS
from workbook_template.writing.blocks import Calculated, Form, Grid

_AT = "{line_money.at},{at}"
_LINES = Grid(
    "line_money",
    "Product lines: contribution of a good block",
    (
        Computed(
            "at",
            "Row of the strain",
            "count",
            "INDEX({plan_products.strain_row},{line})*1",
        ),
        Computed(
            "blocks",
            "Good blocks, usual week",
            "number",
            "N(INDEX({plan_products.packs},{line}))*N(INDEX({plan_products.blocks},{line}))+0*{at}",
        ),
        Computed("of_block", "Contribution", "money/block", "INDEX({packs.of_block},{line})*1"),
        Computed(
            "of_fixed",
            "Fixed cost share",
            "money/block",
            "INDEX({packs.standing},{line})*INDEX({packs.sold},{line})"
            f"*(1-{used_in('loss_rate', '{at}')})",
        ),
        Computed(
            "weight",
            "Weight",
            "number",
            f"CHOOSE(1+(SUMIFS({{line_money.blocks}},{_AT})>0),1,{{blocks}})+0*{{of_block}}",
        ),
        Computed("contribution", "Contribution, weighted", "money", "{weight}*{of_block}"),
        Computed("fixed", "Fixed cost share, weighted", "money", "{weight}*{of_fixed}"),
        Counter("line"),
    ),
    rows=PRODUCTS.rows,
)


def _of_strain(column: str) -> str:
    of_strain = "{line_money.at},{line}"
    weight = f"SUMIFS({{line_money.weight}},{of_strain})"
    return f'CHOOSE(1+({weight}>0),"",SUMIFS({{line_money.{column}}},{of_strain})/{weight})'


_STRAINS = Grid(
    "strain_money",
    "Strains: contribution of a good block",
    (
        Computed("contribution", "Contribution", "money/block", _of_strain("contribution")),
        Computed("fixed", "Fixed cost share", "money/block", _of_strain("fixed")),
        Counter("line"),
    ),
    rows=STRAINS.rows,
)


def total(column: str, *criteria: str) -> str:
    """Add up a column of money of the losses that meet criteria; blank while one is unknown."""
    of_all = ",".join(criteria)
    cells = f"{{losses.{column}}}"
    known = f'COUNTIFS({of_all},{cells},">=0")+COUNTIFS({of_all},{cells},"<0")'
    return f'CHOOSE(1+({known}=COUNTIFS({of_all})),"",SUMIFS({cells},{of_all}))'


IN_PERIOD = '{losses.date},">="&{start},{losses.date},"<"&{until}'
COUNTED = '{losses.blocks},">0"'

PERIODS = Grid(
    "loss_periods",
    "What the losses cost, by the day thrown out",
    (
        Computed(
            "period",
            "Period",
            "state",
            'CHOOSE({line},"This month","Last month","The last twelve months")',
        ),
        Computed("blocks", "Blocks lost", "count", f"SUMIFS({{losses.blocks}},{IN_PERIOD})"),
        *(
            Computed(key, label, "money", total(key, IN_PERIOD, COUNTED))
            for key, label in (
                ("spent", "Spent on them"),
                ("contribution", "Contribution not earned"),
                ("fixed", "Less fixed cost share"),
                ("loss_cost", "Cost with lost sales"),
            )
        ),
        Computed(
            "start",
            "From",
            "date",
            "DATE(YEAR({today}),MONTH({today})-CHOOSE({line},0,1,12-1),1)",
            is_working=True,
        ),
        Computed(
            "until",
            "To before",
            "date",
            "DATE(YEAR({today}),MONTH({today})+CHOOSE({line},1,0,1),1)",
            is_working=True,
        ),
        Counter("line"),
    ),
    rows=3,
)

_YEAR = Form(
    "The last twelve months",
    (
        Calculated(
            "loss_from", "From", "date", "INDEX({loss_periods.start},ROWS({loss_periods.line}))*1"
        ),
        Calculated(
            "loss_until",
            "To before",
            "date",
            "INDEX({loss_periods.until},ROWS({loss_periods.line}))*1",
        ),
        Calculated(
            "loss_blocks",
            "Blocks lost",
            "count",
            "INDEX({loss_periods.blocks},ROWS({loss_periods.line}))*1",
        ),
        Calculated(
            "loss_made",
            "Blocks made",
            "count",
            'SUMIFS({batches.bags},{batches.made},">="&{loss_from},{batches.made},"<"&{loss_until})',
        ),
        Calculated(
            "loss_cost_each",
            "Cost of a block lost",
            "money/block",
            'CHOOSE(1+({loss_blocks}>0),"",'
            "INDEX({loss_periods.loss_cost},ROWS({loss_periods.line}))/{loss_blocks})",
            "The mean of all lost in these months.",
        ),
    ),
)

IN_YEAR = '{losses.date},">="&{loss_from},{losses.date},"<"&{loss_until}'
WORKINGS = (_YEAR, _LINES, _STRAINS)
