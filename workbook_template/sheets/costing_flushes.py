"""Whether a further flush is worth its place."""

from __future__ import annotations

from workbook_template.schema.fields import Computed
from workbook_template.schema.figures import MOST_FLUSHES, used_in
from workbook_template.sheets.costing_parts import NUMBER, chosen
from workbook_template.writing.blocks import Calculated, Grid

_FLUSH_NUMBERS = range(2, MOST_FLUSHES + 1)


_INTERVAL = used_in("flush_interval_days", "{flush_row}")


def _be(number: int) -> str:
    return used_in(f"be_{number}", "{flush_row}")


_ALL_BE_KNOWN = chosen(
    "1",
    *(
        "*".join(f"COUNT({_be(each)})" for each in range(2, number + 1)) + f"*COUNT({_INTERVAL})"
        for number in _FLUSH_NUMBERS
    ),
)


BASIS = (
    Calculated(
        "flush_value",
        "Revenue",
        "money/kg",
        'CHOOSE(1+{cost_fruited},"",({cost_sold_share}*({net_price}-{cost_delivery})'
        "-{cost_pack_made}+{cost_pack_blocks})/{pack_fresh})",
        "For fresh mass: after fees, picking, drying, packing and delivery.",
    ),
    Calculated(
        "flush_block",
        "Variable cost of a good block",
        "money/block",
        "({cost_started}-{cost_standing_block})/(1-{cost_loss_rate})",
        "Without room energy, equipment and overhead.",
    ),
)

WORKINGS = (
    Calculated(
        "flush_row",
        "Row on the Strains sheet",
        "count",
        "MATCH({cost_strain},{strains.strain},0)",
        "Of the product line chosen.",
    ),
)


FLUSHES = Grid(
    "flush_worth",
    "One flush or more",
    (
        Computed(
            "flushes",
            "Flushes kept",
            "state",
            chosen('"one flush"', '"two flushes"', '"three flushes"', '"four flushes"'),
        ),
        Computed(
            "be",
            "BE in total",
            "fraction",
            f'CHOOSE(1+{{cost_fruited}}*{_ALL_BE_KNOWN},"",{_be(1)}'
            + "".join(f"+({{number}}>={number})*N({_be(number)})" for number in _FLUSH_NUMBERS)
            + ")",
        ),
        Computed(
            "days",
            "Days in fruiting",
            "d",
            f"({{be}}>=0)*({used_in('first_flush_days', '{flush_row}')}"
            f"+({{number}}-1)*N({_INTERVAL})+{{turnover_days}})",
        ),
        Computed(
            "fresh",
            "Fresh mass",
            "kg",
            "CFX.EXPECTED_HARVEST(CFX.DRY_MASS({block_mass},{cost_target}),{be})",
        ),
        Computed(
            "contribution",
            "Contribution",
            "money/block",
            "{fresh}*{flush_value}-{flush_block}",
        ),
        Computed(
            "per_day",
            "Per day on the shelf",
            "money",
            'CHOOSE(1+({days}>0),"",{contribution}/{days})',
        ),
        Computed(
            "added",
            "Last flush adds per day",
            "money",
            f'CHOOSE(1+({{number}}>1)*(N({_INTERVAL})>0),"",({{contribution}}-SUMIFS('
            "{flush_worth.contribution},{flush_worth.number},{number}-1))/"
            f"{_INTERVAL})",
        ),
        Computed(
            "mark",
            "Best use",
            "state",
            "CHOOSE(1+({per_day}>=MAX({flush_worth.per_day})),"
            'CHOOSE(1+({number}=INDEX({strains.flushes},{flush_row})),"","kept now"),'
            "CHOOSE(1+({number}=INDEX({strains.flushes},{flush_row})),"
            'CHOOSE(1+({per_day}>0),"none pays","best"),'
            'CHOOSE(1+({per_day}>0),"none pays, kept","best, kept")))',
        ),
        NUMBER,
    ),
    rows=MOST_FLUSHES,
)


KEPT = "SUMIFS({strains.flushes},{strains.strain},{cost_strain})"

WORDS = (
    "Best is the number of flushes with the highest contribution per day on the shelf, turnaround "
    "days included. A further flush is worth its shelf space while it adds more per day than "
    "that average. While shelf spaces stand empty, every flush that adds anything is worth "
    "waiting for.",
)
