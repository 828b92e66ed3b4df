"""The changes that Improve compares: what each one changes about the packs of a usual week.

Each has a size in three cases: at worst, as expected, at best. Where own records tell a range it is
theirs; elsewhere it is what is typed. What a change leaves as it is, its case takes from today, so
that a change of nothing is worth exactly nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

from workbook_template.schema.figures import used_in
from workbook_template.schema.what_helps import PRICES
from workbook_template.sheets.what_helps import LIMITS
from workbook_template.writing.week_grid import WEEKS

WORST, EXPECTED, BEST = "low", "expected", "high"
CASES = {WORST: "at worst", EXPECTED: "as expected", BEST: "at best"}


@dataclass(frozen=True)
class Change:
    """One change, as templates.

    Attributes
    ----------
    key : str
        Of the change, as in ``schema.improve.CHANGES``.
    sizes : tuple of str
        How large it is at worst, as expected and at best.
    words : str
        What the list calls it.
    basis : str
        Where its range is from.
    measure : str
        What would have to be measured to be surer.
    contribution, use : str
        Of a pack with it, in the row of a product line; ``{x}`` is its size. Empty where it
        changes neither.
    packs : str
        What is asked for then; empty where that stays.
    unit : str
        Of its size.
    at_worst : tuple of str
        Contribution and use in the worst case, where that differs by more than its size.
    packs_by_case : tuple of str
        What is asked for in each case, where that differs by more than its size.
    more : str
        By how much the capacity of the fullest station grows.
    against_each : bool
        Whether each case is held against today with the demand of that case.
    saved : str
        What it saves a week apart from the packs.
    batches : str
        How many batches would tell, where luck hides it.
    """

    key: str
    sizes: tuple[str, str, str]
    words: str
    basis: str
    measure: str
    contribution: str = ""
    use: str = ""
    packs: str = ""
    unit: str = "number"
    at_worst: tuple[str, str] = ("", "")
    packs_by_case: tuple[str, str, str] = ("", "", "")
    more: str = ""
    against_each: bool = False
    saved: str = ""
    batches: str = '""'


def typed(size: str, most: str = "") -> tuple[str, str, str]:
    """Return a typed size in each case; at best no more than there is."""
    best = f"{{improve_best}}*{{{size}}}"
    return (
        f"{{improve_worst}}*{{{size}}}",
        f"{{{size}}}*1",
        f"MIN({most},{best})" if most else best,
    )


_AS_TYPED = '"sizes as typed"'
_Z = "NORMSINV(AVERAGE({trial_confidence},1))"
_POWER = "NORMSINV({trial_power})"
_FOR_T = f"({_Z}/2)^2"


def _by_losses(one: str, other: str) -> str:
    """Write how many batches of each kind tell two losses apart, as on the Trials sheet."""
    return (
        f"ROUNDUP(CFX.TRIAL_BLOCKS({one},{other},{{trial_confidence}},{{trial_power}},"
        f"{{results_spread}})/AVERAGE({{batches.bags}})+{_FOR_T},0)"
    )


def _by_yields(spread: str, difference: str) -> str:
    """Write how many batches of each kind tell two yields apart, as on the Trials sheet."""
    return f"ROUNDUP(2*(({_Z}+{_POWER})*{spread}/({difference}))^2+{_FOR_T},0)"


def _named(row: str) -> str:
    return f"INDEX({{strains.strain}},{{{row}}})"


_OF_STRAIN = "({strain_row}={improve_%s_row})"
_STARTED = "{contribution}+{grown}*(1-{x})*"
_STARTED_USE = "{use}+{of_start}*({x}-1)*"


def _loss() -> Change:
    loss = used_in("loss_rate", "{improve_loss_row}")
    best = "INDEX({improve_strains.best},{improve_loss_row})"
    quarter = "INDEX({improve_quarters.%s},{improve_quarter})"
    of_quarter = (
        f"{quarter % 'lost'},{quarter % 'blocks'},{{results_confidence}},MAX(1,{{results_reach}})"
    )
    here = _OF_STRAIN % "loss"
    return Change(
        "loss",
        (
            f"(1-{loss})/(1-MAX({best},CFX.LOSS_HIGH({of_quarter})))",
            f"(1-{loss})/(1-{best})",
            f"(1-{loss})/(1-MIN({best},CFX.LOSS_LOW({of_quarter})))",
        ),
        f'"Fewer blocks of "&{_named("improve_loss_row")}&" lost: "&TEXT({best},"0.0%")&", not "'
        f'&TEXT({loss},"0.0%")',
        '"your records: best quarter"',
        '"Losses of its next batches; what was done otherwise in that quarter."',
        _STARTED + here,
        _STARTED_USE + here,
        batches=_by_losses(best, loss),
    )


def _flush(key: str, column: str, sign: str, days: str, label: str, measure: str) -> Change:
    row = f"{{improve_{key}_row}}"
    be = f"INDEX({{improve_strains.be}},{row})"
    flush = f"INDEX({{improve_strains.{column}}},{row})"
    here = f"{_OF_STRAIN % key}*{{fruits}}"
    ends = [f"{{improve_{key}_least}}", f"{{improve_{key}_most}}"]
    at_worst, at_best = ends if sign == "+" else ends[::-1]
    return Change(
        key,
        tuple(  # type: ignore[arg-type]
            f"{be}/MAX({{rounding}},{be}{sign}{flush}*{times})"
            for times in (at_worst, "1", at_best)
        ),
        f'"{label} of "&{_named(f"improve_{key}_row")}',
        f'CHOOSE(1+{{improve_{key}_own}},"BE as typed, Costing","your records: BE")',
        measure,
        _STARTED + here,
        f"{{use}}+({{of_start}}*({{x}}-1)+{{of_stay}}*({{x}}*{days}-1))*{here}".replace(
            "%s", f"INDEX({{improve_strains.interval}},{row})"
        ),
        batches=_by_yields(
            "{assumed_flush_spread}",
            f"({ends[1]}-{ends[0]})*ABS({{money}})/MAX({{rounding}},{{high}}-{{low}})",
        ),
    )


_MORE_STAY = (
    "INDEX({improve_strains.be},{improve_more_row})/(INDEX({improve_strains.be},{improve_more_row})"
    "+INDEX({improve_strains.next},{improve_more_row}))"
    "*(1+INDEX({improve_strains.interval},{improve_more_row}))-1"
)
_MORE_SPACES = (
    "ROUNDUP(SUMPRODUCT(({helps_lines.strain_row}={improve_more_row})*1,"
    f"{{helps_lines.worth_making}},{{helps_lines.fruiting}})*MAX(0,{_MORE_STAY})-{{rounding}},0)"
)
_ROOM_FOR_MORE = (
    f'{_MORE_SPACES}&" more spaces: free in "&COUNTIF({{room_weeks.free}},">="&{_MORE_SPACES})'
    f'&" of the next {WEEKS} weeks"'
)
"""How many shelf spaces the flush takes of a usual week, and in how many weeks they are free."""


def _recipe() -> Change:
    def of(column: str) -> str:
        return f"INDEX({{improve_recipes.{column}}},{{improve_recipe_row}})"

    def size(end: str) -> str:
        return f"{of('be_now')}*{of('dry')}/MAX({{rounding}},{of('be')}{end})"

    here = f"({{strain_row}}={of('strain')})*({{recipe_row}}={of('now')})*{{fruits}}"
    full = "MAX(1,INDEX({recipe_costs.full},%s))"
    mixer = f"{full % of('now')}/{full % of('recipe')}"
    return Change(
        "recipe",
        (size(f"-{of('down')}"), size(""), size(f"+{of('up')}")),
        f'INDEX({{strains.strain}},{of("strain")})&" on "&INDEX({{recipes.recipe}},{of("recipe")})',
        '"your records: BE of both"',
        '"Batches of both recipes, made side by side: see the Trials sheet."',
        f"{{contribution}}+({{grown}}*(1-{{x}})-{of('dearer')}*{{started}}*{{x}})*{here}",
        f"{{use}}+(({{of_start}}+{{of_stay}})*({{x}}-1)+{{of_mixing}}*{{x}}*({mixer}-1))*{here}",
        batches=_by_yields("{trial_yield_spread}", f"{of('be')}/{of('be_now')}-1"),
    )


_MORE_LOST = "(1-{loss})/MAX({rounding},1-{loss}-{improve_lost})"


def _at_a_risk(key: str, size: str, saved: str, words: str, measure: str, unit: str) -> Change:
    """Make a change that saves something on each block, and may cost some of them."""
    return Change(
        key,
        (size, size, size),
        words,
        '"losses at worst, as typed"',
        measure,
        f"{{contribution}}+{saved}",
        unit=unit,
        at_worst=(
            f"{{contribution}}+{{grown}}-({{grown}}-{saved})*{_MORE_LOST}",
            f"{{use}}+{{of_start}}*({_MORE_LOST}-1)",
        ),
        batches=_by_losses("{results_loss}", "MIN(1,{results_loss}+{improve_lost})"),
    )


def _step(key: str, words: str, money: str, hours: str) -> Change:
    return Change(
        key,
        typed("improve_minutes", "1"),
        f'"{words} in "&TEXT({{improve_minutes}},"0%")&" less time"',
        _AS_TYPED,
        f'"Minutes of {words.lower()}, a week before and a week after."',
        f"{{contribution}}+{{x}}*{money}",
        f"{{use}}-{{x}}*{hours}",
        unit="fraction",
    )


_LABOR = "({helps_tightest}=ROWS({helps_stations.station}))"
"""Labor is the last of the stations."""
_BENCH = "({helps_tightest}=3)"
_A_MINUTE = "{improve_minute}"
_MIXED = "{mixing_cost}+{started}*{filling_minutes}*" + _A_MINUTE
_STEPS = (
    _step("picking", "Picking", f"{{picking}}*{_A_MINUTE}", f"{{picking}}/60*{_LABOR}"),
    _step("packing", "Packing", f"{{packing}}*{_A_MINUTE}", f"{{packing}}/60*{_LABOR}"),
    _step(
        "mixing",
        "Mixing and filling",
        f"({_MIXED})",
        f"({{mixer}}*{{mixing_minutes}}+{{started}}*{{filling_minutes}})/60*{_LABOR}",
    ),
    _step(
        "inoculating",
        "Inoculating",
        f"{{started}}*{{inoculating_minutes}}*{_A_MINUTE}",
        f"{{started}}*{{inoculating_minutes}}/60*({_LABOR}+{_BENCH})",
    ),
)

_SOLD = "({sold}/MIN(1,{sold}+{x}*MAX(0,{improve_sold}-{sold})))"
_PRICE_PACKS = "{packs}*MAX(0,1-%s*{improve_price_lost})"
_FIRST, _WEAKEST = "({line}={improve_first})", "({line}={improve_weakest})"
_FIRST_NAME, _WEAKEST_NAME = (
    f"INDEX({{improve_fill.product}},{{improve_{which}}})" for which in ("first", "weakest")
)
_FREED = "INDEX({helps_lines.fits},{improve_weakest})/INDEX({helps_lines.use},{improve_first})"
_IF_FULL = 'CHOOSE(1+COUNT({?helps_next})*({improve_swap}>=0),"",%s)'
"""While there is room, nothing has to make way for more of the best line."""
_DEMAND = ("0-{improve_demand}", "0*{improve_demand}", "{improve_demand}*1")
_ASKED = "{packs}*(1+{x})"
_STATIONS = ",".join(f'"{PRICES[name].label.lower()}"' for name in LIMITS)
TODAY = Change("today", _DEMAND, '"Today"', '""', '""', packs=_ASKED, unit="fraction")
"""Nothing changed, with as much demand as in each case."""

CHANGES = (
    _loss(),
    _flush(
        "less",
        "last",
        "-",
        "(1-%s)",
        "One flush less",
        '"BE of its last flush; whether the shelf spaces are needed."',
    ),
    _flush(
        "more",
        "next",
        "+",
        "(1+%s)",
        "One flush more",
        _ROOM_FOR_MORE + '&"; its BE and days."',
    ),
    _recipe(),
    _at_a_risk(
        "spawn",
        "{improve_spawn}*1",
        "{x}*{spawn}",
        '"Spawn rate lower by "&TEXT({improve_spawn},"0%")',
        '"Losses, days and BE with less spawn: records of today can\'t tell."',
        "fraction",
    ),
    *_STEPS,
    Change(
        "sold",
        ("{improve_worst}*1", "1+0*{improve_sold}", "{improve_best}*1"),
        '"Up to "&TEXT({improve_sold},"0%")&" of the packs sold"',
        _AS_TYPED,
        '"Packs made and packs sold, market by market."',
        f"{{contribution}}+({{grown}}+{{made}})*(1-{_SOLD})",
        f"{{use}}*{_SOLD}",
        unit="fraction",
    ),
    Change(
        "price",
        ("{improve_price}*1",) * 3,
        '"Prices up by "&TEXT({improve_price},"0%")',
        '"packs lost, as typed"',
        '"Packs sold, before and after. It pays if fewer than "'
        '&TEXT(1-{improve_today}/MAX({rounding},{improve_price_high_week}),"0%")&" are lost."',
        "{contribution}+{net}*{x}",
        unit="fraction",
        packs_by_case=(_PRICE_PACKS % "2", _PRICE_PACKS % "1", "{packs}*1"),
    ),
    Change(
        "swap",
        tuple(_IF_FULL % size for size in typed("improve_swap")),  # type: ignore[arg-type]
        f'{_FIRST_NAME}&" for "&{_WEAKEST_NAME}',
        _AS_TYPED,
        '"How many more packs of the first one buyers take."',
        packs=f"{{packs}}*(1-{_WEAKEST})+{_FIRST}*MIN({{x}}*{{packs}},{_FREED})",
        unit="fraction",
    ),
    Change(
        "rooms",
        typed("improve_rooms", "1"),
        '"Set-points that save "&TEXT({improve_rooms},"0%")&" of the room energy"',
        _AS_TYPED,
        '"The meter, two weeks each way; days, BE and losses, too."',
        saved="{x}*7*({incubation_energy}+{fruiting_energy})*{electricity_price}",
        unit="fraction",
    ),
    _at_a_risk(
        "hold",
        "MIN({improve_hold},{hold_hours})",
        "{x}*{improve_hold_hour}*{started}",
        '"Hold shorter by "&ROUND({improve_hold},1)&" h"',
        '"Lethality on the Steam runs sheet first; then losses."',
        "h",
    ),
    Change(
        "station",
        _DEMAND,
        f'"One more "&CHOOSE({{helps_tightest}},{_STATIONS})',
        '"demand off, as typed"',
        '"Orders that you had to turn down."',
        packs=_ASKED,
        more="1",
        against_each=True,
        unit="fraction",
    ),
    Change(
        "joined",
        typed("improve_joined", "1"),
        'TEXT({improve_joined},"0%")&" fewer half-empty loads"',
        _AS_TYPED,
        '"Loads, and the blocks in each: Batches and Steam runs."',
        "{contribution}+{x}*{half_empty}",
        unit="fraction",
    ),
    Change(
        "packs",
        typed("improve_packs"),
        f'ROUND({{improve_packs}},0)&" packs a week more of "&{_FIRST_NAME}',
        _AS_TYPED,
        '"Orders turned down, and packs left over."',
        packs=f"{{packs}}+{_FIRST}*{{x}}",
    ),
    Change(
        "market",
        tuple(  # type: ignore[arg-type]
            f"0-INDEX({{by_market.{end}}},{{improve_market}})" for end in ("high", "per_day", "low")
        ),
        '"Drop "&INDEX({by_market.market},{improve_market})',
        '"your records: its days"',
        '"Takings and hours of its next days; whether its buyers come elsewhere."',
        saved="{x}*{improve_market_days}",
    ),
)
