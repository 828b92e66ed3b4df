"""The samples: none is stale, and the typed functions answer wherever something computes them.

What is stale is mended by ``python3 workbook_template/make_samples.py``.
"""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import TYPE_CHECKING

import ironcalc
import openpyxl
import pytest
from cases import GALLON, POUND, WATER
from PIL import Image
from workbooks import made

from workbook_template.demo import pictures, samples
from workbook_template.demo.farm_csv import write_invented_farm
from workbook_template.demo.samples import (
    MADE_FROM,
    PICTURED,
    TYPED,
    WORKBOOKS,
    content,
    fingerprint,
)
from workbook_template.demo.typed_sample import EXAMPLES, write_typed_sample

if TYPE_CHECKING:
    from collections.abc import Mapping

    from office import Office

SAMPLES = Path(__file__).parent.parent / "sample_sheets"
MOST_BYTES = 7_000_000
MOST_BYTES_OF_A_PICTURE = 200_000
WATER_IN_GALLONS = 200 * POUND * WATER / GALLON  # from the definition of moisture
FIRST = "C6"
"""The cell of the first typed function."""


def differing(found: Mapping[str, object], expected: Mapping[str, object]) -> list[str]:
    return sorted(name for name in {*found, *expected} if found.get(name) != expected.get(name))


@pytest.mark.parametrize("name", WORKBOOKS)
def test_workbook_is_what_is_built_today(name: str) -> None:
    today = content(made(*WORKBOOKS[name]).path)
    assert differing(content(SAMPLES / name), today) == []


def test_typed_functions_are_those_of_today(tmp_path: Path) -> None:
    write_typed_sample(tmp_path / TYPED)
    assert differing(content(SAMPLES / TYPED), content(tmp_path / TYPED)) == []


def test_invented_farm_is_that_of_today(tmp_path: Path) -> None:
    write_invented_farm(tmp_path / "farm")
    assert differing(texts(SAMPLES / "invented_farm"), texts(tmp_path / "farm")) == []


def texts(folder: Path) -> dict[str, str]:
    return {path.name: path.read_text(encoding="utf-8") for path in folder.iterdir()}


def test_pictures_show_the_demo_of_today() -> None:
    assert (SAMPLES / MADE_FROM).read_text().strip() == fingerprint(made("us", "demo").path)
    assert PICTURED == "demo_us.xlsx"


def test_what_is_typed_tells_workbooks_apart_and_what_is_stored_does_not(tmp_path: Path) -> None:
    sheet = "xl/worksheets/sheet1.xml"
    before = content(SAMPLES / TYPED)[sheet]
    stored = content(SAMPLES / TYPED, stored_values=True)[sheet]
    assert ">not computed here</v>" in stored
    assert ">not computed here</v>" not in before
    assert "CFX.WATER_TO_ADD(" in before
    assert f">{EXAMPLES[1].answer:.0f}</v>" in before  # Python's answer, a plain number


def test_samples_are_small() -> None:
    sizes = {path: path.stat().st_size for path in SAMPLES.rglob("*") if path.is_file()}
    assert sum(sizes.values()) < MOST_BYTES
    shown = [path for path in sizes if path.suffix == ".png"]
    assert {path.name for path in shown} >= {*pictures.SHEETS}
    assert [path for path in shown if sizes[path] >= MOST_BYTES_OF_A_PICTURE] == []


def test_typed_functions_show_stored_answers() -> None:
    """Mail previews and the like compute nothing."""
    sheet = openpyxl.load_workbook(SAMPLES / TYPED, data_only=True).active
    assert sheet[FIRST].value == pytest.approx(WATER_IN_GALLONS, rel=1e-12)
    for row in range(6, 6 + len(EXAMPLES)):
        assert sheet.cell(row, 3).value == pytest.approx(sheet.cell(row, 4).value, rel=1e-12)


def test_typed_functions_are_computed_where_lambda_is_known() -> None:
    model = ironcalc.load_from_xlsx(str(SAMPLES / TYPED), "en", "UTC", "en")
    model.evaluate()
    rows = [[model.get_cell_value(0, row, column) for column in (3, 4, 6)] for row in range(6, 14)]
    assert rows[0][0] == pytest.approx(WATER_IN_GALLONS, rel=1e-12)
    for live, python, compared in rows:
        assert live == pytest.approx(python, rel=1e-9)
        assert compared == "the same"


def test_typed_functions_open_without_the_add_in(office: Office) -> None:
    with office.document(SAMPLES / TYPED) as document:
        document.calculate()
        rows = document.read(document.sheets[0], 5, 2, down=8, right=4)
    assert rows[0][1] == pytest.approx(WATER_IN_GALLONS, rel=1e-12)
    assert {compared for *_, compared in rows} == {"not computed here"}


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small workbook of two sheets whose footers name them."""
    book = openpyxl.Workbook()
    for sheet, fill in ((book.active, "FF0000"), (book.create_sheet("Second"), "0000FF")):
        sheet["A1"] = " "
        sheet["A1"].fill = openpyxl.styles.PatternFill("solid", start_color=fill)
        sheet.oddFooter.center.text = "&A"
        sheet.oddFooter.right.text = "&P of &N"
    path = tmp_path_factory.mktemp("printed") / "small.xlsx"
    book.save(path)
    return path


def test_picture_is_of_the_sheet_and_of_its_content_only(
    libreoffice: None, printed: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "pictures"
    pictures.draw(printed, folder, {"second.png": "Second"})
    picture = Image.open(folder / "second.png").convert("RGB")
    assert picture.getpixel((picture.width // 2, picture.height // 2)) == (0, 0, 255)
    assert picture.height < 100


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Workbooks that are copied instead of built, and one picture without LibreOffice."""

    def copy(path: Path, *_: object) -> None:
        shutil.copy(SAMPLES / path.name, path)

    def draw(_: Path, folder: Path) -> None:
        folder.mkdir()
        (folder / "start.png").write_bytes(b"a picture")

    monkeypatch.setattr(samples, "build", copy)
    monkeypatch.setattr(samples.pictures, "draw", draw)


@pytest.mark.usefixtures("quick")
def test_only_what_says_something_else_is_written_anew(tmp_path: Path) -> None:
    written = samples.make_samples(tmp_path)
    assert {*WORKBOOKS, TYPED, MADE_FROM.as_posix(), "pictures/start.png"} < {*written}
    assert samples.make_samples(tmp_path) == []
    shutil.copy(tmp_path / "demo_metric.xlsx", tmp_path / "demo_us.xlsx")
    (tmp_path / "pictures" / "start.png").write_bytes(b"another")
    assert samples.make_samples(tmp_path) == ["demo_us.xlsx", "pictures/start.png"]


def test_sheet_without_a_page_is_named(libreoffice: None, printed: Path, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="No page is of the sheet Third"):
        pictures.draw(printed, tmp_path / "pictures", {"third.png": "Third"})


def test_pictures_without_libreoffice_say_so(
    printed: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pictures, "office_folders", lambda: [tmp_path])
    with pytest.raises(ValueError, match="need LibreOffice"):
        pictures.draw(printed, tmp_path / "pictures")
