"""The Mix card's correction after a sample, against mass balances written here."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import pytest
from reading import computed, place
from workbooks import made

if TYPE_CHECKING:
    from office import Office

BATCH = 70 * 6 + 4
"""Pounds: the demo's bags, and what stays in the mixer."""
TARGET = 0.63
INGREDIENTS = 1 - (0.66 * 0.93 + 0.24 * 0.88 + 0.09 * 0.9 + 0.01 * 0.99)
"""Moisture of the demo's mix before water: each ingredient's share and dry part."""
CONTAINER = 26.0
GALLON = 8.345404
"""Pounds of water in a US gallon."""
WATER = "Water to add to the batch"
DRY_MIX = "Dry mix to add to the batch"


class Correction(NamedTuple):
    """What the card says to add; nothing where it is blank."""

    water: float | None
    dry_mix: float | None


def corrected(office: Office, moisture: float, ingredients: float | None = None) -> Correction:
    """Type a sample of a moisture, and what was measured of all ingredients."""
    card = made("us", "demo")
    with office.kept(card.path) as document:
        at = place(card.values, "sample_wet")
        sample = [CONTAINER + 100, CONTAINER + 100 * (1 - moisture), CONTAINER]
        document.write(at.sheet, at.row, at.column, [[mass] for mass in sample])
        if ingredients is not None:
            cells = card.values.defined_names["input_weigh_measured"].attr_text
            first = card.values["Mix card"][cells.rpartition("!")[2].split(":")[0].replace("$", "")]
            document.write("Mix card", first.row - 1, first.column - 1, [[ingredients]] * 4)
        shown = computed(document, card.values["Mix card"])["After mixing: check a sample"]
    assert shown["Moisture now"] == pytest.approx(moisture)
    return Correction(*(None if shown[key] == "" else shown[key] for key in (WATER, DRY_MIX)))


@pytest.mark.parametrize("moisture", [0.3, 0.6, 0.625])
def test_a_dry_sample_asks_for_water_alone(moisture: float, office: Office) -> None:
    found = corrected(office, moisture)
    assert found.water is not None
    assert found.dry_mix is None
    mass = BATCH + found.water * GALLON
    assert (mass - BATCH * (1 - moisture)) / mass == pytest.approx(TARGET, rel=1e-6)


@pytest.mark.parametrize("moisture", [0.635, 0.7, 0.8])
def test_a_wet_sample_asks_for_dry_mix_alone(moisture: float, office: Office) -> None:
    found = corrected(office, moisture)
    assert found.water is None
    assert found.dry_mix is not None
    water = BATCH * moisture + found.dry_mix * INGREDIENTS
    assert water / (BATCH + found.dry_mix) == pytest.approx(TARGET, rel=1e-6)


def test_a_sample_at_the_target_asks_for_nothing(office: Office) -> None:
    assert corrected(office, TARGET) == (None, None)


def test_ingredients_wetter_than_the_target_dry_nothing(office: Office) -> None:
    """Nothing can be said of dry mix that is none: neither for a wet sample nor for a dry one."""
    assert corrected(office, 0.7, ingredients=0.66) == (None, None)
    assert corrected(office, 0.6, ingredients=0.66).dry_mix is None
