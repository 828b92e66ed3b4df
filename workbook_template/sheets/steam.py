"""Steam: heat, water and hours of a load, and the lethality of a run."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema import look_up
from workbook_template.schema.steam import COOLING, CORE, LETHALITY, STEAM, STEAM_LOG
from workbook_template.writing.blocks import (
    ROUNDING,
    Calculated,
    Check,
    Custom,
    Form,
    Lines,
    NewPage,
    Sheet,
    TableBlock,
)
from workbook_template.writing.charts import CHART_ROWS, Chart, add_chart
from workbook_template.writing.still_needed import Missing

if TYPE_CHECKING:
    from workbook_template.writing.writer import Writer

_FIRST_RECIPE = 'IFERROR(INDEX({recipes.recipe},MATCH("?*",{recipes.recipe},0))&"","")'

_LOAD = (
    Calculated(
        "steam_recipe_used",
        "Recipe counted with",
        "state",
        f'CHOOSE(1+({{steam_recipe}}<>""),{_FIRST_RECIPE},{{steam_recipe}})',
        "Its moisture decides how much heat the blocks take.",
    ),
    Calculated(
        "steam_mass",
        "Mass of the load",
        "kg",
        "CHOOSE(1+COUNT({steam_blocks}),{blocks_per_load},{steam_blocks})"
        "*CHOOSE(1+COUNT({steam_block_mass}),{block_mass},{steam_block_mass})",
        "Wet substrate of all blocks, without racks and vessel.",
    ),
    Calculated(
        "steam_moisture",
        "Moisture of the blocks",
        "fraction",
        look_up("recipes.target_moisture", "steam_recipe_used"),
        "Target moisture of the recipe.",
    ),
    Calculated(
        "steam_temperature",
        "Steam temperature",
        "°C",
        "CFX.BOILING_POINT({altitude})",
        "At your altitude. Steam without pressure gets no hotter.",
        is_key=True,
    ),
    Calculated(
        "steam_heat",
        "Heat into the blocks",
        "kWh",
        "CFX.HEAT_UP_ENERGY({steam_mass},{steam_moisture},{start_temperature},{steam_temperature})",
        "From the block temperature at start on the Farm sheet.",
    ),
    Calculated(
        "steam_heat_hours",
        "Hours until the steamer is hot",
        "h",
        "CFX.HEAT_UP_HOURS({steam_heat},{steamer_power},{steamer_efficiency})",
        "At the power and efficiency on the Farm sheet.",
        is_key=True,
    ),
    Calculated(
        "steam_block_heat",
        "Heat of one block",
        "kWh",
        "{steam_heat}/CHOOSE(1+COUNT({steam_blocks}),{blocks_per_load},{steam_blocks})",
        "For the predictions on the Steam runs sheet.",
    ),
)

_EDGES = "{core_thickness},{core_width},{core_edge}"
_BRICK = f"{_EDGES},{{start_temperature}},{{steam_temperature}},{{core_diffusivity}}"
_HOT = f"{{core_target}},{_BRICK},{{steam_heat_hours}}"

_CORE = (
    Calculated(
        "core_density",
        "Bulk density of the recipe",
        "mixer density",
        look_up("recipes.bulk_density", "steam_recipe_used"),
        "From the Recipes sheet.",
    ),
    Calculated(
        "core_length_by_mass",
        "Length by mass and bulk density",
        "cm",
        "CFX.BLOCK_LENGTH(CHOOSE(1+COUNT({steam_block_mass}),{block_mass},{steam_block_mass}),"
        "{core_density},{core_thickness},{core_width})",
        "Far from what you measured? Then check both.",
    ),
    Calculated(
        "core_edge",
        "Length used",
        "cm",
        "CHOOSE(1+COUNT({core_length}),{core_length_by_mass},{core_length})",
        "As typed above; where that is blank, by mass and bulk density.",
    ),
    Calculated(
        "core_target",
        "Core temperature for the hold",
        "°C",
        "CHOOSE(1+COUNT({hold_from}),{steam_temperature}-{core_gap},{hold_from})",
        "As set above.",
    ),
    Calculated(
        "core_hot_hours",
        "Hours until the hold starts",
        "h",
        f'CHOOSE(1+CFX.CORE_HOURS.HOLDS({_HOT}),"never",CFX.CORE_HOURS({_HOT}))',
        "From turning the steam on. Says never if the steam is not hotter than that, or the "
        "blocks already are.",
        is_key=True,
    ),
    Calculated(
        "steam_soak",
        "Soaking time",
        "h",
        'CHOOSE(1+COUNT({core_hot_hours}),"",MAX(0,N({core_hot_hours})-{steam_heat_hours}))',
        "The steamer is hot, the core not yet.",
    ),
    Calculated(
        "core_then",
        "Core temperature then",
        "°C",
        f"CFX.CORE_TEMPERATURE({{core_check_hours}},{_BRICK})",
        "After the hours above, in full steam from the start. Blocks that touch take longer: "
        "trust your probe.",
    ),
)

_WHOLE = (
    Calculated(
        "steam_run_hours",
        "Length of the run",
        "h",
        "{steam_heat_hours}+{steam_soak}+{hold_hours}",
        "Until the core is hot, then the hold time from the Farm sheet.",
        is_key=True,
    ),
    Calculated(
        "steam_energy",
        "Energy of the run",
        "kWh",
        "{steam_heat}/{steamer_efficiency}+({steam_soak}+{hold_hours})*{hold_power}",
        "Heating up with losses, then soaking and hold at the power during hold.",
    ),
    Calculated(
        "steam_cost",
        "Energy cost of the run",
        "money",
        "{steam_energy}*{electricity_price}",
        "At the price on the Farm sheet.",
        is_key=True,
    ),
    Calculated(
        "steam_water",
        "Water boiled off, at most",
        "L",
        'UNIT(CFX.STEAM_RATE({steam_energy},1,{feed_temperature}),"kg","L")',
        "If all of that energy makes steam. A boiler must never run dry.",
        is_key=True,
    ),
    Calculated(
        "steam_metered",
        "Energy, metered over predicted",
        "fraction",
        'CHOOSE(1+(COUNT({steam_runs.energy_ratio})>0),"",AVERAGE({steam_runs.energy_ratio}))',
        "Average of the runs with a meter reading, on the Steam runs sheet.",
    ),
)

_COOLING = (
    Calculated(
        "cooling_hours",
        "Cooling time",
        "h",
        "CFX.COOLING_HOURS({spawning_temperature},"
        f"{_EDGES},{{steam_temperature}},{{cooling_air}},{{cooling_film}},"
        "{cooling_conductivity},{core_diffusivity})",
        "Single blocks with air on all sides; tight racks take much longer.",
        is_key=True,
    ),
    Calculated(
        "spawning_hours",
        "Ready to spawn after",
        "h",
        "{steam_run_hours}+{cooling_hours}",
        "From turning the steam on. Check with a probe before you spawn.",
        is_key=True,
    ),
)

_PROBE = (
    f"{{run_hot_hours}},{{run_hot_core}},{_EDGES},{{run_start}},{{steam_temperature}},{{run_climb}}"
)

_RUN = (
    Calculated(
        "run_minutes",
        "Lethality of the run",
        "min",
        'CHOOSE(1+(COUNT({steam_log.core})>1),"",'
        "CFX.LETHALITY({steam_log.hours},{steam_log.core},{lethal_reference},{lethal_z}))",
        "Equivalent minutes at the reference temperature; this does not sterilize.",
        is_key=True,
    ),
    Calculated(
        "run_hottest",
        "Highest core temperature",
        "°C",
        'CHOOSE(1+(COUNT({steam_log.core})>0),"",MAX({steam_log.core}))',
        "Of the readings below.",
    ),
    Calculated(
        "run_hot_hours",
        "Core first hot after",
        "h",
        "INDEX({steam_log.hours},MATCH(1,{steam_log.hot},0))",
        "First reading at or above the core temperature for the hold.",
    ),
    Calculated(
        "run_start",
        "Core at the start",
        "°C",
        "MIN({steam_log.core})",
        "The coldest reading.",
        waits_for=("run_hot_hours",),
    ),
    Calculated(
        "run_hot_core",
        "Core when first hot",
        "°C",
        "INDEX({steam_log.core},MATCH({run_hot_hours},{steam_log.hours},0))",
        "At that reading.",
    ),
    Calculated(
        "run_climb",
        "Chamber hot after",
        "h",
        'CHOOSE(1+(MAX({steam_log.chamber})>={steam_temperature}-{core_gap}),"",'
        "INDEX({steam_log.hours},MATCH(1,{steam_log.chamber_hot},0)))",
        "First reading within that difference of steam temperature.",
    ),
    Calculated(
        "run_diffusivity",
        "Thermal diffusivity by this run",
        "mm²/s",
        f'CHOOSE(1+CFX.DIFFUSIVITY_FROM_PROBE.HOLDS({_PROBE}),"",'
        f"CFX.DIFFUSIVITY_FROM_PROBE({_PROBE}))",
        "From the first hot reading: type it above in place of the assumption.",
        waits_for=("run_climb", "run_hot_hours"),
        is_key=True,
    ),
)

_WORDS = (
    "Atmospheric steam does not sterilize in the sense of F0: 15 minutes at 121.1 °C (250 °F) are "
    "more than 32 hours at 100 °C (212 °F). Lethality says what the heat in the core was worth at "
    "the reference temperature, and nothing more.",
    "How long to steam: follow the instructions of the steamer's maker, local codes and your own "
    "trials. Steam scalds: keep the vessel vented, never plug a vent or a relief valve. "
    "Boilers and pressure vessels are for licensed practice.",
    "Unloading: steam off, open away from your face, gloves and long sleeves. Hot blocks and the "
    "water that drips from them scald: 5 seconds are enough at 60 °C (140 °F) (CPSC Pub. 5098).",
    "Electric load: 10 kW at 240 V draws 42 A for hours. That is a continuous load: its own "
    "circuit, by a licensed electrician (NEC 210.20(A), from memory).",
)

_CHECKS = (
    Check(
        "Steam: the readings add up to the lethality of the run",
        "ABS(SUM({steam_log.minutes})-N({run_minutes}))",
        ROUNDING,
    ),
    Check(
        "Steam: the run in detail is on the Steam runs sheet",
        '({logged_run}<>"")*(COUNTIF({steam_runs.run},{logged_run})<1)',
    ),
)


def _chart(writer: Writer, row: int) -> None:
    writer.section(row, "Chamber and core")
    degrees = "°F" if writer.units == "us" else "°C"
    add_chart(
        writer,
        row + 1,
        Chart(
            title="The core follows the chamber by hours",
            categories="steam_log.hours",
            values=["steam_log.chamber", "steam_log.core"],
            names=["Chamber", "Core of a block"],
            category_title="Hours since the steam was turned on",
            value_title=degrees,
            description="Two lines over the hours of the run: the chamber, which heats up first, "
            "and the core of a block, which follows. The figures are below.",
            kind="scatter",
            number_format="0",
        ),
    )


def sheet() -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Steam",
        purpose="Heat, hours, water and cost of a load, and the lethality of a run.",
        blocks=[
            Lines("What steaming does and doesn't do", _WORDS, "farm caution"),
            Missing(
                ("steam_cost", "steam_water", "spawning_hours"),
                also=(("Recipe (Recipes)", '{steam_recipe_used}=""'),),
            ),
            Form("The load", (*STEAM.fields, *_LOAD)),
            Form(CORE.title, (*CORE.fields, *_CORE)),
            Form("The whole run", _WHOLE),
            Form(COOLING.title, (*COOLING.fields, *_COOLING)),
            Form(LETHALITY.title, (*LETHALITY.fields, *_RUN)),
            NewPage(),
            Custom(CHART_ROWS, _chart),
            TableBlock(STEAM_LOG),
        ],
        widths=(36, 18, 13, 23, 23, 23),
        checks=_CHECKS,
    )
