"""How long the Calc add-in takes in LibreOffice, against a function that only gives a number."""

from __future__ import annotations

from statistics import median
from typing import TYPE_CHECKING
from unittest.mock import patch

from calc_profile import installed_for_tests
from measuring import Figure, benchmark, on_one_processor, seconds, taking_turns
from office import Office

from cultivar_fx.hosts import calc_addin

if TYPE_CHECKING:
    from pathlib import Path

    from office import Document

CELLS = 10_000
COMPONENT = "calc_component.py"
ANSWERING = b"return answer(name, given, self.decimal_sign)"
# Takes arguments of the same types. A text would not do as the answer: Calc is quicker with it.
IDLE = b'return 0.5 if name == "DRIED_MASS" else answer(name, given, self.decimal_sign)'
# From one start to the next, LibreOffice takes 7 or 30 microseconds for the same idle call; on
# more than one processor even one of two documents does and the other does not.
STARTS = 7
_files = calc_addin.addin_files


def _files_with_idle() -> dict[str, bytes]:
    """Return the files of an add-in of whose functions one does nothing."""
    files = _files()
    place = next(place for place in files if place.endswith(COMPONENT))
    assert ANSWERING in files[place]
    return files | {place: files[place].replace(ANSWERING, IDLE)}


@benchmark("addin", f"{CELLS} cells of the Calc add-in", "a function that gives one number", 2)
def calling() -> Figure:
    """Compute cells with the add-in."""
    with (
        patch.object(calc_addin, "addin_files", _files_with_idle),
        installed_for_tests() as profile,
        on_one_processor(),
    ):
        took, least = zip(*(_calls(profile) for _ in range(STARTS)), strict=True)
    return Figure(median(map(float.__truediv__, took, least)), median(took), median(least))


def _calls(profile: Path) -> tuple[float, float]:
    with Office(profile) as office, office.document() as document, office.document() as idle:
        _fill(document, "WATER_TO_ADD")
        _fill(idle, "DRIED_MASS")
        return taking_turns(
            lambda: seconds(document.calculate), lambda: seconds(idle.calculate), turns=5
        )


def _fill(document: Document, function: str) -> None:
    sheet = document.sheets[0]
    document.write(sheet, 0, 0, [[50.0 + row % 40, 0.06, 0.62] for row in range(CELLS)])
    document.fill(sheet, 0, 3, f"CFX.{function}(A1,B1,C1)", down=CELLS)
