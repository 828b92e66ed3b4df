"""The engine of the stored values with a workbook in it, kept to change cells and compute again."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING, Any
from zipfile import ZipFile

import formualizer
from precedents import without_others

from workbook_template.writing import engine, stored_values

if TYPE_CHECKING:
    from collections.abc import Iterable

    from precedents import Place


def live_engine(package: bytes) -> Any:
    """Load a workbook that was written without values, and compute it."""
    return _computed(_plain(package))


def live_engine_of(package: bytes, asked: Iterable[Place]) -> tuple[Any, set[Place]]:
    """Load and compute what some cells take, as ``precedents`` finds it, and what it leaves out."""
    plain, left_out = without_others(_plain(package), asked)
    return _computed(plain), left_out


def _plain(package: bytes) -> bytes:
    with ZipFile(BytesIO(package)) as archive:
        return stored_values._plain(archive, stored_values._sheets(archive))[0]


def _computed(plain: bytes) -> Any:
    loaded: Any = formualizer.load_workbook_bytes(plain, load_limits=engine._ANY_SIZE)
    loaded.set_temporal_egress("serial")
    loaded.evaluate_all()
    return loaded


class LiveValues:
    """The values of an engine by sheet, then by row and column, as ``computed`` returns them."""

    def __init__(self, engine: Any) -> None:
        self.engine = engine

    def __getitem__(self, sheet: str) -> _Cells:
        return _Cells(self.engine, sheet)


class _Cells:
    def __init__(self, engine: Any, sheet: str) -> None:
        self._engine, self._sheet = engine, sheet

    def get(self, place: tuple[int, int]) -> Any:
        return self._engine.get_value(self._sheet, *place)
