"""What the row of a room adds up to: its air, heat, cooling and fog, out of sight.

The Rooms sheet shows them in lists of their own, a row for each room. What does not apply to the
stage of a room looks empty.
"""

from __future__ import annotations

from workbook_template.schema.fields import Computed

_OF_ROOM = "{surfaces.room},{room}"
_FRUITS = '({stage}="fruiting")'
_INCUBATES = '({stage}="incubation")'


def _figure(key: str, label: str, unit: str, formula: str, note: str) -> Computed:
    return Computed(key, label, unit, formula, note, is_working=True)


def _walls(column: str) -> str:
    """Add up a column of the surfaces of a room; blank while one of them is not known."""
    known = "+".join(
        f'COUNTIFS({_OF_ROOM},{{surfaces.{column}}},"{sign}0")' for sign in (">=", "<")
    )
    total = f"SUMIFS({{surfaces.{column}}},{_OF_ROOM})"
    return f'CHOOSE(1+({known}=MAX(1,COUNTIF({_OF_ROOM}))),"",{total})'


def _through_air(function: str, weather: str) -> str:
    outside = f"{{{weather}_temperature}},{{{weather}_humidity}}"
    return f"CFX.{function}({{air_used}},{outside},{{temperature}},{{humidity}},{{altitude}})"


def _fog(weather: str) -> str:
    return f'CHOOSE(1+{_FRUITS},"",{_through_air("HUMIDIFYING_WATER", weather)})'


AIR = (
    _figure(
        "volume",
        "Room volume",
        "m³",
        "{length}*{width}*{height}",
        "Empty; shelves and blocks take some of it.",
    ),
    _figure(
        "source",
        "CO2 of a full room",
        "g/h",
        f"CHOOSE(1+{_FRUITS},{{spaces}}*{{block_mass}}*{{colony_carbon_dioxide}},"
        "{spaces}*{block_mass}*{fruiting_carbon_dioxide}+{standing}*{mushroom_carbon_dioxide})",
        "All shelf spaces times the mass of a bag, in fruiting with the mushrooms.",
    ),
    _figure(
        "air",
        "Fresh air needed",
        "m³/h",
        'CHOOSE(1+({ppm}>{outdoor_ppm}),"",CFX.FRESH_AIR({source},{ppm},{outdoor_ppm},{altitude}))',
        "To stay below the CO2 limit with a full room.",
    ),
    _figure(
        "changes",
        "Air changes per hour",
        "number",
        "CFX.AIR_CHANGES({air},{volume})",
        "Fresh air over room volume.",
    ),
    _figure(
        "fan_ppm",
        "CO2 with your fan",
        "ppm",
        "CFX.ROOM_CARBON_DIOXIDE({source},{fan_flow},{outdoor_ppm},{altitude})",
        "Where the level settles with the fan always on.",
    ),
    _figure(
        "fan_blocks",
        "Blocks your fan holds",
        "count",
        'CHOOSE(1+({air}>0),"",INT({spaces}*{fan_flow}/{air}+{rounding}))',
        "So many, with their part of the mushrooms, stay below the CO2 limit, fan always on.",
    ),
    _figure(
        "air_used",
        "Fresh air for fog, heat and cooling",
        "m³/h",
        "MAX({air},N({fan_flow}))",
        "The larger of fresh air needed and fan air flow.",
    ),
)
COLD = (
    _figure(
        "walls",
        "Wall heat loss",
        "W",
        _walls("loss"),
        "From the list of surfaces, on the coldest night.",
    ),
    _figure(
        "air_heat",
        "Heat for the fresh air",
        "kW",
        _through_air("AIR_HEAT", "cold"),
        "On the coldest night, evaporating the fog included.",
    ),
    _figure(
        "colony_heat",
        "Heat of the colony",
        "W",
        f'CHOOSE(1+{_INCUBATES},"",CFX.RESPIRATION_HEAT({{source}}*{{filled}}))',
        "Incubation: from the shelf spaces filled that night, by their CO2.",
    ),
    _figure(
        "heater",
        "Heater",
        "kW",
        f"CHOOSE(1+{_INCUBATES}*(1-COUNT({{?colony_heat}})),"
        'CFX.HEATER_POWER({walls},{air_heat},N({?colony_heat}),{heater_margin}),"")',
        "Walls and fresh air, less the colony, with the safety margin; heat of the fruiting crop "
        "not counted.",
    ),
    _figure(
        "fog_cold",
        "Fog needed, coldest night",
        "kg/h",
        _fog("cold"),
        "Fruiting: to humidify the fresh air.",
    ),
    _figure(
        "dew_point",
        "Dew point",
        "°C",
        "CFX.DEW_POINT({temperature},{humidity})",
        "Surfaces below this sweat.",
    ),
    _figure(
        "sweating",
        "Surfaces that sweat",
        "count",
        f'COUNTIFS({_OF_ROOM},{{surfaces.state}},"sweats")',
        "See the list of surfaces; more insulation or drier air helps.",
    ),
)
HOT = (
    _figure(
        "gain",
        "Wall heat gain",
        "W",
        _walls("gain"),
        "From the list of surfaces, on the hottest day.",
    ),
    _figure(
        "air_heat_hot",
        "Fresh air heat",
        "kW",
        _through_air("AIR_HEAT", "hot"),
        "On the hottest day; below zero: so much cooling it takes.",
    ),
    _figure(
        "full_heat",
        "Heat of a full room",
        "W",
        "CFX.RESPIRATION_HEAT({source})",
        "Substrate and mushrooms, by their CO2.",
    ),
    _figure(
        "cooling",
        "Cooling",
        "kW",
        "CFX.COOLING_POWER({gain},{air_heat_hot},{full_heat},{equipment},{heater_margin})",
        "A full room, walls, fresh air and equipment.",
    ),
    _figure(
        "fog_hot",
        "Fog needed, hottest day",
        "kg/h",
        _fog("hot"),
        "Fruiting: 0 where outside air is humid enough.",
    ),
    _figure(
        "fogger_share",
        "Fogger load",
        "fraction",
        "MAX({fog_cold},{fog_hot})/{fogger_output}",
        "The larger need of the two days over fogger output; above 100 % the fogger is too small.",
    ),
)
_BEYOND_FAN = _figure(
    "airless",
    "Shelf spaces beyond the fan",
    "count",
    f'CHOOSE(1+{_FRUITS},"",MAX(0,{{spaces}}-{{fan_blocks}}))',
    "Fruiting: spaces for more blocks than the fan holds.",
)
FIGURES = (*AIR, *COLD, *HOT, _BEYOND_FAN)
"""In the order in which the sheet shows them, and one that no list shows."""
