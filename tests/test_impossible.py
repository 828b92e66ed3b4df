"""Arguments that are possible each, but not together: the sentence names the one to look at."""

from __future__ import annotations

from typing import Any

import pytest

from cultivar_fx.calls.call import call
from cultivar_fx.catalog.registry import functions

IMPOSSIBLE: list[tuple[str, tuple[Any, ...], str]] = [
    ("MOISTURE_FROM_SAMPLE", (10, 11), "oven_dry_mass"),
    ("MOISTURE_FROM_SAMPLE", (10, 5, 6), "container_mass"),
    ("MOISTURE_FROM_SAMPLE", (10, 10, 10), "container_mass"),
    ("WATER_TO_ADD", (10, 0.6, 0.5), "target"),
    ("DRY_MATERIAL_TO_ADD", (10, 0.5, 0.6, 0.1), "target"),
    ("DRY_MATERIAL_TO_ADD", (10, 0.7, 0.6, 0.6), "added_moisture"),
    ("MOISTURE_OF_MIX", ([0, 0], [0.1, 0.1]), "masses"),
    ("NITROGEN_OF_MIX", ([0, 0], [0.1, 0.1], [0.01, 0.01]), "masses"),
    ("CARBON_NITROGEN_RATIO", ([1], [0], [0.4], [0]), "nitrogens"),
    ("SUPPLEMENT_SHARE", (0.02, 0.02, 0.02), "supplement_nitrogen"),
    ("SUPPLEMENT_SHARE", (0.01, 0.02, 0.03), "target_nitrogen"),
    ("SUPPLEMENT_SHARE", (0.01, 0.02, 0.005), "target_nitrogen"),
    ("BAG_COUNT", (10, 1, 11), "lost_mass"),
    ("LEFT_OVER", (10, 1, 11), "lost_mass"),
    ("HEAT_UP_ENERGY", (10, 0.6, 50, 40), "end_temperature"),
    ("CORE_TEMPERATURE", (1, 10, 10, 10, 100, 90), "steam_temperature"),
    ("CORE_HOURS", (100, 12, 16, 22, 20, 98), "target_temperature"),
    ("CORE_HOURS", (20, 12, 16, 22, 20, 98), "target_temperature"),
    ("DIFFUSIVITY_FROM_PROBE", (6, 99, 12, 16, 22, 20, 98), "core_temperature"),
    ("DIFFUSIVITY_FROM_PROBE", (6, 95, 12, 16, 22, 20, 98, 5), "hours"),
    ("COOLING_HOURS", (17, 12, 16, 22, 98, 18), "target_temperature"),
    ("COOLING_HOURS", (99, 12, 16, 22, 98, 18), "target_temperature"),
    ("LETHALITY", ([0], [100]), "hours"),
    ("LETHALITY", ([2, 1], [100, 100]), "hours"),
    ("HUMIDITY_RATIO", (110, 1), "temperature"),
    ("DEW_POINT", (-50, 0.001), "relative_humidity"),
    ("RELATIVE_HUMIDITY", (20, 21), "wet_bulb"),
    ("RELATIVE_HUMIDITY", (40, 5), "wet_bulb"),
    ("FRESH_AIR", (10, 400, 400), "room_ppm"),
    ("ROOM_CARBON_DIOXIDE", (1e6, 1, 400), "carbon_dioxide_rate"),
    ("CARBON_DIOXIDE_AFTER", (1e6, 420, 0, 60, 420, 100), "carbon_dioxide_rate"),
    ("AIR_CHANGES_FROM_DECAY", (1, 1800, 400, 420), "end_ppm"),
    ("AIR_CHANGES_FROM_DECAY", (1, 1800, 1900, 420), "end_ppm"),
    ("CARBON_DIOXIDE_FROM_RISE", (1, 500, 400, 60), "end_ppm"),
    ("AIR_HEAT", (100, 90, 1, 20, 0.5, 9000), "outside_temperature"),
    ("AIR_HEAT", (100, 20, 0.5, 90, 1, 9000), "room_temperature"),
    ("HUMIDIFYING_WATER", (100, 90, 1, 20, 0.5, 9000), "outside_temperature"),
    ("HUMIDIFYING_WATER", (100, 20, 0.5, 90, 1, 9000), "room_temperature"),
    ("DRYING_RATIO", (0.5, 0.6), "dried_moisture"),
    ("DRIED_MASS", (1, 0.5, 0.6), "dried_moisture"),
    ("SPENT_SUBSTRATE", (10, 100, 0.9, 0.3), "fresh_mass"),
    ("COLD_ROOM_POWER", (10, 2, 3, 6, 0.9), "end_temperature"),
    ("LOSS_LOW", (11, 10), "lost"),
    ("LOSS_HIGH", (11, 10), "lost"),
    ("LOSS_DIFFERENCE_LOW", (11, 10, 1, 10), "lost_a"),
    ("LOSS_DIFFERENCE_LOW", (1, 10, 11, 10), "lost_b"),
    ("LOSS_DIFFERENCE_HIGH", (11, 10, 1, 10), "lost_a"),
    ("LOSS_DIFFERENCE_HIGH", (1, 10, 11, 10), "lost_b"),
    ("TRIAL_BLOCKS", (0.1, 0.1), "loss_b"),
    ("WELCH_P_VALUE", ([1], [1, 2]), "values_a"),
    ("WELCH_P_VALUE", ([1, 2], [1]), "values_b"),
    ("WELCH_P_VALUE", ([1, 1], [2, 2]), "values_a"),
    ("DISPERSION", ([1, 11], [10, 10]), "lost, value 2"),
    ("DISPERSION", ([1, 0], [10, 0]), "totals"),
    ("DESIGN_EFFECT", ([1, 11], [10, 10]), "lost, value 2"),
    ("DESIGN_EFFECT", ([1], [10]), "totals"),
    ("BREAK_EVEN", (100, 5, 5), "price"),
    ("YEARLY_DEPRECIATION", (100, 101, 5), "salvage"),
    ("START_DATE", ("1900-03-10", 30), "days"),
]


@pytest.mark.parametrize(
    ("name", "arguments", "argument"), IMPOSSIBLE, ids=[f"{one[0]}-{one[2]}" for one in IMPOSSIBLE]
)
def test_sentence_begins_with_the_argument_to_look_at(
    name: str, arguments: tuple[Any, ...], argument: str
) -> None:
    sentence = call("WHY", name, *arguments)
    assert sentence.startswith(f"{argument}: ")
    assert sentence.endswith(".")


def test_every_function_with_such_a_rule_is_tried() -> None:
    ruled = {name for name, wanted in functions().items() if wanted.requires}
    assert ruled - {name for name, _, _ in IMPOSSIBLE} == set()
