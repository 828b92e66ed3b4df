"""What is sold."""

from __future__ import annotations

from cultivar_fx.stages.harvest import DRY_MATTER_LOSS
from workbook_template.schema.fields import (
    ASSUMPTION,
    Computed,
    Field,
    Rule,
    Section,
    Table,
    choices_found,
)
from workbook_template.schema.figures import used_of

FORMS = "fresh|dried|block"
_FORM_LIST = '{"fresh","dried","block"}'


def _of(column: str, choice: str) -> str:
    table, _, _ = column.partition(".")
    first = {"recipes": "recipe", "strains": "strain"}[table]
    return f"INDEX({{{column}}},MATCH({{{choice}}},{{{table}.{first}}},0))"


DRYING = Section(
    "Drying",
    (
        Field(
            "fresh_moisture",
            "Moisture of fresh mushrooms",
            "fraction",
            "above 0 to below 1",
            "Wet basis; oysters near 92 %. Dry a sample in the oven.",
            lowest=0.3,
            default=0.92,
            source="Mattila et al. 2002, oysters: 92 %, dry matter 7.7 to 8.4 %. Measure yours.",
        ),
        Field(
            "dried_moisture",
            "Moisture of dried mushrooms",
            "fraction",
            "0 to below 1",
            "Wet basis; at most 12 %. Drier keeps longer.",
            lowest=0.01,
            default=0.12,
            source="Codex Standard 39-1981, dried fungi: at most 12 % (from memory). Measure "
            "yours.",
        ),
        Field(
            "drying_energy",
            "Drying energy",
            "kWh/kg",
            "0 or more",
            "Per fresh mass, from a meter.",
            default=1.5,
            us_default=0.7,
            source=ASSUMPTION,
        ),
        Field(
            "drying_minutes",
            "Drying labor",
            "min/kg",
            "0 or more",
            "Slicing, trays and cleaning, per fresh mass.",
            default=4.0,
            us_default=2.0,
            source=ASSUMPTION,
        ),
    ),
)

SPENT = Section(
    "Spent substrate",
    (
        Field(
            "dry_matter_loss",
            "Dry substrate breathed away",
            "fraction",
            "0 to below 1",
            "As CO2 and water: weigh and dry a block before and after.",
            lowest=0.01,
            default=DRY_MATTER_LOSS,
            source=ASSUMPTION,
        ),
        Field(
            "spent_moisture",
            "Moisture of spent blocks",
            "fraction",
            "0 to below 1",
            "Wet basis; dry a sample in the oven.",
            lowest=0.01,
            default=0.6,
            source=ASSUMPTION,
        ),
    ),
)

_FORM = Field(
    "form",
    "Form",
    "choice",
    choices=FORMS,
    help="Fresh or dried mushrooms, or a block sold when incubation is over.",
)

PRODUCTS = Table(
    "products",
    "Product lines",
    (
        Field(
            "product",
            "Product line",
            "text",
            help="As buyers know it, with its size.",
            width=32.0,
        ),
        Field("strain", "Strain", "choice", choices="strains.strain", help="What is in it."),
        Field("recipe", "Recipe", "choice", choices="recipes.recipe", help="What it is grown on."),
        _FORM,
        Field(
            "pack_mass",
            "Mass in a pack",
            "kg/pack",
            "above 0",
            "Fresh or dried, as sold; blank for a block.",
            required=False,
        ),
        Field("price", "Price of a pack", "money", "above 0", "What the buyer pays."),
        Field(
            "pack_cost",
            "Packaging",
            "money",
            "0 or more",
            "Empty box and label; breathable packaging for fresh mushrooms.",
        ),
        Field(
            "packing_minutes",
            "Packing time",
            "min",
            "0 or more",
            "Sorting, weighing, labeling one pack.",
        ),
        Field(
            "fees",
            "Fees",
            "fraction",
            "0 to below 1",
            "Of the price: stall, card, commission.",
            # Card fees begin near 0.2 %: the slip is not found in a commission above 20 %.
            lowest=0.002,
            usual=0.06,
            default=0.0,
            of_money=True,
        ),
        Field("delivery", "Delivery", "money", "0 or more", "Trip and cooling, per pack."),
        Field(
            "sold_share",
            "Share sold",
            "fraction",
            "above 0 to 1",
            "Of the packs made; the rest is given away or spoils.",
            lowest=0.05,
            usual=0.95,
        ),
        Field(
            "packs_per_week",
            "Packs a week",
            "count",
            "0 or more",
            "Sold in a usual week; special weeks and orders go on the Orders sheet.",
        ),
        Computed(
            "mass",
            "Sold mass of a pack",
            "kg",
            'CHOOSE(1+COUNT({pack_mass}),"",UNIT({pack_mass},"kg/pack","kg"))',
            "The mass in a pack, in the unit of the harvest.",
            is_working=True,
        ),
        Computed(
            "fresh",
            "Fresh mass of a pack",
            "kg",
            f"{{ready}}*CHOOSE(MATCH({{form}},{_FORM_LIST},0),N({{?mass}}),"
            "N({?mass})*CFX.DRYING_RATIO({fresh_moisture},{dried_moisture}),0)",
            "Before drying; none for a block.",
            is_working=True,
        ),
        Computed(
            "blocks",
            "Blocks per pack",
            "number",
            '{ready}*CHOOSE(1+({form}="block"),{fresh}/CFX.EXPECTED_HARVEST(CFX.DRY_MASS('
            f"{{block_mass}},{_of('recipes.target_moisture', 'recipe')}),"
            f"{used_of('biological_efficiency', 'strain')}),1)",
            "Good blocks whose harvest fills a pack, or the block itself.",
        ),
        choices_found(_FORM),
        Computed(
            "ready",
            "Complete",
            "count",
            "CHOOSE(1+(MIN({found},COUNTIF({recipe_costs.recipe},{recipe}),"
            "COUNTIF({strain_costs.strain},{strain}))>0)"
            '*(({form}="block")+(N({pack_mass})>0)>0)'
            "*(MIN({price},{pack_cost},{packing_minutes},{fees},{delivery},{sold_share},"
            '{packs_per_week})>=0),"",1)',
            "1 where the row, its recipe and its strain have all that is needed.",
            is_presence=True,
            is_working=True,
        ),
    ),
    rows=12,
    faults=(
        Rule(
            "pack_mass",
            "needed where mushrooms are sold",
            'COUNTBLANK({pack_mass})*(({form}="fresh")+({form}="dried"))',
        ),
    ),
)
