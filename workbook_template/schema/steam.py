"""Steam: the runs, one in detail, the load, the core of a block, what the heat was worth."""

from __future__ import annotations

from workbook_template.schema.columns import FIRST_DATE, NOTE, after_today, line_of
from workbook_template.schema.fields import (
    ASSUMPTION,
    Computed,
    Field,
    Rule,
    Section,
    Table,
)

STEAM_RUNS = Table(
    "steam_runs",
    "Steam runs",
    (
        Field("run", "Run", "text", help="A number or name, used only once."),
        Field("date", "Date", "date", FIRST_DATE, "The day it was steamed."),
        Field("blocks", "Blocks", "count", "1 or more, whole", "How many were in the steamer."),
        Field("hold_hours", "Hold time", "h", "0 or more", "After the core was hot."),
        Field(
            "energy_metered",
            "Energy, metered",
            "kWh",
            "0 or more",
            "Meter reading after the run, less the one before.",
            required=False,
        ),
        Field(
            "water_metered",
            "Water, metered",
            "L",
            "0 or more",
            "What the boiler took.",
            required=False,
        ),
        NOTE,
        Computed(
            "spawned",
            "Blocks spawned",
            "count",
            "SUMIFS({batches.bags},{batches.steam_run},{run})",
            "Blocks of the batches that name this run.",
        ),
        Computed(
            "remaining",
            "Blocks not spawned",
            "count",
            "{blocks}-{spawned}",
            "Steamed, less spawned: torn bags, controls. Below zero: check the batches.",
        ),
        Computed(
            "energy",
            "Energy, predicted",
            "kWh",
            "{blocks}*{steam_block_heat}/{steamer_efficiency}+({steam_soak}+{hold_hours})"
            "*{hold_power}",
            "For its blocks and its hold time; all else as on the Steam sheet.",
        ),
        Computed(
            "water",
            "Water, predicted",
            "L",
            'UNIT(CFX.STEAM_RATE({energy},1,{feed_temperature}),"kg","L")',
            "At most: as if all of that energy made steam.",
        ),
        Computed(
            "energy_ratio",
            "Energy, of predicted",
            "fraction",
            'CHOOSE(1+COUNT({energy_metered}),"",N({energy_metered})/{energy})',
            "Far from 100 %: correct efficiency and power during hold on the Farm sheet.",
        ),
    ),
    rows=10,
    faults=(
        after_today("date"),
        Rule("blocks", "fewer than its batches have", "N({remaining})<0"),
    ),
)

STEAM_LOG = Table(
    "steam_log",
    "One run in detail",
    (
        Field(
            "hours", "Time", "h", "0 or more", "Since the steam was turned on; in order of time."
        ),
        Field("chamber", "Chamber", "°C", "-20 to 200", "Probe between the blocks."),
        Field(
            "core",
            "Core of a block",
            "°C",
            "-20 to 200",
            "Probe in the middle of the block that heats up last.",
        ),
        Computed(
            "lethal_rate",
            "Lethal rate",
            "number",
            "CFX.LETHAL_RATE({core},{lethal_reference},{lethal_z})",
            "Minutes at the reference temperature that one minute in the core is worth.",
        ),
        Computed(
            "minutes",
            "Lethality since the row above",
            "min",
            "CHOOSE(1+({line}>1),0,({hours}-INDEX({steam_log.hours},MAX(1,{line}-1)))*60"
            "*AVERAGE({lethal_rate},INDEX({steam_log.lethal_rate},MAX(1,{line}-1))))",
            "Trapezoid under the lethal rate.",
        ),
        Computed(
            "total",
            "Lethality so far",
            "min",
            "SUM(INDEX({steam_log.minutes},1):INDEX({steam_log.minutes},{line}))",
            "Equivalent minutes at the reference temperature.",
        ),
        Computed(
            "hot",
            "Core hot",
            "count",
            "({core}>={core_target})*1",
            "1 where the core counts as hot.",
            is_working=True,
        ),
        Computed(
            "chamber_hot",
            "Chamber hot",
            "count",
            "({chamber}>={steam_temperature}-{core_gap})*1",
            "1 where the chamber is within that difference of the steam.",
            is_working=True,
        ),
        line_of("steam_log", "hours"),
    ),
    rows=60,
    unique=False,
    faults=(
        Rule(
            "hours",
            "before the row above",
            "{hours}<N(INDEX({steam_log.hours},MAX(1,{line}-1)))",
        ),
    ),
)

STEAM = Section(
    "Choose",
    (
        Field(
            "steam_recipe",
            "Recipe in the load",
            "choice",
            choices="recipes.recipe",
            help="Blank: the first recipe.",
            required=False,
        ),
        Field(
            "steam_blocks",
            "Blocks in the load",
            "count",
            "1 or more, whole",
            "Blank: blocks per load from the Farm sheet.",
            required=False,
        ),
        Field(
            "steam_block_mass",
            "Mass of a block",
            "kg",
            "above 0",
            "Blank: the mass on the Farm sheet.",
            required=False,
        ),
        Field(
            "feed_temperature",
            "Feed water",
            "°C",
            "0 to 100",
            "Temperature of the water into the boiler.",
            default=15.0,
            us_default=60.0,
            source=ASSUMPTION,
        ),
    ),
)

CORE = Section(
    "How fast the core heats up",
    (
        Field(
            "core_thickness",
            "Block: thickness",
            "cm",
            "above 0 to 200",
            "Shortest edge, steam on both sides.",
            default=13.0,
            us_default=5.0,
            source=ASSUMPTION,
        ),
        Field(
            "core_width",
            "Block: width",
            "cm",
            "above 0 to 200",
            "Middle edge.",
            default=14.0,
            us_default=5.5,
            source=ASSUMPTION,
        ),
        Field(
            "core_length",
            "Block: length",
            "cm",
            "above 0 to 200",
            "Longest edge. Blank: from the mass and bulk density of the recipe.",
            required=False,
        ),
        Field(
            "core_diffusivity",
            "Thermal diffusivity",
            "mm²/s",
            "0.01 to 1",
            "From your own probe run; see Lethality of a run below.",
            default=0.15,
            source=ASSUMPTION,
        ),
        Field(
            "core_gap",
            "Core is hot within",
            "K",
            "above 0 to 30",
            "Of steam temperature, which the core never quite reaches.",
            default=2.0,
            us_default=4.0,
            source=ASSUMPTION,
        ),
        Field(
            "hold_from",
            "Hold starts at a core of",
            "°C",
            "40 to 150",
            "Blank: as the line above says. Stamets (p. 172) counts his 12 hours from 90 °C "
            "(194 °F) throughout.",
            required=False,
        ),
        Field(
            "core_check_hours",
            "Core temperature after",
            "h",
            "0 or more",
            "Any number of hours in the steam.",
            default=6.0,
            source=ASSUMPTION,
        ),
    ),
)

COOLING = Section(
    "Cooling until you can spawn",
    (
        Field(
            "spawning_temperature",
            "Spawning temperature",
            "°C",
            "5 to 60",
            "Core at or below this; hotter substrate kills the spawn.",
            default=27.0,
            us_default=80.0,
            source=f"{ASSUMPTION} Your spawn maker says what it tolerates.",
        ),
        Field(
            "cooling_air",
            "Air where the blocks cool",
            "°C",
            "-20 to 50",
            "Filtered air: blocks draw in air as they cool.",
            default=20.0,
            us_default=68.0,
            source=ASSUMPTION,
        ),
        Field(
            "cooling_film",
            "Surface film coefficient",
            "W/(m²·K)",
            "0.5 to 200",
            "Still air 5 to 10 W (1 to 2 Btu); with a fan two to three times as much.",
            default=8.0,
            us_default=1.4,
            source=ASSUMPTION,
        ),
        Field(
            "cooling_conductivity",
            "Thermal conductivity",
            "W/(m·K)",
            "0.02 to 5",
            "Of the block: diffusivity times bulk density times specific heat.",
            default=0.3,
            us_default=0.17,
            source=ASSUMPTION,
        ),
    ),
)

LETHALITY = Section(
    "Lethality of a run",
    (
        Field(
            "logged_run",
            "Run in detail",
            "choice",
            choices="steam_runs.run",
            help="Whose probe readings are below; from the Steam runs sheet.",
            required=False,
        ),
        Field(
            "lethal_reference",
            "Reference temperature",
            "°C",
            "50 to 150",
            "Equivalent minutes are minutes at this temperature.",
            default=121.1,
            us_default=250.0,
            source="The usual reference of F0 in thermal processing.",
        ),
        Field(
            "lethal_z",
            "z-value",
            "K",
            "above 0 to 100",
            "Degrees for ten times the lethal rate.",
            default=10.0,
            source="The usual z-value of F0 in thermal processing.",
        ),
    ),
)
