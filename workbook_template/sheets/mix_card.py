"""Mix card: what to weigh, what to dial, how many bags; one page to print and write on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema import look_up
from workbook_template.schema.cards import MIX_CARD, SAMPLE
from workbook_template.schema.fields import Computed, Counter, Field
from workbook_template.schema.figures import used_of
from workbook_template.writing.blocks import (
    ROUNDING,
    Calculated,
    Check,
    Custom,
    Form,
    Grid,
    Lines,
    Sheet,
)
from workbook_template.writing.still_needed import Missing

if TYPE_CHECKING:
    from workbook_template.writing.writer import Writer

RECIPE_SLOTS = 8
"""The most ingredients of a recipe that the card lists."""

_WRITING_LINES = 4

_BATCH = (
    Calculated(
        "mix_bags",
        "Bags to fill",
        "count",
        "CFX.BAG_COUNT({mix_mass},{block_mass},{lost_mass})",
        "Whole bags, at the mass on the Farm sheet.",
        is_key=True,
    ),
    Calculated(
        "mix_dial",
        "Water: dial on the meter",
        "L",
        "CFX.METER_SETTING({mix_water},{meter_reading},{measured_volume})",
        "For the whole batch, corrected for meter error.",
        is_key=True,
    ),
    Calculated(
        "mix_loads",
        "Mixer loads",
        "count",
        "CFX.MIXER_LOADS({mix_mass},{mixer_volume},{mix_density},{working_fill})",
        "Split into equal loads.",
        is_key=True,
    ),
    Calculated(
        "mix_dial_per_load",
        "Water: dial for one load",
        "L",
        "{mix_dial}/{mix_loads}",
        "The same water, split among the loads.",
        is_key=True,
    ),
    Calculated(
        "mix_spawn",
        "Spawn",
        "kg",
        "CFX.SPAWN_NEEDED({mix_bags}*{block_mass},{mix_spawn_rate})",
        "For all bags, at the spawn rate of the strain.",
        is_key=True,
    ),
    Calculated(
        "mix_spawn_bags",
        "Spawn bags to open",
        "count",
        "CFX.SPAWN_BAGS({mix_spawn},{spawn_bag_mass})",
        "Rounded up to whole bags.",
        is_key=True,
    ),
    Calculated(
        "mix_steam_loads",
        "Steam loads",
        "count",
        "ROUNDUP({mix_bags}/{blocks_per_load},0)",
        "Uses blocks per load from the Farm sheet.",
    ),
    Calculated(
        "mix_steam_hours",
        "Time until the steamer is hot, one load",
        "h",
        "CFX.HEAT_UP_HOURS(CFX.HEAT_UP_ENERGY({block_mass}*MIN({mix_bags},{blocks_per_load}),"
        "{mix_target},{start_temperature},CFX.BOILING_POINT({altitude})),"
        "{steamer_power},{steamer_efficiency})",
        "For the blocks of this batch, or a full load; the core follows hours later.",
    ),
    Calculated(
        "mix_state",
        "Mix before water",
        "state",
        'CHOOSE(1+({mix_moisture}>{mix_target}),"drier than the target: add the water",'
        '"too wet already: no water, use drier ingredients")',
    ),
)

_WEIGH_OUT = Grid(
    "weigh",
    "Weigh out",
    (
        Computed("ingredient", "Ingredient", "state", "INDEX({recipe_lines.ingredient},{at})"),
        Computed("share", "Share as weighed", "fraction", "INDEX({recipe_lines.share},{at})"),
        Computed(
            "usual",
            "Latest delivery, or usual",
            "fraction",
            "CHOOSE(1+COUNT(INDEX({recipe_lines.latest_moisture},{at})),"
            "INDEX({recipe_lines.moisture},{at}),INDEX({recipe_lines.latest_moisture},{at}))",
        ),
        Field(
            "measured",
            "Measured today",
            "fraction",
            "0 to below 1",
            "Moisture of what you weigh today, if you measured it.",
            lowest=0.01,
            usual=0.06,
            required=False,
        ),
        Computed(
            "used",
            "Moisture used",
            "fraction",
            "CHOOSE(1+COUNT({measured}),{usual},{measured})",
        ),
        Computed(
            "mass", "Weigh for the batch", "kg", "{mix_as_it_lies}*{share}/{weigh_share_total}"
        ),
        Computed("mass_per_load", "Weigh for one load", "kg", "{mass}/{mix_loads}"),
        Counter("line"),
        Computed(
            "at",
            "Recipe line",
            "state",
            'IFERROR(MATCH({mix_recipe}&"|"&{line},{recipe_lines.line},0),"")',
            is_working=True,
        ),
    ),
    rows=RECIPE_SLOTS,
    totals=("share", "mass", "mass_per_load"),
)

_HOW = (
    Calculated(
        "mix_target",
        "Target moisture",
        "fraction",
        look_up("recipes.target_moisture", "mix_recipe"),
        "From the Recipes sheet.",
    ),
    Calculated(
        "mix_moisture",
        "Moisture of the mix before water",
        "fraction",
        "CHOOSE(1+(COUNT({weigh.used})=MAX(1,COUNT({weigh.share}))),"
        '"",CFX.MOISTURE_OF_MIX({weigh.share},{weigh.used}))',
        "Of the list above, with today's measurements.",
        waits_for=("mix_recipe",),
    ),
    Calculated(
        "mix_density",
        "Bulk density, mixed",
        "mixer density",
        look_up("recipes.bulk_density", "mix_recipe"),
        "From the Recipes sheet.",
    ),
    Calculated(
        "mix_spawn_rate",
        "Spawn rate",
        "fraction",
        used_of("spawn_rate", "mix_strain"),
        "From the Strains sheet.",
    ),
    Calculated(
        "mix_full_mass",
        "Full mixer load",
        "kg",
        "CFX.LARGEST_BATCH({mixer_volume},{mix_density},{working_fill})",
        "Mixer volume times bulk density times working fill.",
    ),
    Calculated(
        "mix_bags_wanted",
        "Bags for what is wanted",
        "count",
        'CHOOSE(1+({mix_size}="good blocks wanted"),{bags_wanted},'
        f"CFX.BLOCKS_TO_START({{bags_wanted}},{used_of('loss_rate', 'mix_strain')},"
        "{start_confidence},{results_spread}))",
        "Good blocks: losses and how sure you want to be count.",
    ),
    Calculated(
        "mix_mass",
        "Wet batch",
        "kg",
        'CHOOSE(1+({mix_size}="full mixer"),'
        'CHOOSE(1+COUNT({?mix_bags_wanted}),"",'
        "CFX.BATCH_MASS({?mix_bags_wanted},{block_mass},{lost_mass})),{?mix_full_mass})",
        "Filled bags and mixer residue.",
    ),
    Calculated(
        "mix_as_it_lies",
        "Ingredients before water",
        "kg",
        "CFX.MASS_AT_MOISTURE(CFX.DRY_MASS({mix_mass},{mix_target}),{mix_moisture})",
        "All of them together, as they come.",
    ),
    Calculated(
        "mix_water",
        "Water",
        "L",
        "MAX(0,CFX.WATER_TO_ADD({mix_as_it_lies},{mix_moisture},{mix_target}))",
        "What the batch takes, before the meter correction.",
    ),
    Calculated(
        "mix_left_over",
        "Left over after the last bag",
        "kg",
        "CFX.LEFT_OVER({mix_mass},{block_mass},{lost_mass})",
        "Less than one bag.",
    ),
)

_CORRECTION = (
    Calculated(
        "sample_moisture",
        "Moisture now",
        "fraction",
        "CFX.MOISTURE_FROM_SAMPLE({sample_wet},{sample_dry},N({sample_container}))",
        "Of the sample.",
        is_key=True,
        waits_for=("sample_wet", "sample_dry"),
    ),
    Calculated(
        "correction_water",
        "Water to add to the batch",
        "L",
        'CHOOSE(1+({sample_moisture}<{mix_target}),"",'
        "CFX.WATER_TO_ADD({mix_mass},{sample_moisture},{mix_target}))",
        "If the sample is drier than the target; else blank.",
        is_key=True,
    ),
    Calculated(
        "correction_dry",
        "Dry mix to add to the batch",
        "kg",
        'CHOOSE(1+({sample_moisture}>{mix_target})*({mix_moisture}<{mix_target}),"",'
        "CFX.DRY_MATERIAL_TO_ADD({mix_mass},{sample_moisture},{mix_target},{mix_moisture}))",
        "If it is wetter; else blank. Ingredients in their shares, without water.",
        is_key=True,
    ),
)

_CHECKS = (
    Check(
        "Ingredients weighed contain the dry mass of the batch",
        "ABS(N({weigh_mass_total})*(1-N({mix_moisture}))-N({mix_mass})*(1-N({mix_target})))",
        ROUNDING,
    ),
    Check(
        "Shares of the recipe add up to 100 %",
        "ABS(N({weigh_share_total})-1)*COUNT({mix_bags})",
        ROUNDING,
    ),
    Check("Mix is drier than the target before water", "(N({mix_moisture})>N({mix_target}))*1"),
)

_CAUTIONS = (
    "Moving machinery: never reach into a mixer that can start. Switch it off and lock it out "
    "first. Guards stay on.",
    "Dust from pellets, sawdust and bran harms lungs and can explode: keep it down, no flames or "
    "sparks, wear a respirator that fits. Ground-fault protection where it is wet.",
    "Lifting: keep lifts to a safe weight, share the load or use a hoist. Local codes and the "
    "makers' instructions come first.",
)


def _writing_room(writer: Writer, row: int) -> None:
    writer.section(row, "Notes")
    for offset, label in enumerate(("Batch, date, mixed by", "Delivery, lot", "Texture, smell")):
        writer.text(row + 1 + offset, 1, label, "farm label")
    for here in range(row + 1, row + 1 + _WRITING_LINES):
        writer.writing_line(here, first=2)


def sheet() -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Mix card",
        purpose="Pick a recipe and a number of bags: what to weigh, what to dial, how much spawn.",
        blocks=[
            Form(MIX_CARD.title, MIX_CARD.fields),
            Missing(
                ("mix_dial", "mix_spawn_bags", "mix_loads", "mix_steam_hours"),
                notes=((look_up("recipes.missing", "mix_recipe"), "mix_moisture"),),
                also=(("How many", '({bags_wanted}="")*({mix_size}<>"full mixer")'),),
            ),
            Form("The batch", _BATCH),
            _WEIGH_OUT,
            Form("Calculation", _HOW),
            Form(SAMPLE.title, (*SAMPLE.fields, *_CORRECTION)),
            Lines("Cautions", _CAUTIONS, "farm caution"),
            Custom(_WRITING_LINES + 1, _writing_room),
        ],
        widths=(36, 18, 13, 13, 13, 14, 14),
        pages_high=1,
        checks=_CHECKS,
    )
