"""What one more unit of each station costs, to hold against what it would bring."""

from __future__ import annotations

from workbook_template.schema.fields import Field, Section


def _price(station: str, label: str, words: str) -> Field:
    return Field(f"more_{station}", label, "money", "0 or more", words, required=False)


PRICES = {
    "mixer": _price(
        "mixer", "Mixer load a week", "A larger or second mixer, over the loads a week it adds."
    ),
    "steamer": _price(
        "steamer", "Steam load a week", "A second steamer, over the loads a week it adds."
    ),
    "bench": _price("bench", "Bench hour a week", "A second flow hood, over the hours it adds."),
    "incubation": _price(
        "incubation", "Incubation shelf space", "Shelves, room and its air, over the blocks held."
    ),
    "fruiting": _price(
        "fruiting", "Fruiting shelf space", "Shelves, room and its air, over the blocks held."
    ),
    "air": _price(
        "air", "Block the fruiting fan allows", "A stronger fan, over the blocks it adds."
    ),
    "labor": _price(
        "labor", "Labor hour a week", "Hiring, training or a tool. Wages are counted already."
    ),
}
"""By the station of the Week plan; the fans in fruiting limit the blocks as shelves do."""

MORE = Section("What one more costs, once (leave blank for no payback)", tuple(PRICES.values()))
