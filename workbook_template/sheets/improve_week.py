"""A usual week with each change: which packs fit the fullest station then, and what they bring.

What a week brings at most, no line above its demand and the fullest station not above its
capacity, is the least of its upper bounds by the worth of a unit of the station: at a worth w, that
is w times the capacity, and for each pack what it contributes beyond w times what it takes. The
least is found at a worth at which some line just pays, or at 0 (the dual of a linear program:
Dantzig, Linear Programming and Extensions, 1963). It is what filling the week line by line gives,
as on the Week plan, without an order of the lines in each case.
"""

from __future__ import annotations

from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.products import PRODUCTS
from workbook_template.sheets.improve_changes import CASES, CHANGES, EXPECTED, TODAY, WORST, Change
from workbook_template.sheets.what_helps import IN_FRUITING
from workbook_template.writing.blocks import Calculated, Form, Grid

_ALL = (TODAY, *CHANGES)


def _helps(column: str) -> str:
    return f"N(INDEX({{helps_lines.{column}}},{{line}}))"


def _plan(column: str) -> str:
    return f"N(INDEX({{plan_products.{column}}},{{line}}))"


def _pack(column: str) -> str:
    return f"N(INDEX({{packs.{column}}},{{line}}))"


def _of_strain(column: str) -> str:
    return f"N(INDEX({{{column}}},MAX(1,{{strain_row}})))"


def _of_recipe(column: str) -> str:
    return f"N(INDEX({{recipe_costs.{column}}},MAX(1,{{recipe_row}})))"


_FRESH = f"{_plan('fresh')}"
_MADE = _helps("made")
_IS = "({helps_tightest}=%s)"
_LABOR = "ROWS({helps_stations.station})"
_BASE = (
    Computed("product", "Product line", "state", 'INDEX({helps_lines.product},{line})&""'),
    Computed("strain_row", "Row of the strain", "count", _plan("strain_row")),
    Computed("recipe_row", "Row of the recipe", "count", _plan("recipe_row")),
    Computed("fruits", "Is fruited", "count", f"1-{_plan('as_block')}"),
    Computed("packs", "Packs, usual week", "number", _helps("packs") + "*{improve_known}"),
    Computed(
        "contribution",
        "Contribution of a pack",
        "money",
        _helps("contribution") + "*{improve_known}",
    ),
    Computed("use", "A pack, of the fullest station", "number", _helps("use") + "*{improve_known}"),
    Computed("started", "Blocks started", "number", _helps("started")),
    Computed("mixer", "Mixer loads", "number", _helps("mixer")),
    Computed(
        "of_stay", "Use that follows the days in fruiting", "number", f"{IN_FRUITING}*{{use}}"
    ),
    Computed(
        "of_pack", "Use that follows the packs", "number", f"{_IS % _LABOR}*{_plan('minutes')}/60"
    ),
    Computed(
        "of_start", "Use that follows the blocks started", "number", "{use}-{of_stay}-{of_pack}"
    ),
    Computed(
        "of_mixing",
        "Use that follows the mixer loads",
        "number",
        f"{_IS % '1'}*{{use}}+{_IS % _LABOR}*{{mixer}}*{{mixing_minutes}}/60",
    ),
    Computed("loss", "Blocks lost", "fraction", _of_strain("used.loss_rate")),
    Computed(
        "sold",
        "Share sold",
        "fraction",
        "CHOOSE(1+(N(INDEX({products.sold_share},{line}))>0),1,"
        "N(INDEX({products.sold_share},{line})))",
    ),
    Computed("net", "Price after fees", "money", _pack("net")),
    Computed(
        "picking",
        "Picking",
        "min",
        f"{_FRESH}*{_of_strain('used.picking_minutes')}",
    ),
    Computed(
        "packing",
        "Packing",
        "min",
        "N(INDEX({products.packing_minutes},{line}))/{sold}",
    ),
    Computed(
        "made",
        "A pack made, but for its growing",
        "money",
        f"{{picking}}*{{improve_minute}}+({_pack('drying')}+{_pack('pack')}+{_pack('packing')})"
        "/{sold}",
    ),
    Computed(
        "grown",
        "Growing a pack",
        "money",
        f"{{net}}-{_pack('delivery')}-{{made}}-{{contribution}}",
    ),
    Computed(
        "spawn", "Spawn of a pack", "money", f"{{started}}*{_of_strain('strain_costs.spawn')}"
    ),
    Computed(
        "mixing_cost",
        "Mixing a pack",
        "money",
        f"{{started}}*({_of_recipe('mixing')}+{_of_recipe('half_empty')})",
    ),
    Computed(
        "half_empty",
        "Half-empty loads of a pack",
        "money",
        f"{{started}}*({_of_recipe('half_empty')}+{{cost_half_steamer}}+{{cost_half_energy}})",
    ),
    Computed(
        "turn",
        "Turn, if some fit",
        "count",
        f"{_helps('rank')}*({_helps('fits')}>{{rounding}})",
    ),
    Computed(
        "all_growing",
        "Growing of all that fits",
        "money",
        f"{_MADE}*({{grown}}+{{helps_worth}}*{{of_start}})",
    ),
    Computed("growing", "Growing, lines to fruit", "money", "{fruits}*{all_growing}"),
    Computed(
        "standing",
        "Fruiting of all that fits",
        "money",
        f"{_MADE}*{{helps_worth}}*{{of_stay}}",
    ),
    Computed(
        "fruiting_blocks",
        "Blocks of all that fits, to fruit",
        "number",
        f"{_MADE}*{{fruits}}*{{started}}",
    ),
)


def _size(change: Change, case: str) -> str:
    return f"improve_{change.key}_{case}"


def _week(change: Change, case: str) -> str:
    return f"improve_{change.key}_{case}_week" if change is not TODAY else _of_today(case)


def _of_today(case: str) -> str:
    return "improve_today" if case == EXPECTED else f"improve_today_{case}_week"


_CHANGED = {
    "contribution": ("contribution", "money"),
    "use": ("of the fullest station", "number"),
    "packs": ("demand", "number"),
}


def _columns(change: Change, number: int, case: str) -> tuple[list[Computed], str]:
    """Make the columns of a change in one case, and write what a week brings with it."""
    words = {
        "contribution": change.contribution,
        "use": change.use,
        "packs": change.packs_by_case[number] or change.packs,
    }
    if case == WORST and change.at_worst[0]:
        words["contribution"], words["use"] = change.at_worst
    name = f"{change.key}_{case}"
    said = f"{change.key.capitalize()}, {CASES[case]}"
    keys, columns = {}, []
    for key, (label, unit) in _CHANGED.items():
        keys[key] = f"{key}_{name}" if words[key] else key
        if words[key]:
            formula = words[key].replace("{x}", f"{{{_size(change, case)}}}")
            columns.append(Computed(keys[key], f"{said}: {label}", unit, formula))
    worth = f"MAX(0,{{{keys['contribution']}}})/MAX({{rounding}},{{{keys['use']}}})"
    earned, taken, packs = (f"{{improve_fill.{keys[one]}}}" for one in _CHANGED)
    waits = f"+0*{{{keys['packs']}}}" if words["packs"] else ""
    more = f"({{helps_capacity}}+{change.more})" if change.more else "{helps_capacity}"
    columns.append(
        Computed(
            f"most_{name}",
            f"{said}: a week at most",
            "money",
            f"{worth}*{more}+SUMPRODUCT({packs}*({earned}>{worth}*{taken})"
            f"*({earned}-{worth}*{taken})){waits}",
        )
    )
    most = f"{{improve_fill.most_{name}}}"
    week = (
        f'CHOOSE(1+(COUNT({most})=ROWS({most})),"",'
        f"MIN(MIN({most}),SUMPRODUCT({packs}*({earned}>0)*{earned})))"
    )
    return columns, week


def _every() -> tuple[list[Computed], list[Calculated]]:
    """Make the columns of all changes, and what a week brings with each."""
    columns, weeks = [], []
    for change in _ALL:
        for number, (case, words) in enumerate(CASES.items()):
            if not change.saved:
                more, value = _columns(change, number, case)
                columns += more
                label = f"{change.key.capitalize()}, {words}"
                weeks.append(Calculated(_week(change, case), label, "money", value))
    return columns, weeks


_CHANGED_COLUMNS, _WEEKS = _every()
FILL = Grid(
    "improve_fill",
    "What a pack of each product line brings and takes, today and with each change",
    (*_BASE, *_CHANGED_COLUMNS, Counter("line")),
    rows=PRODUCTS.rows,
)
WEEKS = Form("What all product lines contribute in a usual week", tuple(_WEEKS))
SIZES = Form(
    "How large each change is in each case",
    tuple(
        Calculated(
            _size(change, case), f"{change.key.capitalize()}, {CASES[case]}", change.unit, size
        )
        for change in _ALL
        for case, size in zip(CASES, change.sizes, strict=True)
    ),
)


def worth(change: Change, case: str) -> str:
    """Write what a change is worth a week in a case."""
    if change.saved:
        return change.saved.replace("{x}", f"{{{_size(change, case)}}}")
    against = _of_today(case) if change.against_each else _of_today(EXPECTED)
    return f"{{{_week(change, case)}}}-{{{against}}}"
