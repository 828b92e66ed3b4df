"""Checks: everything that can be checked, its tolerance, and one word for all of it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

from workbook_template.fields import Field, Table, dimension_of
from workbook_template.page import Calculated, Custom, Form, Grid, Sheet, TableBlock
from workbook_template.schema import CHECKS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from workbook_template.writer import Writer

_OUTSIDE = re.compile(r"\{!([\w.]+)\}")
_STATE_COLUMN = 5
_TOGETHER = (
    Calculated(
        "faults",
        "Checks that need a look",
        "count",
        'ROWS({checks.state})-COUNTIF({checks.state},"OK")',
        "",
        is_key=True,
    ),
    Calculated(
        "master_check",
        "State of the workbook",
        "state",
        'CHOOSE(1+({faults}>0),"OK",{faults}&" to look at, see the sheet Checks")',
        "Shown on every sheet.",
        is_key=True,
    ),
)
_NONE, _ROUNDING = "0", "{rounding}"


class Check(NamedTuple):
    """One check: faults found against what is allowed, both as templates.

    ``{!key}`` counts what is typed into an input, or a column, outside its limits.
    """

    sheet: str
    words: str
    found: str
    allowed: str = _NONE


_BALANCES = (
    Check(
        "Mix card",
        "Ingredients weighed and water make the mass of the batch",
        "ABS(N({weigh_mass_total})*(1-N({mix_moisture}))-N({mix_mass})*(1-N({mix_target})))",
        _ROUNDING,
    ),
    Check(
        "Mix card",
        "Shares of the recipe add up to 100 %",
        "ABS(N({weigh_share_total})-1)*COUNT({mix_bags})",
        _ROUNDING,
    ),
    Check(
        "Mix card",
        "Mix is drier than the target before water",
        "(N({mix_moisture})>N({mix_target}))*1",
    ),
    Check(
        "Costing",
        "Price from cost and margin is the price again",
        "ABS(N({cost_sold})+N({margin_amount})-N({net_price}))*COUNT({margin_amount})",
        _ROUNDING,
    ),
    Check(
        "Recipes",
        "Recipes whose shares do not add up to 100 %",
        'COUNTIF({recipes.shares},"<"&(1-{rounding}))+COUNTIF({recipes.shares},">"&(1+{rounding}))',
    ),
    Check(
        "Recipes",
        "Lines with a recipe or an ingredient that is not on its list",
        "COUNTIF({recipe_lines.found},0)",
    ),
    Check("Ingredients", "Names that stand twice", 'COUNTIF({ingredients.times_named},">1")'),
    Check("Recipes", "Names that stand twice", 'COUNTIF({recipes.times_named},">1")'),
    Check("Strains", "Names that stand twice", 'COUNTIF({strains.times_named},">1")'),
)


def form_checks(sheet: Sheet) -> list[Check]:
    """Make a check of the inputs of each form: within limits, and numbers where they belong."""
    return [
        Check(
            sheet.name,
            f"{block.title}: inputs outside their limits, or text for a number",
            "+".join(f"{{!{field.key}}}" for field in numbers),
        )
        for block in sheet.blocks
        if isinstance(block, Form)
        and (numbers := [row for row in block.rows if isinstance(row, Field) and row.is_number])
    ]


def table_checks(sheet_name: str, table: Table | Grid) -> list[Check]:
    """Make the checks of a table: limits and text in number columns, rows left unfinished."""
    title = table.title
    numbers = [one for one in table.columns if isinstance(one, Field) and one.is_number]
    checks = []
    if numbers:
        outside = "+".join(f"{{!{table.key}.{one.key}}}" for one in numbers)
        checks.append(Check(sheet_name, f"{title}: figures outside their limits, or text", outside))
    if isinstance(table, Table):
        needed = [one for one in table.fields if one.required]
        first = f"{{{table.key}.{needed[0].key}}}"
        blanks = "+".join(
            f'COUNTIFS({first},"?*",{{{table.key}.{one.key}}},"")' for one in needed[1:]
        )
        checks.append(Check(sheet_name, f"{title}: begun rows with a blank that is needed", blanks))
    return checks


def all_checks(sheets: Sequence[Sheet]) -> list[Check]:
    """Give every check of a workbook with these sheets, in their order."""
    checks: list[Check] = []
    for sheet in sheets:
        checks += form_checks(sheet)
        for block in sheet.blocks:
            if isinstance(block, Grid):
                checks += table_checks(sheet.name, block)
            elif isinstance(block, TableBlock):
                checks += table_checks(sheet.name, block.table)
        checks += [check for check in _BALANCES if check.sheet == sheet.name]
    return checks


def sheet(checks: Sequence[Check]) -> Sheet:
    """Lay the sheet out."""

    def place(writer: Writer, row: int) -> None:
        writer.place_column("checks", "state", row + 2, row + 1 + len(checks), _STATE_COLUMN)

    def write(writer: Writer, row: int) -> None:
        writer.section(row, "All checks")
        for column, words in enumerate(("Check", "Sheet", "Found", "Allowed", "State"), 1):
            writer.text(row + 1, column, words, "farm heading")
        for offset, check in enumerate(checks, 2):
            _write_check(writer, row + offset, check)
        writer.alarm(f"E{row + 2}:E{row + 1 + len(checks)}", f'E{row + 2}<>"OK"')

    return Sheet(
        name="Checks",
        purpose="What does not add up, and where. One word for all of it stands on every sheet.",
        blocks=[
            Form("All together", (*_TOGETHER, *CHECKS.fields)),
            Custom(len(checks) + 2, write, place),
        ],
        widths=(66, 16, 12, 12, 16),
    )


def _write_check(writer: Writer, row: int, check: Check) -> None:
    writer.text(row, 1, check.words, "farm text")
    writer.link(row, 2, check.sheet)
    number = dimension_of("number")
    writer.formula(
        row, 3, _OUTSIDE.sub(lambda at: writer.outside(at[1]), check.found), number, waits=False
    )
    writer.formula(row, 4, check.allowed, number, waits=False)
    state = writer.worksheet.cell(row, _STATE_COLUMN, f'=IF(C{row}<=D{row},"OK","look here")')
    state.style = "farm result text"
