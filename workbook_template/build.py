"""Builds the workbook: every sheet, then every stored value, then one whole file."""

from __future__ import annotations

from dataclasses import replace as altered
from functools import cache
from math import ceil
from typing import TYPE_CHECKING, Any

from openpyxl import Workbook
from openpyxl.utils import get_column_letter
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.hyperlink import Hyperlink
from openpyxl.worksheet.properties import PageSetupProperties

import cultivar_fx
from cultivar_fx.catalog.dimensions import SYSTEMS
from cultivar_fx.catalog.registry import definition
from cultivar_fx.hosts.excel_names import lambda_names
from workbook_template.errors import shown
from workbook_template.files import whole_file
from workbook_template.metadata import LONGEST_CURRENCY, is_currency, mark, remember
from workbook_template.progress import long_work, tell
from workbook_template.safety.opening import mark_version
from workbook_template.schema.fields import Computed
from workbook_template.sheets import all_sheets
from workbook_template.sheets.start import START
from workbook_template.writing import styles
from workbook_template.writing.blocks import FIRST_ROW, Grid, Settings, Sheet, TableBlock
from workbook_template.writing.dressing import dress
from workbook_template.writing.layout import Book, Entries
from workbook_template.writing.saving import small, workbook_bytes
from workbook_template.writing.stored_values import MOST_FORMULAS, with_stored_values
from workbook_template.writing.workings import fold_workings, workings_of
from workbook_template.writing.writer import Writer, enter

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from workbook_template.files import Backup
    from workbook_template.schema.fields import Table
    from workbook_template.writing.blocks import Block
    from workbook_template.writing.layout import Value

_OWN, _LONGEST_NAME = " (own)", 31
_ROWS_LEFT = 4
_FOR_MORE = "For more, carry the workbook over: see the README."
_MOST_BATCH_ROWS = 20000
_MOST_ROWS_A_PAGE = 150
_NEVER_PRINTED = "A4"
"""A print area that holds nothing."""


def build(
    path: Path,
    settings: Settings,
    entries: Entries | None = None,
    replace: bool = True,
    source: Path | None = None,
    backup: Backup | None = None,
) -> bool:
    """Write a workbook; the file appears whole or not at all.

    Parameters
    ----------
    path : Path
        Where to write it.
    settings : Settings
        Units, currency and size.
    entries : Entries, optional
        What is typed into it, in its units.
    replace : bool
        Whether an older file there is replaced.
    source : Path, optional
        The file that the entries come from: nobody may do more with the new one.
    backup : Backup, optional
        Keeps the older file.

    Returns
    -------
    bool
        Whether the file holds the values of its formulas; not where they are too many.

    Raises
    ------
    ValueError
        If the settings cannot be used, or the file cannot be written.
    """
    _check(settings)
    with whole_file(path, replace, source, backup) as unfinished, long_work():
        book = lay_out(settings, entries)
        tell("Putting the sheets together")
        if not can_be_computed(settings, book.entries):
            unfinished.write_bytes(workbook_bytes(book.workbook, book.filled, is_small=True))
            return False
        package = workbook_bytes(book.workbook, book.filled)
        tell("Computing every formula")
        package = with_stored_values(package)
        tell("Making the file small")
        unfinished.write_bytes(small(package))
    return True


def whole_workbook(settings: Settings, entries: Entries | None = None) -> bytes:
    """Return a workbook as the bytes of a file, without the values of its formulas."""
    book = lay_out(settings, entries)
    return workbook_bytes(book.workbook, book.filled)


def _check(settings: Settings) -> None:
    if settings.units not in SYSTEMS:
        raise ValueError(f"units: got {shown(settings.units)!r}, needs us or metric.")
    if not is_currency(settings.currency):
        raise ValueError(
            f"currency: got {shown(settings.currency)!r}, needs a symbol or code of 1 to "
            f"{LONGEST_CURRENCY} letters or currency signs, such as $, EUR or R$."
        )
    if not 0 < settings.batch_rows <= _MOST_BATCH_ROWS:
        raise ValueError(f"batch rows: got {settings.batch_rows}, needs 1 to {_MOST_BATCH_ROWS}.")


def lay_out(
    settings: Settings,
    entries: Entries | None = None,
    rows: Mapping[str, int] | None = None,
) -> Book:
    """Write a workbook in memory.

    Parameters
    ----------
    settings : Settings
        Units, currency and size.
    entries : Entries, optional
        What is typed into it, in its units.
    rows : mapping of str to int, optional
        How many rows tables have, by their keys, where that is known.

    Returns
    -------
    Book
        The workbook, without stored values, and where everything is.
    """
    book = Book(Workbook(), settings, entries or Entries())
    workbook = book.workbook
    workbook.remove(workbook.worksheets[0])
    for style in styles.named_styles():
        workbook.add_named_style(style)
    sheets = all_sheets(settings, book.entries.carried)
    sheets = [_with_room(sheet, book.entries, rows or {}) for sheet in sheets]
    sheets += [workings for sheet in sheets if (workings := workings_of(sheet))]
    writers = [Writer(book, sheet) for sheet in sheets]
    for writer in writers:
        _each_block(writer, place=True)
    book.name_lists()
    if book.settings.typed_functions:
        _name_functions(workbook)
    stages = list(dict.fromkeys(sheet.stage for sheet in sheets))
    for writer in writers:
        tell(f"Laying out the {writer.sheet.name} sheet")
        _head(writer)
        _each_block(writer, place=False)
        _page(writer)
        number = stages.index(writer.sheet.stage)
        writer.worksheet.sheet_properties.tabColor = (
            styles.WORKINGS_TAB
            if writer.sheet.is_workings
            else styles.stage_color(number, len(stages))
        )
    dress(book)
    for name, cells in book.entries.sheets.items():
        _own_sheet(workbook, name, cells)
    workbook.calculation.fullCalcOnLoad = True
    properties = workbook.properties
    properties.title = "Batch and costing workbook"
    properties.creator = f"cultivar_fx {cultivar_fx.__version__}"
    mark_version(workbook)
    mark(workbook, settings)
    remember(workbook, book.entries.originals)
    return book


def table_rows(settings: Settings, entries: Entries) -> Iterator[tuple[Table, int]]:
    """Return each table of a workbook, and how many rows it has there.

    Parameters
    ----------
    settings : Settings
        Units, currency and size.
    entries : Entries
        What is typed into it.

    Yields
    ------
    tuple
        The table and its rows.
    """
    for sheet in all_sheets(settings):
        for block in _with_room(sheet, entries, {}).blocks:
            if isinstance(block, TableBlock):
                yield block.table, block.rows


def can_be_computed(settings: Settings, entries: Entries) -> bool:
    """Return whether a workbook is computed; not where its tables alone are too large for that."""
    formulas = (
        rows * sum(isinstance(column, Computed) for column in table.columns)
        for table, rows in table_rows(settings, entries)
    )
    return sum(formulas) <= MOST_FORMULAS


def _with_room(sheet: Sheet, entries: Entries, rows: Mapping[str, int]) -> Sheet:
    """Let the tables of a sheet hold all rows that are typed into them, and its lists follow."""

    def roomy(block: Block) -> Block:
        if isinstance(block, TableBlock):
            typed = len(entries.tables.get(block.table.key, ()))
            exact = rows.get(block.table.key, 0)
            return altered(block, more_rows=max(block.more_rows, typed), exact_rows=exact)
        if isinstance(block, Grid) and block.rows_for is not None:
            return altered(block, rows=block.rows_for(entries))
        return block

    blocks, workings = ([roomy(one) for one in part] for part in (sheet.blocks, sheet.workings))
    return altered(sheet, blocks=blocks, workings=workings)


def _own_sheet(workbook: Workbook, name: str, cells: Mapping[tuple[int, int], Value]) -> None:
    """Write a sheet of the grower's own, by another name where one of ours has taken its."""
    taken = {one.casefold() for one in workbook.sheetnames}
    free = name
    while free.casefold() in taken:
        free = f"{name[: _LONGEST_NAME - len(_OWN)]}{_OWN}" if free == name else f"{free[:-1]}+"
    worksheet = workbook.create_sheet(free)
    for (row, column), value in cells.items():
        enter(worksheet.cell(row, column), value)


def _name_functions(workbook: Workbook) -> None:
    """Name every function, so that Excel 2024 and 365 take it without an add-in.

    No cell of the workbook itself uses these names: other programs do not know LAMBDA.
    """
    for name, text in lambda_names().items():
        comment = definition(name).summary
        workbook.defined_names[name] = DefinedName(name, attr_text=text, comment=comment)


def _each_block(writer: Writer, place: bool) -> None:
    row = FIRST_ROW
    for block in writer.sheet.blocks:
        (block.place if place else block.write)(writer, row)
        row += block.height()


def _head(writer: Writer) -> None:
    sheet, worksheet = writer.sheet, writer.worksheet
    writer.text(1, 1, sheet.name, "farm title")
    worksheet.row_dimensions[1].height = styles.TITLE_HEIGHT
    writer.text(2, 1, sheet.purpose, "farm purpose")
    state = worksheet.cell(3, 1, f'="Checks: "&{writer.refer("master_check")}')
    state.style = "farm label"
    state.hyperlink = Hyperlink(ref="A3", location="'Checks'!A1")
    writer.alarm("A3", f"{writer.refer('faults')}>0")
    own = [block.table.key for block in sheet.blocks if isinstance(block, TableBlock)]
    for table in _logs():
        if table.key in own:
            left = worksheet.cell(_ROWS_LEFT, 1, f"={_rows_left(writer, table)}")
            left.style = "farm label"
    if sheet.name == START:
        few = worksheet.cell(_ROWS_LEFT, 1, f"={_few_rows_left(writer)}")
        few.style = "farm label"
        sentence = f"A{_ROWS_LEFT}:D{_ROWS_LEFT}"  # it runs on into the empty cells beside it
        writer.alarm(sentence, f'$A${_ROWS_LEFT}<>""', is_warning=True)
    for column, width in enumerate(sheet.widths, 1):
        worksheet.column_dimensions[get_column_letter(column)].width = width
    fold_workings(writer)


@cache
def _logs() -> list[Table]:
    """Return the tables of which a workbook can be made with more rows, however few it has."""
    return [
        block.table
        for sheet in all_sheets(Settings())
        for block in sheet.blocks
        if isinstance(block, TableBlock) and block.more_rows
    ]


def _empty_rows(writer: Writer, table: Table) -> str:
    """Count the rows of a log that are still empty, as spreadsheet text."""
    column = writer.refer(f"{table.key}.{table.first.key}")
    return f"(ROWS({column})-COUNTA({column}))"


def _rows_left(writer: Writer, table: Table) -> str:
    """Write how many rows of a log are still empty, and how to get more, as spreadsheet text."""
    return f'"{table.title}: "&{_empty_rows(writer, table)}&" empty rows left. {_FOR_MORE}"'


def _few_rows_left(writer: Writer) -> str:
    """Write which logs have few rows left, as spreadsheet text; nothing while none has.

    Few is a twelfth of its rows, and no more than a dozen.
    """
    few = {}
    for table in _logs():
        column = writer.refer(f"{table.key}.{table.first.key}")
        left = _empty_rows(writer, table)
        few[f'", {table.title}: "&{left}'] = f"({left}<=MIN(12,ROWS({column})/12))"
    named = "&".join(f"REPT({words},{condition}*1)" for words, condition in few.items())
    said = f'"Few empty rows left: "&MID({named},3,365)&". {_FOR_MORE}"'
    return f"REPT({said},MIN(1,{'+'.join(few.values())}))"


def _pages_filled(writer: Writer) -> int:
    """Count the pages of a long log that are filled in, the next free row included."""
    log = next(block for block in writer.sheet.blocks if isinstance(block, TableBlock))
    rows = min(log.rows, len(writer.rows_of(log.table.key)) + 1)
    return ceil(rows / writer.sheet.rows_a_page)


def _page(writer: Writer) -> None:
    sheet, worksheet = writer.sheet, writer.worksheet
    printed = sheet.blocks[: sheet.printed_blocks or None]
    last = FIRST_ROW + sum(block.height() for block in printed) - 1  # charts fill no cells
    pages = sheet.pages_high
    if sheet.rows_a_page:
        pages = _pages_filled(writer)
        last = min(last, sheet.head_rows + pages * sheet.rows_a_page)
    worksheet.freeze_panes = f"B{sheet.head_rows + 1}" if sheet.is_log else f"A{FIRST_ROW}"
    worksheet.print_area = _NEVER_PRINTED if sheet.is_workings else f"A1:{sheet.last_column}{last}"
    if sheet.set_page is None and not sheet.is_workings:
        worksheet.print_title_rows = f"1:{sheet.head_rows}"
    worksheet.page_setup.orientation = "landscape" if sheet.landscape else "portrait"
    worksheet.page_setup.paperSize = 1 if writer.units == "us" else 9
    worksheet.page_setup.fitToWidth = 1
    is_readable = last <= _MOST_ROWS_A_PAGE * pages  # of a long log it would not be
    worksheet.page_setup.fitToHeight = pages if is_readable else 0
    worksheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    margins = worksheet.page_margins
    margins.left = margins.right = margins.top = 0.5
    margins.bottom, margins.footer = 0.7, 0.35
    footer: Any = worksheet.oddFooter
    footer.left.text = f"cultivar_fx {cultivar_fx.__version__}"
    footer.center.text = "&A"
    footer.right.text = "&P of &N"
    worksheet.sheet_view.showGridLines = False
    if not sheet.has_table:
        worksheet.protection.sheet = True
        worksheet.protection.formatColumns = False
        worksheet.protection.formatRows = False
    if sheet.set_page is not None:
        sheet.set_page(writer)
