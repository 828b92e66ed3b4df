"""The engine of the stored values with a workbook in it, kept to change cells and compute again."""

from __future__ import annotations

from io import BytesIO
from typing import Any
from zipfile import ZipFile

import formualizer

from workbook_template.writing import engine, stored_values


def live_engine(package: bytes) -> Any:
    """Load a workbook that was written without values, and compute it."""
    with ZipFile(BytesIO(package)) as archive:
        plain, _ = stored_values._plain(archive, stored_values._sheets(archive))
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
