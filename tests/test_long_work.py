"""Long work says on a terminal what it is at, and nothing anywhere else."""

from __future__ import annotations

import gc
import sys
from io import StringIO
from typing import TYPE_CHECKING

import pytest

from workbook_template import progress as long_work
from workbook_template.build import build
from workbook_template.operations.carry_over import carry_over
from workbook_template.writing.blocks import Settings

if TYPE_CHECKING:
    from pathlib import Path


SMALL = Settings(batch_rows=1, typed_functions=False)


class Terminal(StringIO):
    """A text that says it is a terminal."""

    def isatty(self) -> bool:
        return True


def told(
    monkeypatch: pytest.MonkeyPatch, stream: StringIO, path: Path, patience: float = 0.0
) -> str:
    monkeypatch.setattr(long_work, "PATIENCE", patience)
    monkeypatch.setattr(sys, "stderr", stream)
    build(path / "farm.xlsx", SMALL)
    return stream.getvalue()


def test_a_terminal_shows_the_sheet_that_is_laid_out(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    assert "\rLaying out the Harvests sheet" in told(monkeypatch, Terminal(), tmp_path)


def test_a_terminal_shows_the_sheet_that_is_read(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    old, terminal = tmp_path / "old.xlsx", Terminal()
    build(old, SMALL)
    monkeypatch.setattr(long_work, "PATIENCE", 0.0)
    monkeypatch.setattr(sys, "stderr", terminal)
    carry_over(old, tmp_path / "new.xlsx")
    said = [step.strip() for step in terminal.getvalue().split("\r")]
    read, laid_out = (
        said.index(f"{what} the Harvests sheet") for what in ("Reading", "Laying out")
    )
    assert read < laid_out


def test_the_collector_works_again_when_work_fails() -> None:
    @long_work.long_work()
    def fail() -> None:
        raise LookupError(gc.isenabled())

    with pytest.raises(LookupError, match="False"):
        fail()
    assert gc.isenabled()


def test_the_line_is_empty_at_the_end(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    last = told(monkeypatch, Terminal(), tmp_path).rsplit("\r", 2)[1:]
    assert [words.strip() for words in last] == ["", ""]


def test_a_pipe_stays_silent(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    assert told(monkeypatch, StringIO(), tmp_path) == ""


def test_short_work_stays_silent(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    assert told(monkeypatch, Terminal(), tmp_path, patience=1000) == ""
