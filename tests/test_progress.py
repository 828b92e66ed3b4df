"""Long work says on a terminal what it is at, and nothing anywhere else."""

from __future__ import annotations

import sys
from io import StringIO
from typing import TYPE_CHECKING

from workbook_template import progress
from workbook_template.build import build
from workbook_template.writing.page import Settings

if TYPE_CHECKING:
    from pathlib import Path

    import pytest


class Terminal(StringIO):
    """A text that says it is a terminal."""

    def isatty(self) -> bool:
        return True


def told(
    monkeypatch: pytest.MonkeyPatch, stream: StringIO, path: Path, patience: float = 0.0
) -> str:
    monkeypatch.setattr(progress, "PATIENCE", patience)
    monkeypatch.setattr(sys, "stderr", stream)
    build(path / "farm.xlsx", Settings(batch_rows=1))
    return stream.getvalue()


def test_a_terminal_shows_the_sheet_that_is_written(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    assert "\rWriting the sheet Harvests" in told(monkeypatch, Terminal(), tmp_path)


def test_the_line_is_empty_at_the_end(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    last = told(monkeypatch, Terminal(), tmp_path).rsplit("\r", 2)[1:]
    assert [words.strip() for words in last] == ["", ""]


def test_a_pipe_stays_silent(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    assert told(monkeypatch, StringIO(), tmp_path) == ""


def test_short_work_stays_silent(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    assert told(monkeypatch, Terminal(), tmp_path, patience=1000) == ""
