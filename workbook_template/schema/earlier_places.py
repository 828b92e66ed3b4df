"""Where single inputs of earlier versions of the schema stand now: in the rows of tables."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from workbook_template.schema.room_rows import FIRST_ROOMS

if TYPE_CHECKING:
    from collections.abc import Mapping


class Moved(NamedTuple):
    """The table, the number of the row from 0, and the column in which an input stands now."""

    table: str
    row: int
    column: str


_OF_A_ROOM = {
    "places": "spaces",
    **{key: key for key in ("length", "width", "height", "temperature", "humidity", "ppm")},
    "equipment": "equipment",
}
_OTHERS = {
    "incubation_filled": Moved("rooms", 0, "filled"),
    "mushrooms_standing": Moved("rooms", 1, "standing"),
    "fan_flow": Moved("rooms", 1, "fan_flow"),
    "fogger_output": Moved("rooms", 1, "fogger_output"),
}

EARLIER_PLACES: Mapping[str, Moved] = {
    f"{stage}_{key}": Moved("rooms", row, column)
    for row, stage in enumerate(FIRST_ROOMS)
    for key, column in _OF_A_ROOM.items()
} | _OTHERS
"""By the key that the input had."""
LAST_VERSION = 4
"""The last version of the schema that had them."""

IMPLIED: Mapping[str, tuple[dict[str, str], ...]] = {
    "rooms": tuple({"room": name, "stage": stage} for stage, name in FIRST_ROOMS.items())
}
"""By table what nobody typed of its rows, since the words beside the inputs said it."""

EARLIER_WORDS: Mapping[str, Mapping[str, str]] = {
    "surfaces.room": FIRST_ROOMS,
    "metered_room": FIRST_ROOMS,
}
"""By the key of an input or column the words that were chosen from, and what is chosen now."""


def key_now(key: str) -> str:
    """Return the key of the column that an input of before is now; any other key as it is."""
    return EARLIER_PLACES[key].column if key in EARLIER_PLACES else key
