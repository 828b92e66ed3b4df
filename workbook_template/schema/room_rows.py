"""The list of rooms, a row for each, and the list of their walls, ceilings, floors and doors."""

from __future__ import annotations

from workbook_template.schema.columns import FIRST_DATE, line_of
from workbook_template.schema.fields import (
    ASSUMPTION,
    Computed,
    Field,
    Rule,
    Start,
    Table,
)
from workbook_template.schema.room_figures import FIGURES

STAGES = ("incubation", "fruiting")
"""What a room is for, as its row says."""
FIRST_ROOMS = {stage: f"{stage.capitalize()} room" for stage in STAGES}
"""The names of the rooms that a new workbook starts with, and an earlier one had, by stage."""
MOST_ROOMS = 8
"""So many rooms have their figures and their days on the sheet."""

_TEMPERATURE = "-50 to 60"
_LEVEL = "100 to 100000"
_SIDE = "above 0 to 200"
_COLD_SIDE = "CHOOSE(1+COUNT({beyond}),{cold_temperature},{beyond})"
_HOT_SIDE = "CHOOSE(1+COUNT({beyond_hot}),{hot_temperature},{beyond_hot})"


def _of_its_room(column: str) -> str:
    """Look up a column of the room that a surface belongs to."""
    return f"INDEX({{rooms.{column}}},MATCH({{room}},{{rooms.room}},0))"


_INSIDE = _of_its_room("temperature")
_WALL = "{r_value}+{surface_resistance}+{outer_resistance}"


def _assumed(value: float, us: float | None = None) -> Start:
    return Start(value, us, ASSUMPTION)


_SIZES = {"height": _assumed(2.5, 8.0), "length": _assumed(8.0, 26.0)}
_STARTS = (
    {
        "room": Start(FIRST_ROOMS["incubation"]),
        "stage": Start("incubation"),
        "spaces": _assumed(600.0),
        **_SIZES,
        "width": _assumed(5.0, 16.0),
        "temperature": _assumed(21.0, 70.0),
        "humidity": _assumed(0.6),
        "ppm": _assumed(3000.0),
        "equipment": _assumed(100.0),
        "filled": _assumed(0.5),
    },
    {
        "room": Start(FIRST_ROOMS["fruiting"]),
        "stage": Start("fruiting"),
        "spaces": _assumed(400.0),
        **_SIZES,
        "width": _assumed(4.0, 13.0),
        "temperature": _assumed(16.0, 61.0),
        "humidity": _assumed(0.9),
        "ppm": Start(
            1000.0,
            source="Stamets, Growing Gourmet & Medicinal Mushrooms, p. 214: below 1000 ppm.",
        ),
        "equipment": _assumed(200.0),
        "standing": _assumed(40.0, 90.0),
        "fogger_output": _assumed(5.0, 11.0),
    },
)

ROOMS = Table(
    "rooms",
    "Rooms",
    (
        Field("room", "Room", "text", help="A name for each incubation and fruiting room."),
        Field(
            "stage",
            "Stage",
            "choice",
            choices="|".join(STAGES),
            help="What the room is for.",
        ),
        Field(
            "spaces",
            "Shelf spaces",
            "count",
            "1 or more, whole",
            "Blocks that fit on the shelves of the room.",
        ),
        *(
            Field(side, side.capitalize(), "m", _SIDE, "Inside.")
            for side in ("length", "width", "height")
        ),
        Field(
            "temperature",
            "Temperature",
            "°C",
            _TEMPERATURE,
            "Of the air in the room; blocks in incubation are warmer inside.",
        ),
        Field(
            "humidity",
            "Humidity",
            "fraction",
            "above 0 to 1",
            "Relative humidity that you hold in the room.",
            lowest=0.1,
            usual=0.9,
        ),
        Field(
            "ppm",
            "CO2 limit",
            "ppm",
            _LEVEL,
            "In fruiting, more makes long stems and small caps. In incubation, mycelium tolerates "
            "more; people work there too.",
        ),
        Field(
            "equipment",
            "Equipment",
            "W",
            "0 to 100000",
            "Lights, fans, pumps: all the power they draw becomes heat.",
        ),
        Field(
            "filled",
            "Filled on the coldest night",
            "fraction",
            "0 to 1",
            "Incubation only: share of the shelf spaces; blocks help to heat the room.",
            lowest=0.02,
            usual=0.5,
            required=False,
        ),
        Field(
            "standing",
            "Mushrooms on the fullest day",
            "kg",
            "0 or more",
            "Fruiting only: on all blocks, just before picking.",
            required=False,
        ),
        Field(
            "fan_flow",
            "Fan air flow",
            "m³/h",
            "above 0",
            "Measured at the inlet; blank if you don't know.",
            required=False,
        ),
        Field(
            "fogger_output",
            "Fogger output",
            "kg/h",
            "above 0",
            "Weigh the water it uses in an hour; blank if there is none.",
            required=False,
        ),
        Field(
            "closed_from",
            "Closed from",
            "date",
            FIRST_DATE,
            "First day without blocks, such as for cleaning; blank if it is open.",
            required=False,
        ),
        Field(
            "closed_until",
            "Closed until",
            "date",
            FIRST_DATE,
            "Last day without blocks.",
            required=False,
        ),
        *FIGURES,
        line_of("rooms", "room"),
    ),
    rows=MOST_ROOMS,
    faults=(
        Rule(
            "filled",
            "is blank, and an incubation room needs it",
            '({stage}="incubation")*COUNTBLANK({filled})',
        ),
        Rule(
            "standing",
            "is blank, and a fruiting room needs it",
            '({stage}="fruiting")*COUNTBLANK({standing})',
        ),
        Rule(
            "closed_from",
            "is blank, and a day is typed as closed until",
            "COUNTBLANK({closed_from})*COUNT({closed_until})",
        ),
        Rule(
            "closed_until",
            "is blank, and a day is typed as closed from",
            "COUNTBLANK({closed_until})*COUNT({closed_from})",
        ),
        Rule(
            "closed_until",
            "before the day it is closed from",
            "COUNT({closed_from})*COUNT({closed_until})*(N({closed_until})<N({closed_from}))",
        ),
    ),
    starts=_STARTS,
)

SURFACES = Table(
    "surfaces",
    "Walls, ceilings, floors, doors",
    (
        Field("surface", "Surface", "text", help="Wall, ceiling, floor, door, window."),
        Field("room", "Room", "choice", choices="rooms.room", help="The room it belongs to."),
        Field("area", "Area", "m²", "0 or more", "Length times height, without doors."),
        Field(
            "r_value",
            "R-value",
            "m²·K/W",
            "above 0",
            "All layers of the wall together, without the air on either side.",
        ),
        Field(
            "beyond",
            "Coldest, other side",
            "°C",
            _TEMPERATURE,
            "Blank: the coldest night. A floor or an inner wall is warmer.",
            required=False,
        ),
        Field(
            "beyond_hot",
            "Hottest, other side",
            "°C",
            "-50 to 90",
            "Blank: the hottest day. A roof in the sun is hotter, a floor colder.",
            required=False,
        ),
        Computed(
            "loss",
            "Heat lost",
            "W",
            f"CFX.WALL_HEAT_LOSS({{area}},{_WALL},{_INSIDE},{_COLD_SIDE})",
            "Through the surface on the coldest night.",
        ),
        Computed(
            "gain",
            "Heat gained",
            "W",
            f"-CFX.WALL_HEAT_LOSS({{area}},{_WALL},{_INSIDE},{_HOT_SIDE})",
            "Through the surface on the hottest day; below zero it cools the room.",
        ),
        Computed(
            "face",
            "Inner surface",
            "°C",
            f"{_INSIDE}-({_INSIDE}-{_COLD_SIDE})*{{shelf_resistance}}"
            "/({r_value}+{shelf_resistance}+{outer_resistance})",
            "Temperature behind shelves on the coldest night.",
        ),
        Computed(
            "state",
            "State",
            "state",
            f'CHOOSE(1+({{face}}<{_of_its_room("dew_point")}),"dry","sweats")',
            "It sweats where its surface is colder than the dew point of the room.",
        ),
    ),
    rows=24,
    unique=False,
)
