"""Rooms: air, heat, cooling and fog of both rooms, measured where a meter can tell."""

from __future__ import annotations

from workbook_template.schema.rooms import (
    FRUITING_ROOM,
    INCUBATION_ROOM,
    METER,
    OUTSIDE,
    SENSOR,
    STACK,
    SURFACES,
)
from workbook_template.sheets import cold_room
from workbook_template.writing.blocks import (
    Calculated,
    Check,
    Form,
    Lines,
    NewPage,
    Sheet,
    TableBlock,
)
from workbook_template.writing.still_needed import Missing


def _walls(room: str, column: str) -> str:
    own = f'{{surfaces.room}},"{room}"'
    known = "+".join(f'COUNTIFS({own},{{surfaces.{column}}},"{sign}0")' for sign in (">=", "<"))
    total = f"SUMIFS({{surfaces.{column}}},{own})"
    return f'CHOOSE(1+({known}=MAX(1,COUNTIF({own}))),"",{total})'


def _fresh_air(room: str) -> str:
    level = f"{{{room}_ppm}}"
    flow = f"CFX.FRESH_AIR({{{room}_source}},{level},{{outdoor_ppm}},{{altitude}})"
    return f'CHOOSE(1+({level}>{{outdoor_ppm}}),"",{flow})'


def _through_air(function: str, room: str, flow: str, weather: str) -> str:
    outside = f"{{{weather}_temperature}},{{{weather}_humidity}}"
    inside = f"{{{room}_temperature}},{{{room}_humidity}}"
    return f"CFX.{function}({{{flow}}},{outside},{inside},{{altitude}})"


def _volume(room: str) -> Calculated:
    return Calculated(
        f"{room}_volume",
        "Room volume",
        "m³",
        f"{{{room}_length}}*{{{room}_width}}*{{{room}_height}}",
        "Empty; shelves and blocks take some of it.",
    )


def _dew_point(room: str) -> Calculated:
    return Calculated(
        f"{room}_dew_point",
        "Dew point",
        "°C",
        f"CFX.DEW_POINT({{{room}_temperature}},{{{room}_humidity}})",
        "Surfaces below this sweat.",
    )


def _dripping(room: str) -> Calculated:
    return Calculated(
        f"{room}_dripping",
        "Surfaces that sweat",
        "count",
        f'COUNTIFS({{surfaces.room}},"{room}",{{surfaces.state}},"sweats")',
        "See the list of surfaces; more insulation or drier air helps.",
    )


def _cooling(room: str, flow: str, note: str) -> tuple[Calculated, ...]:
    """List what comes in on the hottest day, and the cooling that it takes."""
    return (
        Calculated(
            f"{room}_gain",
            "Wall heat gain, hottest day",
            "W",
            _walls(room, "gain"),
            "From the list of surfaces.",
        ),
        Calculated(
            f"{room}_heat_hot",
            "Fresh air heat, hottest day",
            "kW",
            _through_air("AIR_HEAT", room, flow, "hot"),
            "Below zero: takes cooling.",
        ),
        Calculated(
            f"{room}_full_heat",
            "Heat of a full room",
            "W",
            f"CFX.RESPIRATION_HEAT({{{room}_source}})",
            "Substrate and mushrooms, by their CO2.",
        ),
        Calculated(
            f"{room}_cooling",
            "Cooling",
            "kW",
            f"CFX.COOLING_POWER({{{room}_gain}},{{{room}_heat_hot}},{{{room}_full_heat}},"
            f"{{{room}_equipment}},{{heater_margin}})",
            note,
            is_key=True,
        ),
    )


_INCUBATION = (
    _volume("incubation"),
    Calculated(
        "incubation_source",
        "CO2 of a full room",
        "g/h",
        "{incubation_places}*{block_mass}*{colony_carbon_dioxide}",
        "All shelf spaces on the Farm sheet, times the mass of a bag.",
    ),
    Calculated(
        "incubation_air",
        "Fresh air needed",
        "m³/h",
        _fresh_air("incubation"),
        "To stay below the CO2 limit with a full room.",
        is_key=True,
    ),
    Calculated(
        "incubation_changes",
        "Air changes per hour",
        "number",
        "CFX.AIR_CHANGES({incubation_air},{incubation_volume})",
        "Fresh air over room volume.",
    ),
    Calculated(
        "incubation_walls",
        "Wall heat loss",
        "W",
        _walls("incubation", "loss"),
        "From the list of surfaces, on the coldest night.",
    ),
    Calculated(
        "incubation_air_heat",
        "Heat for the fresh air",
        "kW",
        _through_air("AIR_HEAT", "incubation", "incubation_air", "cold"),
        "On the coldest night.",
    ),
    Calculated(
        "colony_heat",
        "Heat of the colony",
        "W",
        "CFX.RESPIRATION_HEAT({incubation_source}*{incubation_filled})",
        "From the shelf spaces filled that night, by their CO2.",
    ),
    Calculated(
        "incubation_heater",
        "Heater",
        "kW",
        "CFX.HEATER_POWER({incubation_walls},{incubation_air_heat},{colony_heat},{heater_margin})",
        "Walls and fresh air, less the colony, with the safety margin.",
        is_key=True,
    ),
    *_cooling("incubation", "incubation_air", "A full room, walls, fresh air and equipment."),
    _dew_point("incubation"),
    _dripping("incubation"),
)

_FRUITING = (
    _volume("fruiting"),
    Calculated(
        "fruiting_source",
        "CO2 of a full room",
        "g/h",
        "{fruiting_places}*{block_mass}*{fruiting_carbon_dioxide}"
        "+{mushrooms_standing}*{mushroom_carbon_dioxide}",
        "All shelf spaces on the Farm sheet, and the mushrooms.",
    ),
    Calculated(
        "fruiting_air",
        "Fresh air needed",
        "m³/h",
        _fresh_air("fruiting"),
        "To stay below the CO2 limit on the fullest day.",
        is_key=True,
    ),
    Calculated(
        "fruiting_changes",
        "Air changes per hour",
        "number",
        "CFX.AIR_CHANGES({fruiting_air},{fruiting_volume})",
        "Fresh air over room volume.",
    ),
    Calculated(
        "fan_ppm",
        "CO2 with your fan",
        "ppm",
        "CFX.ROOM_CARBON_DIOXIDE({fruiting_source},{fan_flow},{outdoor_ppm},{altitude})",
        "Where the level settles with the fan always on.",
        waits_for=("fan_flow",),
    ),
    Calculated(
        "fruiting_air_used",
        "Fresh air for fog, heat and cooling",
        "m³/h",
        "MAX({fruiting_air},N({fan_flow}))",
        "The larger of fresh air needed and fan air flow.",
    ),
    Calculated(
        "fruiting_water_cold",
        "Fog needed, coldest night",
        "kg/h",
        _through_air("HUMIDIFYING_WATER", "fruiting", "fruiting_air_used", "cold"),
        "To humidify the fresh air.",
    ),
    Calculated(
        "fruiting_water_hot",
        "Fog needed, hottest day",
        "kg/h",
        _through_air("HUMIDIFYING_WATER", "fruiting", "fruiting_air_used", "hot"),
        "0 where outside air is humid enough.",
    ),
    Calculated(
        "fogger_share",
        "Fogger load",
        "fraction",
        "MAX({fruiting_water_cold},{fruiting_water_hot})/{fogger_output}",
        "Larger of the two over fogger output; above 100 % the fogger is too small.",
        is_key=True,
    ),
    Calculated(
        "fruiting_heat_cold",
        "Heat for the fresh air",
        "kW",
        _through_air("AIR_HEAT", "fruiting", "fruiting_air_used", "cold"),
        "On the coldest night, evaporating the fog included.",
    ),
    Calculated(
        "fruiting_walls",
        "Wall heat loss",
        "W",
        _walls("fruiting", "loss"),
        "From the list of surfaces, on the coldest night.",
    ),
    Calculated(
        "fruiting_heater",
        "Heater",
        "kW",
        "CFX.HEATER_POWER({fruiting_walls},{fruiting_heat_cold},0,{heater_margin})",
        "Walls and fresh air, with the safety margin; heat of the crop not counted.",
        is_key=True,
    ),
    *_cooling("fruiting", "fruiting_air_used", "A full room, walls, fresh air and equipment."),
    _dew_point("fruiting"),
    _dripping("fruiting"),
)

_EDGES = "{core_thickness},{core_width},{core_edge}"
_STACK_EDGES = "{stack_height},{stack_depth},{stack_length}"


def _rise(edges: str) -> str:
    colony = "{colony_carbon_dioxide},{core_density}"
    return f"CFX.COLONY_CORE_RISE({colony},{edges},{{cooling_conductivity}})"


_WARMTH = (
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
        "{incubation_temperature}+{block_rise}",
        "Air on all sides, room at the incubation temperature.",
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
        "{incubation_temperature}+{stack_rise}",
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
    return f'CHOOSE(1+({{metered_room}}="fruiting"),{{incubation_{key}}},{{fruiting_{key}}})'


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
        "Air changes times room volume; for fruiting, type it above as fan air flow.",
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
        "({incubation_ppm}<={outdoor_ppm})+({fruiting_ppm}<={outdoor_ppm})",
    ),
    Check(
        "CO2 limit of a room is within the limit for people",
        "({incubation_ppm}>{people_ppm})+({fruiting_ppm}>{people_ppm})",
    ),
    Check(
        "CO2 with your fan is within the limit for people",
        "(N({fan_ppm})>{people_ppm})*1",
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


def sheet() -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Rooms",
        purpose="Fresh air, heat, cooling and water of the rooms, and what a meter says.",
        blocks=[
            Lines("Cautions", _CAUTIONS, "farm caution"),
            Missing(
                ("incubation_heater", "fogger_share", "fruiting_heater"),
                notes=(
                    (
                        '"all walls of the incubation room, in the list of surfaces"',
                        "incubation_walls",
                    ),
                    ('"all walls of the fruiting room, in the list of surfaces"', "fruiting_walls"),
                ),
            ),
            Form(OUTSIDE.title, OUTSIDE.fields),
            Form(INCUBATION_ROOM.title, (*INCUBATION_ROOM.fields, *_INCUBATION)),
            Form(FRUITING_ROOM.title, (*FRUITING_ROOM.fields, *_FRUITING)),
            NewPage(),
            Form(STACK.title, (*STACK.fields, *_WARMTH)),
            Form(METER.title, (*METER.fields, *_METERED)),
            Form(SENSOR.title, (*SENSOR.fields, *_MEASURED)),
            *cold_room.BLOCKS,
            TableBlock(SURFACES),
        ],
        widths=(34, 17, 13, 15, 13, 13, 12, 12, 12, 12),
        checks=(*_CHECKS, *cold_room.CHECKS),
    )
