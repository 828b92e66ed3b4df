"""Quote: what a product line earns at another price, pack, strain, recipe or volume.

Nothing typed here reaches the plan or the logs.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.columns import iso_date
from workbook_template.schema.fields import dimension_of, unit_label
from workbook_template.schema.products import PRODUCTS
from workbook_template.schema.quote import CHANGED, QUOTE, WHAT_IF
from workbook_template.sheets import quote_changes as changes
from workbook_template.sheets import quote_figures as figures
from workbook_template.sheets.money_text import money_words
from workbook_template.sheets.trials_verdicts import first_of
from workbook_template.sheets.what_helps import LIMIT_NAMES
from workbook_template.writing.blocks import ROUNDING, Check, Form, Lines, Sheet
from workbook_template.writing.sentences import Sentences
from workbook_template.writing.side_by_side import SideBySide

if TYPE_CHECKING:
    from workbook_template.writing.blocks import Settings

_KNOWN = "COUNT({?quote_contribution_if})"


def _up(amount: str) -> str:
    """Round a price up to a cent: rounded down, it would lose."""
    return f"ROUNDUP({amount}-{{rounding}},2)"


def _ask(currency: str, unit: str) -> str:
    """Write the price for the target margin, of a pack and by mass."""
    wanted = money_words(_up("{?quote_wanted_if}"), currency)
    each = "{?quote_by_mass_if}*{?quote_wanted_if}/{?quote_price_if}"
    has_mass = "COUNT({?quote_by_mass_if})*(N({?quote_price_if})>0)"
    by_mass = f'" ("&{money_words(_up(each), currency)}&" a {unit})"'
    price = money_words("{?quote_price_today}", currency)
    today = f'CHOOSE(1+COUNT({{?quote_price_today}}),"","; today it is "&{price})'
    return (
        f'CHOOSE(1+{_KNOWN}*COUNT({{?quote_wanted_if}}),"","For your target margin of "'
        f'&ROUND({{wanted_margin}}/1%,1)&"%, ask "&{wanted}&" a pack or more"'
        f'&CHOOSE(1+({has_mass}>0),"",{by_mass})&{today}&".")'
    )


def _answer(currency: str) -> str:
    """Write what the quote comes to."""

    def money(key: str) -> str:
        return money_words(f"ABS({{?quote_{key}_if}})", currency)

    earns = 'CHOOSE(1+({?quote_%s_if}<0)," leaves "," loses ")'
    before = '" before room energy, equipment and overhead. All its costs are covered from "'
    covered = money_words(_up("{?quote_break_even_if}"), currency)
    lowest = f'{before}&{covered}&" on; do not go below "'
    lowest += f'&{money_words(_up("{?quote_lowest_if}"), currency)}&"."'
    spaces = "ROUNDUP({?quote_spaces_if}-{rounding},0)"
    free = "INT({?quote_free_if}+{rounding})"
    short = "ROUNDUP({?quote_added_if}-{?quote_free_if}-{rounding},0)"
    added = "{?quote_added_if}"
    as_ever = first_of(
        (f"ABS({added}-{{?quote_spaces_if}})<{{rounding}}", '""'),
        (f"ABS({added})<{{rounding}}", '", as today"'),
        (f"{added}>0", f'", "&ROUNDUP({added}-{{rounding}},0)&" more than today"'),
        otherwise=f'", "&INT({{rounding}}-{added})&" fewer than today"',
    )
    at_price = f'"At "&{money("price")}&" a pack this"'
    room = (
        f'CHOOSE(1+{{?quote_fruited_if}}," It takes no shelf space in fruiting.",'
        f'" It takes "&{spaces}&" of the shelf spaces in fruiting"&{as_ever}'
        f'&"; free in a usual week: "&{free}&"."'
        f'&CHOOSE(1+({short}>0),""," That is "&{short}&" too few."))'
    )
    return first_of(
        (
            '({quote_product}="")*({quote_strain}="")',
            '"Choose a product line, or leave it blank and type all of a new one below."',
        ),
        (f"{_KNOWN}=0", '"Something is still blank: see the list below."'),
        (
            "N({?quote_packs_if})=0",
            f"{at_price}&{earns % 'contribution'}&{money('contribution')}&{lowest}"
            '&" Type packs or mass a week to see what it leaves a week and the room it takes."',
        ),
        (
            "COUNT({?quote_free_if})=0",
            f'{at_price}&{earns % "weekly"}&{money("weekly")}&" a week"&{lowest}',
        ),
        otherwise=f'{at_price}&{earns % "weekly"}&{money("weekly")}&" a week"&{lowest}&{room}',
    )


def _besides(currency: str) -> str:
    """Write what a pack must also earn where the fullest station is over full."""
    names = ",".join(f'"{station}"' for station in LIMIT_NAMES)
    worth = money_words("{?quote_elsewhere_if}", currency)
    floor = money_words(_up("{?quote_floor_if}"), currency)
    return (
        f'CHOOSE(1+({_KNOWN}*(N({{?quote_elsewhere_if}})>{{rounding}})>0),"",'
        f'"The bottleneck is "&CHOOSE({{?helps_tightest}},{names})&": what a pack takes of it '
        f'would earn "&{worth}&" with packs that wait. Until that changes, do not go below "&'
        f'{floor}&".")'
    )


_LEAST = "MAX(0,INT({?quote_least_if}+{rounding}))"
_LACKING = "ROUNDUP(N({?quote_added_if})-MAX(0,{?quote_least_if})-{rounding},0)"
_CALENDAR = (
    f'CHOOSE(1+({_KNOWN}*COUNT({{?quote_ready_if}})>0),"",'
    '"By the calendar: started today, it can first be sold on "'
    f'&{iso_date("{?quote_ready_if}")}&"."'
    "&CHOOSE(1+(COUNT({?quote_least_if})*(N({?quote_packs_if})>0)*COUNT({?quote_added_if})>0),"
    f'"",CHOOSE(1+({_LACKING}>0)," There is room for it in fruiting"," Fruiting lacks "&{_LACKING}'
    '&" spaces for it")&": with all orders of the Week plan, "'
    f'&{_LEAST}&" are free on the fullest day, in the week of "'
    f'&{iso_date("{?quote_fullest_if}")}&"."))'
)
"""When the quote can be delivered first, and whether the fruiting rooms have room for it then."""


def _answers(currency: str, unit: str) -> dict[str, str]:
    return {
        "quote_ask": _ask(currency, unit),
        "quote_words": _answer(currency),
        "quote_besides": _besides(currency),
        "quote_calendar": _CALENDAR,
    }


_CHOSEN = '(({quote_product}<>"")+({quote_strain}<>"")>0)'
_IS_BLANK = {
    "Product line, or all of a new one": f"1-{_CHOSEN}",
    **{
        PRODUCTS.field(column).label: f'{_CHOSEN}*({{?quote_{column}_if}}="")'
        + ('*({?quote_form_if}<>"block")' if column == "pack_mass" else "")
        for column in CHANGED
    },
    "what blocks cost (Costing says what is missing)": "1-COUNT({?cost_common_block})",
    "the rows of the recipe and the strain (Recipes, Strains)": "COUNT({?cost_common_block})"
    '*({?quote_recipe_if}<>"")*({?quote_strain_if}<>"")*(1-COUNT({?quote_good_if}))',
}
"""What a quote may still wait for, each with the condition under which it does."""


_MISSING = "&".join(
    (
        *(f'REPT("{name}; ",({blank})*1)' for name, blank in _IS_BLANK.items()),
        f'REPT("nothing",{_KNOWN})',
    )
)


_ABOUT = (
    "Blank is as today. Nothing here changes the Products sheet, the plan or the logs: to keep "
    "it, type it on the Products sheet. Blocks cost what they cost in a usual week as planned.",
    "A usual week has the packs of the Products sheet, no orders and no special weeks; all figures "
    "here go by it. Only the sentence that begins with the calendar goes by the weeks ahead.",
    "The lowest price that contributes covers whatever is spent only because of the pack. Room "
    "energy, equipment and overhead stay the same with or without it, and all contributions "
    "together have to cover them: do not sell everything at that price.",
)

_CHECKS = (
    Check(
        "Quote: packs and mass a week are both typed; the packs count",
        "MIN(COUNT({quote_packs}),COUNT({quote_weekly_mass}))",
    ),
    Check(
        "Quote: a block has no mass, type packs a week",
        'COUNT({quote_weekly_mass})*({?quote_form_if}="block")',
    ),
    Check(
        "Quote: today's product line costs and contributes the same as on the Costing sheet",
        "(ABS(SUMIFS({packs.cost},{packs.product},{quote_product})-N({quote_cost_today}))"
        "+ABS(SUMIFS({packs.lowest},{packs.product},{quote_product})-N({quote_lowest_today})))"
        "*COUNT({quote_lowest_today})"
        "*MIN(1,COUNTIFS({products.product},{quote_product},{products.ready},1))",
        ROUNDING,
    ),
)


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet out."""
    mass = unit_label(dimension_of("kg"), settings.units, settings.currency)
    return Sheet(
        name="Quote",
        purpose="What to ask of a customer, and what a new or changed product line would earn.",
        blocks=[
            Sentences("Answer", _answers(settings.currency, mass), 2),
            Sentences("Still to fill in", {"quote_missing": _MISSING}, 2),
            Form(QUOTE.title, QUOTE.fields),
            SideBySide(WHAT_IF.title, changes.changes()),
            SideBySide("From the block to the pack", figures.BLOCK),
            SideBySide("Cost of a pack", figures.PACK),
            SideBySide("Price", figures.PRICE),
            SideBySide("A week", figures.WEEK),
            Lines("How to read it", _ABOUT, "farm text"),
        ],
        workings=[Form("Figures used", (*changes.WORKINGS, *figures.WORKINGS))],
        widths=(35, 23, 9, 20, 9, 36),
        pages_high=1,
        checks=_CHECKS,
    )
