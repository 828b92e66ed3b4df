"""Defaults for which there is a published figure are that figure, in schema, demo and Sources."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from reading import singles, table
from workbooks import made

from cultivar_fx.catalog.registry import definition
from workbook_template.schema import SINGLE_INPUTS, TABLES

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

PUBLISHED = [
    # Mattila et al. 2002: P. ostreatus, 92 % (dry matter 7.7 to 8.4 %).
    ("fresh_moisture", 0.92, "Mattila et al. 2002"),
    # Codex Standard 39-1981 (from memory): dried fungi, at most 12 %.
    ("dried_moisture", 0.12, "Codex Standard 39-1981"),
    # Azevedo et al. 2017 (author from memory), J. Food Eng. 212:108: 0.52 g/(kg·h) at 2 °C and
    # 100 %.
    ("storage_daily_loss", 0.0125, "J. Food Eng."),
    # Stamets, Growing Gourmet & Medicinal Mushrooms, p. 172.
    ("hold_hours", 12, "Stamets, Growing Gourmet & Medicinal Mushrooms, p. 172"),
    # OSHA permissible exposure limit.
    ("people_ppm", 5000, "OSHA"),
]


def sources(sheet: Worksheet) -> dict[str, tuple[float, str]]:
    """Return what the Sources sheet says of each input: its value and its source."""
    return {row[0].value: (row[1].value, row[3].value) for row in sheet.iter_rows(min_row=7)}


@pytest.mark.parametrize(("key", "value", "source"), PUBLISHED)
def test_a_published_figure_is_the_default(key: str, value: float, source: str) -> None:
    field = SINGLE_INPUTS[key]
    assert field.default == value
    assert source in field.source
    shown, words = sources(made("metric", "empty").values["Sources"])[field.label]
    assert shown == pytest.approx(value)
    assert source in words
    assert singles(made("metric", "empty").values)[key] == pytest.approx(value)


def test_a_published_figure_is_in_the_row_of_the_fruiting_room() -> None:
    """Stamets, Growing Gourmet & Medicinal Mushrooms, p. 214: below 1000 ppm."""
    empty = made("metric", "empty").values
    shown, words = sources(empty["Sources"])["Fruiting room: CO2 limit"]
    assert shown == pytest.approx(1000)
    assert "Stamets, Growing Gourmet & Medicinal Mushrooms, p. 214" in words
    rooms = {row["room"]: row for row in table(empty, "rooms", "metric") if row["room"]}
    assert rooms["Fruiting room"]["ppm"] == pytest.approx(1000)


def test_the_demo_keeps_to_what_is_published() -> None:
    demo = made("metric", "demo").values
    typed = singles(demo)
    assert typed["fresh_moisture"] == pytest.approx(0.92)
    assert typed["dried_moisture"] <= 0.12
    # Royse 2002, Appl. Microbiol. Biotechnol. 58:527: most yield at 3.75 to 5 % of wet mass.
    rates = [row["spawn_rate"] for row in table(demo, "strains", "metric")]
    assert all(0.0375 <= rate <= 0.05 for rate in rates), rates


def test_spawn_rates_are_prompted_as_published() -> None:
    field = TABLES["strains"].field("spawn_rate")
    assert "3.75 to 5 % (Royse 2002)" in field.help
    assert 0.0375 <= field.example <= 0.05
    assert "3.75 to 5 %" in definition("SPAWN_NEEDED").source


def test_what_has_no_source_is_called_an_assumption() -> None:
    argument = next(
        one for one in definition("SPENT_SUBSTRATE").arguments if one.name == "dry_matter_loss"
    )
    assert "Assumption: measure yours." in argument.help
    for key in ("dry_matter_loss", "spent_moisture", "storage_mass", "storage_gain"):
        assert "Assumption" in SINGLE_INPUTS[key].source
