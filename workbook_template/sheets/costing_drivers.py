"""What moves the cost: each driver by itself over its own range, the cost computed anew."""

from __future__ import annotations

from workbook_template.schema.cards import CHANGES, OWN_MONTHS
from workbook_template.schema.cards import DRIVERS as NAMED
from workbook_template.schema.fields import Computed
from workbook_template.schema.figures import used_of
from workbook_template.sheets.costing_parts import NUMBER, chosen
from workbook_template.sheets.results_groups import MONTHS
from workbook_template.writing.blocks import Grid
from workbook_template.writing.week_grid import HeadedGrid

DRIVER_NAMES = tuple(name for name, _, _ in NAMED.values())


_CHANGES = range(1, len(CHANGES.fields) + 1)


_HERE = "{%s}"


_THERE = "INDEX({driver_parts.%s},{number})"


_LOSS = f"{{cost_loss_rate}}*(1+{_THERE % 'on_loss'}*%s)"


def _recomputed(change: str, part: str, loss: str) -> str:
    """Return the whole cost of a pack sold when the row's driver is changed by a share.

    ``part`` writes where a figure of the driver comes from, ``loss`` is the share of the blocks
    that is lost then.
    """
    fruiting = f"{{cost_fruited}}*{{cost_fruiting_energy}}*({{cost_loss_rate}}-{loss})"
    block = f"({{cost_started}}+{part % 'of_block'}*{change}+{fruiting})/(1-{loss})"
    grown = f"{block}*{{pack_blocks}}/(1+{part % 'on_be'}*{change})"
    rest = f"{{cost_pack_made}}-{{cost_pack_blocks}}+{part % 'of_pack'}*{change}"
    cost = f"({grown}+{rest})/{{cost_sold_share}}+{{cost_delivery}}"
    return f'CHOOSE(1+({loss}<1),"",{cost})'


DRIVER_PARTS = Grid(
    "driver_parts",
    "What each driver is part of, for the product line chosen",
    (
        Computed(
            "driver",
            "Driver",
            "state",
            chosen(*(f'"{name}"' for name in DRIVER_NAMES)),
        ),
        Computed(
            "of_block",
            "Part of a block started",
            "money/block",
            chosen(
                "0",
                "0",
                "{cost_spawn}",
                "{cost_spawn}",
                "{cost_ingredients}",
                "{cost_mixing}+{cost_filling}+{cost_steaming}+{cost_inoculating}+{cost_moving}"
                "+{cost_half_mixer}+{cost_half_steamer}",
                "{cost_steam}+{cost_half_energy}+{cost_rooms}",
                "{cost_overhead}",
            ),
        ),
        Computed(
            "of_pack",
            "Part of a pack made",
            "money",
            chosen(
                *"00000",
                "{cost_picking}+{cost_drying}+{cost_packing}",
                "{cost_drying_energy}",
                "0",
            ),
        ),
        Computed("on_be", "Scales BE", "count", chosen("{cost_fruited}", *"0000000")),
        Computed("on_loss", "Scales losses", "count", chosen("0", "1", *"000000")),
        Computed(
            "unchanged",
            "Cost at no change",
            "money",
            _recomputed("0", _HERE, "{cost_loss_rate}"),
        ),
        NUMBER,
    ),
    rows=len(DRIVER_NAMES),
)


def _of_month(column: str, *criteria: str) -> str:
    """Add up a column over the ended batches of the strain that were made in the row's month."""
    start, until = (f"INDEX({{by_month.{end}}},{{number}})" for end in ("start", "until"))
    ended = '{batches.strain},{cost_strain},{batches.state},"ended"'
    made = f'{{batches.made}},">="&{start},{{batches.made}},"<"&{until}'
    return f"SUMIFS({','.join((f'{{batches.{column}}}', ended, made, *criteria))})"


_FRUITED = '{batches.kept_for},">=1"'


STRAIN_MONTHS = Grid(
    "strain_months",
    "The strain's ended batches, by the month in which they were made",
    (
        Computed("month", "Month", "state", 'INDEX({by_month.month},{number})&""'),
        Computed("blocks", "Blocks made", "count", _of_month("bags")),
        Computed("lost", "Blocks lost", "count", _of_month("lost")),
        # A month that lost all of its blocks sold nothing that could have a cost.
        Computed("loss", "Loss", "fraction", 'CHOOSE(1+({blocks}>{lost}),"",{lost}/{blocks})'),
        Computed("fresh", "Fresh mass", "kg", _of_month("fresh", _FRUITED)),
        Computed("dry", "Dry substrate, good blocks", "kg", _of_month("dry_good", _FRUITED)),
        Computed("be", "BE", "fraction", 'CHOOSE(1+({fresh}>0)*({dry}>0),"",{fresh}/{dry})'),
        NUMBER,
    ),
    rows=MONTHS,
)


_BE = used_of("biological_efficiency", "cost_strain")


_ENOUGH = (
    f'({{driver_records}}="{OWN_MONTHS}")*(COUNTIFS({{batches.strain}},{{cost_strain}},'
    '{batches.state},"ended")>={enough_batches})*(COUNT({strain_months.%s})>1)'
)


def _end(end: str, of_months: str) -> Computed:
    """Make the column with one end of the range of each driver.

    BE and losses are themselves, of the farm's months or of what is planned; all others are shares
    of today's figure.
    """
    typed = [f"{{{driver}_{end}}}" for driver in NAMED]
    be = f"CHOOSE(1+{{own}},{_BE}*{typed[0]},{of_months}({{strain_months.be}}))"
    losses = f"CHOOSE(1+{{own}},{{cost_loss_rate}}*{typed[1]},{of_months}({{strain_months.loss}}))"
    label = {"low": "Lowest", "high": "Highest"}[end]
    return Computed(end, label, "fraction", chosen(be, losses, *(f"{one}*1" for one in typed[2:])))


def _change(end: str) -> Computed:
    own, others = f"{{{end}}}/{_BE}-1", f"{{{end}}}-1"
    label = {"low": "Change at the lowest", "high": "Change at the highest"}[end]
    return Computed(f"change_at_{end}", label, "fraction", chosen(own, "0", *[others] * 6))


_ENDS = 'TEXT({low},"0%")&" to "&TEXT({high},"0%")'


DRIVER_RANGES = Grid(
    "driver_ranges",
    "Range of each driver",
    (
        Computed("driver", "Driver", "state", _THERE % "driver"),
        Computed("range", "Range", "state", chosen(*[_ENDS] * 2, *[f'{_ENDS}&" of today\'s"'] * 6)),
        Computed("basis", "Range from", "state", f'CHOOSE(1+{{own}},"as typed","{OWN_MONTHS}")'),
        Computed("own", "Own", "count", chosen(_ENOUGH % "be", _ENOUGH % "loss", *"000000")),
        _end("low", "MIN"),
        _end("high", "MAX"),
        *map(_change, ("low", "high")),
        NUMBER,
    ),
    rows=len(DRIVER_NAMES),
)


def _at(end: str) -> str:
    change = f"INDEX({{driver_ranges.change_at_{end}}},{{number}})"
    lost_more = f"INDEX({{driver_ranges.{end}}},{{number}})-{{cost_loss_rate}}"
    return _recomputed(change, _THERE, f"({{cost_loss_rate}}+{_THERE % 'on_loss'}*({lost_more}))")


DRIVER_COSTS = Grid(
    "driver_costs",
    "Cost of a pack sold with each change, and over the range of each driver",
    (
        Computed("driver", "Driver", "state", _THERE % "driver"),
        *(
            Computed(
                f"cost_{n}",
                f"Change {n}",
                "money",
                _recomputed(f"{{change_{n}}}", _THERE, _LOSS % f"{{change_{n}}}"),
            )
            for n in _CHANGES
        ),
        Computed("low", "At its lowest", "money", _at("low")),
        Computed("high", "At its highest", "money", _at("high")),
        Computed("swing", "Highest less lowest", "money", "MAX({low},{high})-MIN({low},{high})"),
        Computed(
            "place",
            "Place",
            "count",
            "1+SUMPRODUCT(({driver_costs.swing}>{swing})*1)"
            "+SUMPRODUCT(({driver_costs.swing}={swing})*({driver_costs.number}<{number}))",
        ),
        NUMBER,
    ),
    rows=len(DRIVER_NAMES),
)


def _in_order(column: str, table: str = "driver_costs") -> str:
    return f"INDEX({{{table}.{column}}},{{which}})"


DRIVERS = HeadedGrid(
    "drivers",
    "Cost of a pack sold over each driver's range, and with the same change for all",
    (
        Computed("driver", "Driver", "state", _in_order("driver")),
        Computed("range", "Range", "state", _in_order("range", "driver_ranges")),
        Computed("basis", "Range from", "state", _in_order("basis", "driver_ranges")),
        Computed("low", "At its lowest", "money", _in_order("low")),
        Computed("high", "At its highest", "money", _in_order("high")),
        Computed("swing", "Difference", "money", _in_order("swing")),
        *(Computed(f"cost_{n}", f"Change {n}", "money", _in_order(f"cost_{n}")) for n in _CHANGES),
        Computed(
            "which",
            "Row in the list of costs",
            "count",
            "CHOOSE(1+MIN(1,COUNTIF({driver_costs.place},{number})),"
            '"",SUMIFS({driver_costs.number},{driver_costs.place},{number}))',
            is_working=True,
        ),
        Computed("least", "Least cost", "money", "MIN({low},{high})", is_working=True),
        Computed(
            "today", "Cost today", "money", _in_order("unchanged", "driver_parts"), is_working=True
        ),
        Computed("most", "Most cost", "money", "MAX({low},{high})", is_working=True),
        NUMBER,
    ),
    rows=len(DRIVER_NAMES),
    headings={f"cost_{n}": (f"{{change_{n}}}*1", "fraction") for n in _CHANGES},
)

WORKINGS = (DRIVER_COSTS, DRIVER_PARTS, DRIVER_RANGES, STRAIN_MONTHS)

WORDS = (
    "One driver at a time goes from its lowest to its highest, everything else as it is today. "
    "The range of BE and losses is that of the strain's own months, once enough of its batches "
    "have ended; all other ranges are those that you type below. Labor is the wage, energy the "
    "price of electricity. BE changes nothing about a block sold whole.",
)
