"""The cold room on the Rooms sheet: heat to take out, the cooling for it, the weight lost there."""

from __future__ import annotations

from workbook_template.schema.rooms import COLD_ROOM
from workbook_template.writing.blocks import Calculated, Check, Form, Lines

_COOLED = "{storage_mass},{storage_start},{storage_end},{storage_hours},{fresh_moisture}"
_POSSIBLE = "({storage_end}<={storage_start})"
_FRESH = '({products.form}="fresh")*1,{products.packs_per_week}'
_FRESH_MASS = f"SUMPRODUCT({_FRESH},{{products.mass}})"

_RESULTS = (
    Calculated(
        "storage_heat",
        "Heat of a day's harvest",
        "kWh",
        f'CHOOSE(1+{_POSSIBLE},"",CFX.COLD_ROOM_POWER({_COOLED})*{{storage_hours}})',
        "To take out until it is as cold as the room.",
    ),
    Calculated(
        "storage_respiration",
        "Respiration heat",
        "W",
        "CFX.HARVEST_HEAT({storage_mass},AVERAGE({storage_start},{storage_end}))"
        "+CFX.HARVEST_HEAT({storage_mass}*MAX(0,{storage_days}-1),{storage_end})",
        "Today's harvest while it cools, earlier ones cold; oysters (Bohling & Hansen 1989).",
    ),
    Calculated(
        "storage_power",
        "Cooling power",
        "kW",
        f'CHOOSE(1+{_POSSIBLE},"",CFX.COLD_ROOM_POWER({_COOLED},{{storage_respiration}},'
        "{storage_gain},{storage_margin}))",
        "Heat taken out, as cooling units are rated; not its electricity.",
        is_key=True,
    ),
    Calculated(
        "storage_lost",
        "Weight loss of a day's harvest",
        "kg",
        "CFX.STORAGE_LOSS({storage_mass},{storage_days},{storage_daily_loss})",
        "Water lost until it is sold.",
        is_key=True,
    ),
    Calculated(
        "storage_price",
        "Average fresh price",
        "money/kg",
        f'CHOOSE(1+({_FRESH_MASS}>0),"",SUMPRODUCT({_FRESH},{{products.price}})/{_FRESH_MASS})',
        "Packs of a usual week, before fees.",
    ),
    Calculated(
        "storage_lost_money",
        "Value of the weight lost",
        "money",
        "{storage_lost}*{storage_price}",
        "A day's harvest, if it is sold by weight.",
        is_key=True,
    ),
)

_WORDS = (
    "Cool what you pick at once, and keep it near 1.5 °C (35 °F): picked button mushrooms kept 5 "
    "to 7 days there, and 2 days at 4.5 °C (40 °F) (Suslow & Cantwell, UC Davis). Damp air and "
    "covered crates lose less weight.",
    "A walk-in cold room has to open from inside, and needs fresh air: mushrooms breathe out CO2. "
    "Refrigeration, its wiring and refrigerant are for licensed practice under local codes.",
)

BLOCKS = (
    Form(COLD_ROOM.title, (*COLD_ROOM.fields, *_RESULTS)),
    Lines("In the cold room", _WORDS, "farm caution"),
)

CHECKS = (Check("Cold room: not warmer than what comes in", "({storage_end}>{storage_start})*1"),)
