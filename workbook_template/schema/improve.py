"""How large each change on the Improve sheet is, and what it costs once."""

from __future__ import annotations

from workbook_template.schema.fields import ASSUMPTION, COMMON_PRACTICE, Field, Section


def _size(
    key: str,
    label: str,
    limits: str,
    words: str,
    default: float,
    lowest: float,
    of_money: bool = False,
) -> Field:
    return Field(
        f"improve_{key}",
        label,
        "fraction",
        limits,
        words,
        lowest=lowest,
        default=default,
        source=ASSUMPTION,
        of_money=of_money,
    )


IMPROVE = Section(
    "How large each change is",
    (
        _size(
            "minutes",
            "Less time a step",
            "0 to 0.9",
            "Of the minutes that the step takes today.",
            0.2,
            0.01,
        ),
        _size("spawn", "Less spawn", "0 to 0.9", "Of today's spawn rate, all strains.", 0.2, 0.01),
        _size(
            "lost",
            "More blocks lost, at worst",
            "0 to 0.5",
            "In points, with less spawn or a shorter hold: nobody knows before a trial.",
            0.05,
            0.006,
        ),
        Field(
            "improve_hold",
            "Hold shorter by",
            "h",
            "0 to 100",
            "Only where the Steam runs sheet shows lethality to spare.",
            default=1.0,
            source=ASSUMPTION,
        ),
        _size(
            "rooms",
            "Room energy saved",
            "0 to 0.9",
            "By another set-point within what the strain stands.",
            0.05,
            0.01,
        ),
        _size(
            "joined",
            "Half-empty loads avoided",
            "0 to 1",
            "Of what they cost, with one mixing day for several crops.",
            0.5,
            0.011,
        ),
        _size(
            "sold",
            "Share sold, then",
            "above 0 to 1",
            "Of lines that sell less today; the others stay as they are.",
            0.97,
            0.05,
        ),
        _size("price", "Price up by", "0 to 1", "Of all product lines.", 0.05, 0.011, True),
        _size(
            "price_lost",
            "Packs lost by it",
            "0 to 0.5",
            "At worst twice as many, at best none.",
            0.03,
            0.006,
        ),
        Field(
            "improve_packs",
            "More packs sold a week",
            "count",
            "0 or more",
            "Of the line that comes first.",
            default=5.0,
            source=ASSUMPTION,
        ),
        _size(
            "swap",
            "Best line sells more by",
            "0 to 2",
            "Where the fullest station is full, in the room of the weakest line, which is dropped.",
            0.2,
            0.021,
        ),
        _size(
            "demand",
            "Demand off by",
            "0 to 0.9",
            "Up or down, for the worth of one more of the fullest station.",
            0.2,
            0.01,
        ),
        _size(
            "worst",
            "Reached at worst",
            "0 to 1",
            "Of the sizes typed here, where records tell no range.",
            0.5,
            0.011,
        ),
        _size(
            "best",
            "Reached at best",
            "1 to 2",
            "Of the sizes typed here, where records tell no range.",
            1.25,
            1.0,
        ),
        Field(
            "improve_batches",
            "Batches of a best quarter",
            "count",
            "1 or more, whole",
            "Fewer say too little of what a strain can do.",
            default=4.0,
            source=COMMON_PRACTICE,
        ),
    ),
)

CHANGES = {
    "loss": "Fewer blocks lost",
    "less": "One flush less",
    "more": "One flush more",
    "recipe": "Another recipe",
    "spawn": "Less spawn",
    "picking": "Picking in less time",
    "packing": "Packing in less time",
    "mixing": "Mixing, filling in less time",
    "inoculating": "Inoculating in less time",
    "sold": "More of the packs sold",
    "price": "Higher prices",
    "swap": "Best line for the weakest",
    "rooms": "Another room set-point",
    "hold": "Shorter hold",
    "station": "One more of the fullest station",
    "joined": "Fewer half-empty loads",
    "packs": "More packs sold",
    "market": "A market dropped",
}
"""The changes that are compared, by key."""

ONCE = Section(
    "What each change costs once (leave blank for no payback)",
    tuple(
        Field(
            f"once_{key}",
            label,
            "money",
            "0 or more",
            "Tools, training, trial batches.",
            required=False,
        )
        for key, label in CHANGES.items()
        if key != "station"
    ),
)
"""One more of the fullest station has its price on the Costing sheet."""
