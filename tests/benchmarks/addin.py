"""How long the Calc add-in takes in LibreOffice, against an add-in that only gives a number."""

from __future__ import annotations

from typing import TYPE_CHECKING
from unittest.mock import patch

from calc_profile import installed_for_tests
from measuring import Figure, benchmark, ratio_of, seconds
from office import Office

from cultivar_fx.hosts import calc_addin

if TYPE_CHECKING:
    from office import Document

CELLS = 10_000
COMPONENT = "calc_component.py"
ANSWERING = b"return answer(name, given, self.decimal_sign)"
_files = calc_addin.addin_files


def _idle_files() -> dict[str, bytes]:
    """Give the files of an add-in whose functions give a number: Calc is quicker with a text."""
    files = _files()
    place = next(place for place in files if place.endswith(COMPONENT))
    assert ANSWERING in files[place]
    return files | {place: files[place].replace(ANSWERING, b"return 0.5")}


@benchmark("addin", f"{CELLS} cells of the Calc add-in", "an add-in that gives one number", 2)
def calling() -> Figure:
    """Compute cells with the add-in."""
    with (
        installed_for_tests() as profile,
        Office(profile) as office,
        office.document() as document,
        patch.object(calc_addin, "addin_files", _idle_files),
        installed_for_tests() as idle_profile,
        Office(idle_profile) as idle_office,
        idle_office.document() as idle,
    ):
        for one in (document, idle):
            _fill(one)
        return ratio_of(
            lambda: seconds(document.calculate), lambda: seconds(idle.calculate), turns=7
        )


def _fill(document: Document) -> None:
    sheet = document.sheets[0]
    document.write(sheet, 0, 0, [[50.0 + row % 40, 0.06, 0.62] for row in range(CELLS)])
    document.fill(sheet, 0, 3, "CFX.WATER_TO_ADD(A1,B1,C1)", down=CELLS)
