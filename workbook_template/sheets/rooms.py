"""Rooms: air, heat, cooling and fog of each room, measured where a meter can tell."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.room_figures import AIR, COLD, HOT
from workbook_template.schema.room_rows import MOST_ROOMS, ROOMS, STAGES, SURFACES
from workbook_template.schema.rooms import CROP_AIR, METER, OUTSIDE, SENSOR, STACK
from workbook_template.sheets import cold_room, occupancy
from workbook_template.writing.blocks import (
    Calculated,
    Check,
    Form,
    Grid,
    Lines,
    Sheet,
    TableBlock,
)
from workbook_template.writing.still_needed import Missing

if TYPE_CHECKING:
    from collections.abc import Sequence


def _figures(key: str, title: str, columns: Sequence[Computed]) -> Grid:
    """List some figures of the rooms, a row for each."""
    return Grid(
        key,
        title,
        (
            Computed("room", "Room", "state", 'INDEX({rooms.room},{line})&""'),
            *(
                Computed(
                    one.key, one.label, one.unit, f"INDEX({{rooms.{one.key}}},{{line}})*1", one.help
                )
                for one in columns
            ),
            Counter("line"),
        ),
        rows=MOST_ROOMS,
    )


def _places(stage: str) -> Calculated:
    spaces = f'SUMIFS({{rooms.spaces}},{{rooms.stage}},"{stage}")'
    return Calculated(
        f"{stage}_places",
        f"Shelf spaces, {stage}",
        "count",
        f'CHOOSE(1+({spaces}>0),"",{spaces})',
        "Of all rooms of the stage in the list.",
        is_key=True,
    )


_PLACES = Form(
    "All rooms of a stage",
    (
        *map(_places, STAGES),
        Calculated(
            "fruiting_air",
            "Blocks that shelves and fans hold",
            "count",
            'CHOOSE(1+(COUNT({rooms.airless})>0),"",MAX(1,{fruiting_places}-SUM({rooms.airless})))',
            "All fruiting rooms, at their CO2 limits. Blank until a fan air flow is typed; a room "
            "without one counts by its shelves.",
        ),
    ),
)
_WALLED = Form(
    "Rooms with all their walls",
    (
        Calculated(
            "rooms_walled",
            "Rooms with all walls listed",
            "count",
            'CHOOSE(1+(COUNT({rooms.walls})=MAX(1,COUNTA({rooms.room}))),"",COUNT({rooms.walls}))',
            "Blank while one lacks some.",
        ),
    ),
)

_EDGES = "{core_thickness},{core_width},{core_edge}"
_STACK_EDGES = "{stack_height},{stack_depth},{stack_length}"


def _rise(edges: str) -> str:
    colony = "{colony_carbon_dioxide},{core_density}"
    return f"CFX.COLONY_CORE_RISE({colony},{edges},{{cooling_conductivity}})"


_IS_INCUBATION = '({rooms.stage}="incubation")'
_WARMTH = (
    Calculated(
        "incubation_warmest",
        "Warmest incubation room",
        "°C",
        f'CHOOSE(1+(SUMPRODUCT({_IS_INCUBATION}*1)>0),"",'
        f"SUMPRODUCT(MAX({_IS_INCUBATION}*{{rooms.temperature}})))",
        "From the list of rooms.",
    ),
    Calculated(
        "block_rise",
        "Core rise, single block",
        "K",
        _rise(_EDGES),
        "Core over surface, by the block and the conductivity on the Steam sheet.",
    ),
    Calculated(
        "block_middle",
        "Core temperature, single block",
        "°C",
        "{incubation_warmest}+{block_rise}",
        "Air on all sides, in that room.",
    ),
    Calculated(
        "stack_rise",
        "Core rise, tight stack",
        "K",
        _rise(_STACK_EDGES),
        "Grows with the square of its size.",
        waits_for=("stack_height", "stack_depth", "stack_length"),
    ),
    Calculated(
        "stack_middle",
        "Core temperature, tight stack",
        "°C",
        "{incubation_warmest}+{stack_rise}",
        "Once it has settled. Based on assumptions: put a probe there.",
        is_key=True,
    ),
    Calculated(
        "stack_state",
        "Tight stack",
        "state",
        'CHOOSE(1+({stack_middle}>{colony_hottest}),"fine","too warm: leave gaps")',
        "A core that is too warm grows slowly, sours or dies.",
        is_key=True,
    ),
)


def _of_metered_room(key: str) -> str:
    return f"INDEX({{rooms.{key}}},MATCH({{metered_room}},{{rooms.room}},0))"


_DECAY = "{decay_minutes}/60,{decay_start},{decay_end},{outdoor_ppm}"
_RISE = "{rise_minutes}/60,{rise_start},{rise_end}," + _of_metered_room("volume") + ",{altitude}"

_METERED = (
    Calculated(
        "metered_changes",
        "Air changes per hour, measured",
        "number",
        f'CHOOSE(1+CFX.AIR_CHANGES_FROM_DECAY.HOLDS({_DECAY}),"",'
        f"CFX.AIR_CHANGES_FROM_DECAY({_DECAY}))",
        "From the two readings in the empty room.",
        waits_for=("metered_room",),
    ),
    Calculated(
        "metered_flow",
        "Fresh air, measured",
        "m³/h",
        f"{{metered_changes}}/CFX.AIR_CHANGES(1,{_of_metered_room('volume')})",
        "Air changes times room volume: type it in the list of rooms as fan air flow.",
        is_key=True,
    ),
    Calculated(
        "metered_share",
        "Measured over needed",
        "fraction",
        f"{{metered_flow}}/{_of_metered_room('air')}",
        "Below 100 %: a full room goes above its CO2 limit.",
    ),
    Calculated(
        "metered_source",
        "CO2 given off, measured",
        "g/h",
        f'CHOOSE(1+CFX.CARBON_DIOXIDE_FROM_RISE.HOLDS({_RISE}),"",'
        f"CFX.CARBON_DIOXIDE_FROM_RISE({_RISE}))",
        "From the two readings with the vents closed; leaks make it too low.",
        waits_for=("metered_room",),
    ),
    Calculated(
        "metered_of_mass",
        "CO2 per mass of blocks",
        "g/(h·kg)",
        "{metered_source}/({rise_blocks}*{block_mass})",
        "Type it above, as CO2 of colonizing substrate or of fruiting blocks.",
        is_key=True,
    ),
)

_MEASURED = (
    Calculated(
        "measured_humidity",
        "Humidity by the thermometers",
        "fraction",
        'CHOOSE(1+({wet_bulb}<={dry_bulb}),"",CFX.RELATIVE_HUMIDITY({dry_bulb},{wet_bulb},'
        "{altitude}))",
        "Blank if the wet one reads higher than the dry one: read again.",
        waits_for=("dry_bulb", "wet_bulb"),
    ),
    Calculated(
        "sensor_error",
        "Sensor error",
        "fraction",
        "{sensor_humidity}-{measured_humidity}",
        "Above zero: it reads high.",
        waits_for=("sensor_humidity",),
    ),
    Calculated(
        "sensor_state",
        "Sensor",
        "state",
        'CHOOSE(1+(ABS({sensor_error})>{sensor_allowed}),"agrees",'
        'CHOOSE(1+({sensor_error}>0),"reads low",'
        '"reads high"))',
        "If it is off: clean it, adjust it, check again.",
        is_key=True,
    ),
)

_CHECKS = (
    Check(
        "CO2 limit of a room is above outside air",
        'COUNTIF({rooms.ppm},"<="&{outdoor_ppm})',
    ),
    Check(
        "CO2 limit of a room is within the limit for people",
        'COUNTIF({rooms.ppm},">"&{people_ppm})',
    ),
    Check(
        "CO2 with your fan is within the limit for people",
        'COUNTIF({rooms.fan_ppm},">"&{people_ppm})',
    ),
    Check(
        "Rooms whose fan, on all the time, leaves more CO2 than wanted",
        # A text is above any number, and so never within the limit for people.
        "SUMPRODUCT(({rooms.fan_ppm}>{rooms.ppm})*({rooms.ppm}>0)*({rooms.fan_ppm}<={people_ppm}))",
        is_warning=True,
    ),
    Check(
        "CO2 meter: the empty room falls, and stays above outside air",
        "COUNT({decay_start})*COUNT({decay_end})"
        "*((N({decay_end})>N({decay_start}))+(N({decay_end})<={outdoor_ppm})>0)",
    ),
    Check(
        "CO2 meter: the level rises with the vents closed",
        "COUNT({rise_start})*COUNT({rise_end})*(N({rise_end})<N({rise_start}))",
    ),
    Check(
        "Wet thermometer is not above the dry one",
        "(N({wet_bulb})>N({dry_bulb}))*COUNT({dry_bulb})",
    ),
    Check(
        "Humidity by the thermometers is possible",
        "(N({measured_humidity})<0)*1",
    ),
)

_CAUTIONS = (
    "Carbon dioxide: 5000 ppm over 8 hours (OSHA PEL) and 30 000 ppm for a short time (ACGIH STEL) "
    "are limits for people. Ventilate before you work in a closed room, and carry a meter.",
    "Spores make growers ill: of 14 workers of one shiitake farm, 11 reported 15 or more symptoms "
    "(Lenhart & Cole 1993). Pick before the caps flatten, and wear a respirator that fits.",
    "Fog machines can carry Legionella (Mahoney et al. 1992): use potable water, drain them, and "
    "clean and disinfect them as their makers say.",
    "Electricity in wet rooms: ground-fault protection, equipment made for wet places, and a "
    "licensed electrician. Heaters and fans by their makers' instructions.",
    "Wet blocks are heavy: have floor and shelves checked for the load, and shelves anchored. "
    "Local codes and licensed practice come before anything computed here.",
)


_WIDTHS = (27, 16, 10, 11, 9, 9, 12.5, 10, 9, 11, 11, 11.5, 9, 9, 11.5, 11.5, 30)
"""The sentences beside the surfaces run on over the empty cells behind them."""
_ABOUT = (
    "A row for each room. The figures that a new workbook starts with are assumptions: type your "
    "own over them. Leave blank what a room has not, such as a fogger.",
)


def sheet() -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Rooms",
        purpose="Spaces, fresh air, heat, cooling and water of each room, and what a meter says.",
        blocks=[
            Lines("Cautions", _CAUTIONS, "farm caution"),
            Missing(
                ("incubation_places", "fruiting_places", "rooms_walled"),
                notes=(
                    ('"an incubation room, in the list of rooms"', "incubation_places"),
                    ('"a fruiting room, in the list of rooms"', "fruiting_places"),
                    ('"all walls of each room, in the list of surfaces"', "rooms_walled"),
                ),
            ),
            Lines("About the list of rooms", _ABOUT),
            TableBlock(ROOMS),
            _PLACES,
            occupancy.OVER_FULL,
            _figures("room_air", "Fresh air", AIR),
            _figures("room_cold", "Coldest night", COLD),
            _figures("room_hot", "Hottest day", HOT),
            TableBlock(SURFACES),
            Form(OUTSIDE.title, OUTSIDE.fields),
            Form(CROP_AIR.title, CROP_AIR.fields),
            Form(STACK.title, (*STACK.fields, *_WARMTH)),
            Form(METER.title, (*METER.fields, *_METERED)),
            Form(SENSOR.title, (*SENSOR.fields, *_MEASURED)),
            *cold_room.BLOCKS,
        ],
        workings=[_WALLED, *occupancy.WORKINGS],
        widths=_WIDTHS,
        pages_high=2,
        checks=(*_CHECKS, *occupancy.CHECKS, *cold_room.CHECKS),
    )
