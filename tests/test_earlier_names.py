"""Cells by their names: those of this version, those of the first, and those that a grower gave."""

from __future__ import annotations

import re
import zipfile
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from packages import packed
from workbooks import made

from workbook_template.operations.partner_copy import CannotCopy, partner_copy
from workbook_template.reading.entries import read
from workbook_template.reading.unmatched import NAME, Search
from workbook_template.schema import SCHEMA_VERSION

if TYPE_CHECKING:
    from workbook_template.reading.entries import Reading


PROPERTIES = "docProps/custom.xml"
BOOK = "xl/workbook.xml"
_FIRST = Path(__file__).with_name("fixtures") / "release_1" / "demo_us.xlsx"


@cache
def parts(version: int) -> dict[str, bytes]:
    """Return the demo workbook as a version wrote it: the first knew no names but the keys."""
    path = _FIRST if version == 1 else made("us", "demo").path
    with zipfile.ZipFile(path) as package:
        parts = {name: package.read(name) for name in package.namelist()}
    assert (b'name="altitude"' in parts[BOOK]) == (version == 1)
    return parts


def written(
    folder: Path, version: int, name: str = "", pattern: bytes = b"", by: bytes = b""
) -> Path:
    """Write the workbook of a version, with something in one part of it replaced."""
    path = folder / f"version_{version}.xlsx"
    changed = dict(parts(version))
    if name:
        changed[name], count = re.subn(pattern, by, changed[name])
        assert count
    path.write_bytes(packed(changed))
    return path


def named(reading: Reading) -> list[object]:
    """Return the names that are taken for the grower's."""
    return [one.found.value for one in Search(reading).leftovers if one.kind == NAME]


def test_a_copy_of_a_workbook_with_the_first_names_asks_for_a_new_one_first(
    tmp_path: Path,
) -> None:
    with pytest.raises(CannotCopy, match=r"earlier version of cultivar_fx: make .* carry-over"):
        partner_copy(written(tmp_path, 1), tmp_path / "copy.xlsx")


@pytest.mark.parametrize("version", [1, SCHEMA_VERSION])
def test_names_tell_the_version_where_the_properties_are_lost(version: int, tmp_path: Path) -> None:
    """Some programs keep no properties. Only inputs that came later are absent."""
    reading = read(written(tmp_path, version, PROPERTIES, rb"<property .*</property>"))
    assert reading.version == version
    named = re.findall(rb'<definedName name="(?:input_)?(\w+)"', parts(version)[BOOK])
    assert not set(reading.absent) & {name.decode() for name in named}


@pytest.mark.parametrize(("version", "name"), [(1, "input_altitude"), (2, "altitude")])
def test_a_growers_name_is_no_input(version: int, name: str, tmp_path: Path) -> None:
    """Each of these names an input in the other version."""
    own = f'<definedNames><definedName name="{name}">Farm!$A$1</definedName>'
    reading = read(written(tmp_path, version, BOOK, b"<definedNames>", own.encode()))
    altitude = made("us", "demo").values["Farm"]["B8"]
    assert reading.singles["altitude"][:3] == ("Farm", "B8", altitude.value)
    assert named(reading) == [name]
