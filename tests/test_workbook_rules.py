"""The rules for every sheet, held against the generated file.

From published spreadsheet standards: ICAEW Twenty Principles, FAST, UK Government accessible
spreadsheets, WCAG.
"""

from __future__ import annotations

import re
import zipfile
from typing import TYPE_CHECKING
from xml.etree import ElementTree

import pytest
from workbooks import KINDS, made

from cultivar_fx.catalog.dimensions import DIMENSIONS
from workbook_template.build import lay_out
from workbook_template.reading.entries import input_grids
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.schema.fields import Computed, Table, heading
from workbook_template.schema.figures import TRAITS
from workbook_template.sheets import all_sheets
from workbook_template.writing import styles
from workbook_template.writing.blocks import (
    Calculated,
    Form,
    Grid,
    NewPage,
    Settings,
    Sheet,
    TableBlock,
)
from workbook_template.writing.layout import (
    grid_name,
    input_name,
    list_name,
    telling_columns,
    zone_name,
)
from workbook_template.writing.workings import is_workings, workings_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from openpyxl.worksheet.worksheet import Worksheet

_LAID_OUT = all_sheets(Settings())
SHEETS = [
    *(sheet.name for sheet in _LAID_OUT),
    *(workings.name for sheet in _LAID_OUT if (workings := workings_of(sheet))),
]
CALENDAR_AND_CLOCK = {"7", "12", "24", "60", "365"}
"""Exact by definition: days of a week and of a year, months, hours, minutes."""
FLUSHES = {"2", "3", "4"}
"""Ordinals: the flush that a column stands for."""
TEXT_STYLES = {"farm text", "farm small text", "farm caution", "farm note"}
INPUT_STYLES = {"farm input", "farm input text", "farm writing line"}
CHART = "{http://schemas.openxmlformats.org/drawingml/2006/chart}"
DRAWING = "{http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing}"


@pytest.fixture(params=KINDS, ids=["-".join(kind) for kind in KINDS])
def sheets(request: pytest.FixtureRequest) -> list[Worksheet]:
    return list(made(*request.param).formulas)


def used_cells(worksheet: Worksheet) -> Iterator:
    return (cell for row in worksheet.iter_rows() for cell in row)


def templates() -> list[tuple[str, str]]:
    """Return every formula template of the sheets, with the key that it computes."""
    found = []
    for sheet in all_sheets(Settings()):
        for block in sheet.parts:
            columns = block.table.columns if isinstance(block, TableBlock) else ()
            columns = block.columns if isinstance(block, Grid) else columns
            rows = block.rows if isinstance(block, Form) else columns
            found += [
                (one.key, one.formula) for one in rows if isinstance(one, Calculated | Computed)
            ]
        found += [(check.words, check.found) for check in sheet.checks]
    for table in TABLES.values():
        rules = (*table.faults, *table.warnings)
        found += [(f"{table.key}.{rule.key}", rule.condition) for rule in rules]
    return found


PLAN = {"planned_lost", "loss_planned", "be_planned", "days_planned"}
"""What is held against the plan."""


def test_all_sheets_read_what_is_used_of_a_strain_but_for_what_is_held_against_the_plan() -> None:
    traits = "|".join([*(one.key for one in TRAITS), "biological_efficiency", "fruiting_days"])
    plan = re.compile(rf"{{\??strains\.({traits})}}")
    of_plan = {key for key, template in templates() if plan.search(template)}
    assert of_plan == PLAN | {one.key for one in TRAITS}


LONGEST_PURPOSE = 84
"""What the list of sheets on Start has room for in print."""


def test_sheets_start_with_title_purpose_and_checks(sheets: list[Worksheet]) -> None:
    for sheet in sheets:
        assert sheet["A1"].value == sheet.title
        assert 20 < len(sheet["A2"].value) <= LONGEST_PURPOSE, sheet.title
        assert sheet["A3"].value.startswith('="Checks: "&')


def test_only_inputs_are_unlocked_and_look_like_inputs(sheets: list[Worksheet]) -> None:
    for sheet in sheets:
        for cell in used_cells(sheet):
            looks_like_input = cell.style in INPUT_STYLES
            assert cell.protection.locked is not looks_like_input, (sheet.title, cell.coordinate)
            if looks_like_input:
                assert cell.data_type != "f", (sheet.title, cell.coordinate)


def test_sheets_are_protected_without_a_password_unless_a_table_grows(
    sheets: list[Worksheet],
) -> None:
    for sheet in sheets:
        assert sheet.protection.sheet is not bool(sheet.tables), sheet.title
        assert sheet.protection.password is None


def test_every_input_is_validated_with_a_prompt_and_an_error_text(
    sheets: list[Worksheet],
) -> None:
    for sheet in sheets:
        if sheet.title == "Functions":  # its formulas refuse by themselves: any input is a trial
            continue
        validated = {
            cell: rule
            for rule in sheet.data_validations.dataValidation
            for area in rule.sqref.ranges
            for cell in area.cells
        }
        for cell in used_cells(sheet):
            if cell.style in ("farm input", "farm input text"):
                rule = validated.get((cell.row, cell.column))
                assert rule is not None, (sheet.title, cell.coordinate)
                assert rule.prompt, (sheet.title, cell.coordinate)
                assert rule.error, (sheet.title, cell.coordinate)
                assert len(rule.prompt) <= 255
                assert len(rule.error) <= 255
                assert len(rule.promptTitle) <= 32
                assert len(rule.errorTitle) <= 32


def test_pages_print_one_page_wide_with_repeated_heads_and_the_version(
    sheets: list[Worksheet],
) -> None:
    logs = {sheet.name for sheet in all_sheets(Settings()) if sheet.is_log}
    for sheet in sheets:
        assert sheet.print_area, sheet.title
        if is_workings(sheet.title):
            continue
        assert sheet.freeze_panes == ("B7" if sheet.title in logs else "A5")
        if sheet.title in ("Labels", "Price list"):  # bare pages: see test_labels, test_quote
            continue
        assert sheet.page_setup.fitToWidth == 1
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        assert sheet.print_title_rows == ("$1:$6" if sheet.title in logs else "$1:$3")
        assert "cultivar_fx" in sheet.oddFooter.left.text


def test_charts_lie_within_the_printed_page(sheets: list[Worksheet]) -> None:
    for sheet in sheets:
        last = int(sheet.print_area.rsplit("$", 1)[1])
        for chart in sheet._charts:
            rows = chart.height / 2.54 * 72 / 15  # cm in rows of the usual 15 points
            assert chart.anchor._from.row + 1 + rows <= last, sheet.title


def folded(sheet: Worksheet) -> set[int]:
    """Return the columns that are out of sight, each in a group that a click unfolds."""
    dimensions = [one for one in sheet.column_dimensions.values() if one.hidden]
    assert all(one.outlineLevel == 1 for one in dimensions)
    return {number for one in dimensions for number in range(one.min, one.max + 1)}


def test_nothing_is_hidden_but_the_folded_workings(sheets: list[Worksheet]) -> None:
    printed = {sheet.name: sheet.printed_columns for sheet in all_sheets(Settings())}
    for sheet in sheets:
        assert sheet.sheet_state == "visible"
        assert not any(one.hidden for one in sheet.row_dimensions.values())
        assert not any(number <= printed[sheet.title] for number in folded(sheet))


def test_only_sentences_run_over_merged_cells(sheets: list[Worksheet]) -> None:
    for sheet in sheets:
        for area in sheet.merged_cells.ranges:
            assert sheet.cell(area.min_row, area.min_col).style in TEXT_STYLES, (sheet.title, area)


@pytest.mark.parametrize(("units", "filled"), KINDS)
def test_no_cell_holds_an_empty_text_that_would_cut_its_neighbor(units: str, filled: str) -> None:
    with zipfile.ZipFile(made(units, filled).path) as package:
        for name in package.namelist():
            if name.startswith("xl/worksheets/sheet"):
                assert not re.search(rb'<c [^>]*t="inlineStr"[^>]*/>', package.read(name)), name


def test_names_of_sheets_are_short_and_unique(sheets: list[Worksheet]) -> None:
    assert all(len(sheet.title) <= 31 for sheet in sheets)
    assert [sheet.title for sheet in sheets] == SHEETS


@pytest.mark.parametrize(("units", "filled"), KINDS)
def test_names_stand_only_for_inputs_lists_zones_and_functions(units: str, filled: str) -> None:
    names = set(made(units, filled).formulas.defined_names)
    cells = {name for name in names if not name.startswith("CFX.")}
    grids = {grid_name(grid, key) for grid, fields in input_grids().items() for key in fields}
    below = {zone_name(key, one.key) for key in TABLES for one in telling_columns(TABLES[key])}
    fields = [*SINGLE_INPUTS.values(), *(one for table in TABLES.values() for one in table.fields)]
    inputs = cells - {list_name(one.choices) for one in fields if "." in one.choices}
    assert inputs == set(map(input_name, SINGLE_INPUTS)) | grids | below


@pytest.mark.parametrize(("units", "filled"), KINDS)
def test_formulas_keep_to_plain_spreadsheet_manners(units: str, filled: str) -> None:
    workbook = made(units, filled)
    volatile = []
    for sheet in workbook.formulas.sheetnames:
        for cell, text in workbook.cells(sheet).items():
            where = f"{sheet}!{cell}"
            assert len(text) <= 8192, where
            assert "INDIRECT(" not in text, where
            assert "OFFSET(" not in text, where
            assert "_xlfn" not in text, where
            assert not re.search(r"\$?[A-Z]{1,3}:\$?[A-Z]{1,3}(?![\d(])", text), where
            if re.search(r"\b(TODAY|NOW|RAND|RANDBETWEEN)\(", text):
                volatile.append(where)
    assert len(volatile) == 1
    assert volatile[0].startswith("Start!")


def test_no_template_needs_an_if() -> None:
    """The writer puts one IF around a formula that waits; one in the template would be nested."""
    for key, template in templates():
        assert not re.search(r"\bIF\(", template), key


def test_no_template_hides_a_constant() -> None:
    for key, template in templates():
        bare = re.sub(r'"[^"]*"|\{[!?]?[a-z][\w.]*\}|CFX\.\w+', "", template)
        numbers = set(re.findall(r"(?<![\w.])\d+\.?\d*(?:E-?\d+)?", bare))
        assert numbers <= {"0", "1"} | CALENDAR_AND_CLOCK | FLUSHES, (key, numbers)


def test_a_column_has_one_relative_formula(sheets: list[Worksheet]) -> None:
    for sheet in sheets:
        for table in sheet.tables.values():
            first_row, last_row = (int(n) for n in re.findall(r"\d+", table.ref))
            for column in range(1, len(table.tableColumns) + 1):
                relative = {
                    re.sub(rf"(?<=[A-Z]){row}\b", "<row>", str(sheet.cell(row, column).value))
                    for row in range(first_row + 1, last_row + 1)
                    if sheet.cell(row, column).data_type == "f"
                }
                assert len(relative) <= 1, (sheet.title, column, relative)


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("table", TABLES.values(), ids=TABLES)
def test_headings_are_unique_and_safe_in_references(table: Table, units: str) -> None:
    headings = [heading(column, units, "€") for column in table.columns]
    assert len(set(headings)) == len(headings)
    assert not any(set("[]#'\"") & set(text) for text in headings)


@pytest.mark.parametrize("table", TABLES.values(), ids=TABLES)
def test_numeric_headings_name_their_unit(table: Table) -> None:
    without = {"text", "choice", "state", "count", "number", "ratio"}
    for column in table.columns:
        if column.dimension.name not in without:
            assert ", " in heading(column, "metric", "$"), column.key


def test_inputs_have_help_and_a_source() -> None:
    for field in [*SINGLE_INPUTS.values(), *(f for t in TABLES.values() for f in t.fields)]:
        assert field.help, field.key
        assert field.source, field.key
        assert field.label, field.key


def luminance(color: str) -> float:
    """WCAG 2.2, relative luminance."""
    channels = [int(color[place : place + 2], 16) / 255 for place in (0, 2, 4)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_text_has_enough_contrast() -> None:
    """WCAG 2.2, 1.4.3: at least 4.5 to 1."""
    pairs = [
        (style.font.color.rgb[-6:], style.fill.start_color.rgb[-6:] if style.fill.fill_type else "")
        for style in styles.named_styles()
    ]
    for ink, paper in [*pairs, (styles.ALARM, styles.ALARM_FILL)]:
        light, dark = sorted((luminance(ink), luminance(paper or styles.WHITE)), reverse=True)
        assert (light + 0.05) / (dark + 0.05) >= 4.5, (ink, paper)


def test_charts_have_titles_axes_and_alternative_text() -> None:
    with zipfile.ZipFile(made("us", "demo").path) as package:
        charts = [name for name in package.namelist() if name.startswith("xl/charts/chart")]
        drawings = [name for name in package.namelist() if re.match(r"xl/drawings/\w+\.xml", name)]
        assert charts
        for name in charts:
            root = ElementTree.fromstring(package.read(name))
            titles = root.findall(f".//{CHART}title")
            assert len(titles) >= 3, name
            assert {e.get("val") for e in root.iter(f"{CHART}delete")} == {"0"}, name
        for name in drawings:
            for about in ElementTree.fromstring(package.read(name)).iter(f"{DRAWING}cNvPr"):
                assert about.get("descr"), name
                assert about.get("title"), name


def test_the_file_holds_no_macro_link_or_connection() -> None:
    with zipfile.ZipFile(made("us", "demo").path) as package:
        names = package.namelist()
    assert not [n for n in names if re.search(r"vba|externalLink|connections|embedd", n)]


def test_us_factors_in_formulas_are_exact() -> None:
    """The factors of the unit definitions, never rounded ones: 0.45359237, not 0.4536."""
    texts = [text for sheet in SHEETS for text in made("us", "demo").cells(sheet).values()]
    joined = " ".join(texts)
    assert repr(DIMENSIONS["kg"].factor) in joined
    assert not re.search(r"\b(0\.4536|0\.454|3\.785\b|3\.79|2\.205|2\.2\b)", joined)


def test_workings_of_tables_stand_right_of_all_that_is_read_and_are_folded() -> None:
    for sheet in all_sheets(Settings()):
        for block in sheet.blocks:
            if isinstance(block, TableBlock) and len(block.shown) < len(block.columns):
                assert len(block.shown) >= sheet.printed_columns, (sheet.name, block.table.key)
        behind = set(range(sheet.printed_columns + 1, len(sheet.widths) + 1))
        assert folded(made("us", "demo").formulas[sheet.name]) == behind, sheet.name


def test_nothing_of_the_workings_is_printed_and_their_tabs_are_gray(
    sheets: list[Worksheet],
) -> None:
    for sheet in sheets:
        if is_workings(sheet.title):
            top_left = sheet.print_area.replace("$", "").rpartition("!")[2]
            assert sheet[top_left].value is None
            assert sheet.sheet_properties.tabColor.rgb.endswith(styles.WORKINGS_TAB)


def test_a_log_is_pressed_onto_one_page_only_while_it_can_be_read_there() -> None:
    for rows, pages in ((Settings().batch_rows, 1), (1000, 0)):
        book = lay_out(Settings(batch_rows=rows, typed_functions=False))
        assert book.workbook["Batches"].page_setup.fitToHeight == pages


def test_pages_that_are_fitted_break_nowhere_else() -> None:
    """Excel ignores manual breaks where it fits pages (support.microsoft.com, from memory)."""
    with pytest.raises(ValueError, match="Plan: "):
        Sheet("Plan", "", [NewPage()], pages_high=2)
