"""Whether a further flush is worth its place."""

from __future__ import annotations

from workbook_template.schema.fields import Computed
from workbook_template.schema.materials import MOST_FLUSHES
from workbook_template.sheets.costing_parts import NUMBER, chosen
from workbook_template.writing.blocks import Calculated, Grid

_FLUSH_NUMBERS = range(2, MOST_FLUSHES + 1)


_INTERVAL = "INDEX({strains.flush_interval_days},{flush_row})"


def _be(number: int) -> str:
    return f"INDEX({{strains.be_{number}}},{{flush_row}})"


_ALL_BE_KNOWN = chosen(
    "1",
    *(
        "*".join(f"COUNT({_be(each)})" for each in range(2, number + 1)) + f"*COUNT({_INTERVAL})"
        for number in _FLUSH_NUMBERS
    ),
)


FLUSH_BASIS = (
    Calculated(
        "flush_row",
        "Row on the Strains sheet",
        "count",
        "MATCH({cost_strain},{strains.strain},0)",
        "Of the product line chosen at the top.",
    ),
    Calculated(
        "flush_value",
        "A fresh mass brings",
        "money/kg",
        'CHOOSE(1+{cost_fruited},"",({cost_sold_share}*({net_price}-{cost_delivery})'
        "-{cost_pack_made}+{cost_pack_blocks})/{pack_fresh})",
        "Price after fees of what is sold, less picking, drying, pack, delivery.",
    ),
    Calculated(
        "flush_block",
        "A good block takes",
        "money/block",
        "({cost_started}-{cost_standing_block})/(1-{cost_loss_rate})",
        "What is spent because of it; not rooms, equipment, overhead.",
    ),
)


FLUSHES = Grid(
    "flush_worth",
    "One, two, three or four flushes",
    (
        Computed(
            "flushes",
            "Flushes kept",
            "state",
            chosen('"one flush"', '"two flushes"', '"three flushes"', '"four flushes"'),
        ),
        Computed(
            "be",
            "BE, all of them",
            "fraction",
            f'CHOOSE(1+{{cost_fruited}}*{_ALL_BE_KNOWN},"",{_be(1)}'
            + "".join(f"+({{number}}>={number})*N({_be(number)})" for number in _FLUSH_NUMBERS)
            + ")",
        ),
        Computed(
            "days",
            "Days in fruiting",
            "d",
            "({be}>=0)*(INDEX({strains.first_flush_days},{flush_row})"
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
            "For a place and day",
            "money",
            'CHOOSE(1+({days}>0),"",{contribution}/{days})',
        ),
        Computed(
            "added",
            "Last flush adds a day",
            "money",
            f'CHOOSE(1+({{number}}>1)*(N({_INTERVAL})>0),"",({{contribution}}-SUMIFS('
            "{flush_worth.contribution},{flush_worth.number},{number}-1))/"
            f"{_INTERVAL})",
        ),
        Computed(
            "mark",
            "Which is best",
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
