"""The style that the project keeps: formatted, linted, and typed strictly."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

PROJECT = Path(__file__).resolve().parent.parent


@pytest.mark.parametrize(
    "check", ["ruff format --check .", "ruff check .", "mypy"], ids=["format", "lint", "types"]
)
def test_style_is_kept(check: str) -> None:
    command = [sys.executable, "-m", *check.split()]
    done = subprocess.run(command, cwd=PROJECT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
