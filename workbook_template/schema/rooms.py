"""What all rooms share: the weather, the crop's CO2, the meter, the sensor, the cold room."""

from __future__ import annotations

from workbook_template.schema.fields import (
    ASSUMPTION,
    COMMON_PRACTICE,
    Field,
    Section,
)

_LEVEL = "100 to 100000"
_TEMPERATURE = "-50 to 60"

OUTSIDE = Section(
    "Outside",
    (
        Field(
            "cold_temperature",
            "Coldest night",
            "°C",
            _TEMPERATURE,
            "Heaters are sized for this.",
            default=-10.0,
            us_default=14.0,
            source=ASSUMPTION,
        ),
        Field(
            "cold_humidity",
            "Humidity that night",
            "fraction",
            "0 to 1",
            "Relative humidity outside.",
            lowest=0.02,
            default=0.8,
            source=ASSUMPTION,
        ),
        Field(
            "hot_temperature",
            "Hottest day",
            "°C",
            _TEMPERATURE,
            "Cooling is sized for this.",
            default=32.0,
            us_default=90.0,
            source=ASSUMPTION,
        ),
        Field(
            "hot_humidity",
            "Humidity that day",
            "fraction",
            "0 to 1",
            "Relative humidity outside.",
            lowest=0.02,
            default=0.4,
            source=ASSUMPTION,
        ),
        Field(
            "outdoor_ppm",
            "CO2 outside",
            "ppm",
            _LEVEL,
            "In the air that comes in; higher near a road or inside a building.",
            default=420.0,
            source="Outdoor air, near 420 ppm in the 2020s (from memory).",
        ),
        Field(
            "people_ppm",
            "CO2 limit for people",
            "ppm",
            _LEVEL,
            "8-hour average; your country's limit.",
            default=5000.0,
            source="OSHA permissible exposure limit, 8 hours: 5000 ppm.",
        ),
        Field(
            "surface_resistance",
            "R-value of inside air",
            "m²·K/W",
            "above 0 to 1",
            "Still air at a wall's inside; used for the heat.",
            default=0.13,
            us_default=0.74,
            source="ISO 6946, horizontal heat flow (from memory).",
        ),
        Field(
            "outer_resistance",
            "R-value of outside air",
            "m²·K/W",
            "above 0 to 1",
            "Moving air at a wall's outside.",
            default=0.04,
            us_default=0.23,
            source="ISO 6946, outside (from memory).",
        ),
        Field(
            "shelf_resistance",
            "R-value of air behind shelves",
            "m²·K/W",
            "above 0 to 1",
            "Air hardly moves there, so walls sweat there first.",
            default=0.25,
            us_default=1.42,
            source="ISO 13788, inner faces of walls (from memory).",
        ),
        Field(
            "heater_margin",
            "Heater safety margin",
            "fraction",
            "0 to 10",
            "For warming up and leaks; for the cooling too.",
            lowest=0.02,
            default=0.2,
            source=ASSUMPTION,
        ),
    ),
)


CROP_AIR = Section(
    "CO2 of the crop",
    (
        Field(
            "colony_carbon_dioxide",
            "CO2 of colonizing substrate",
            "g/(h·kg)",
            "0 to 10",
            "Measure it with the vents closed, see below.",
            default=0.15,
            us_default=0.068,
            source=f"{ASSUMPTION} Published for some substrates (Koncsag & Kirwan 2010), and "
            "different for each.",
        ),
        Field(
            "fruiting_carbon_dioxide",
            "CO2 of fruiting blocks",
            "g/(h·kg)",
            "0 to 10",
            "Substrate in full flush, without the mushrooms.",
            default=0.3,
            us_default=0.136,
            source=f"{ASSUMPTION} A full room then needs some 4 air changes an hour, the fewest "
            "that Stamets gives for oysters (4 to 8).",
        ),
        Field(
            "mushroom_carbon_dioxide",
            "CO2 of mushrooms",
            "g/(h·kg)",
            "0 to 10",
            "Close to picked oysters at 15 °C (59 °F).",
            default=0.3,
            us_default=0.136,
            source=f"{ASSUMPTION} Picked oysters at 15 °C: Arda 2011, Agrotekno 16.",
        ),
    ),
)
"""What a mass of blocks or mushrooms gives off, the same in every room of a stage."""

STACK = Section(
    "Warmth inside the blocks",
    (
        *(
            Field(
                f"stack_{edge}",
                f"Tight stack: {edge}",
                "cm",
                "0.5 to 1000",
                "Blocks that touch, with no air between; blank if you leave gaps.",
                required=False,
            )
            for edge in ("height", "depth", "length")
        ),
        Field(
            "colony_hottest",
            "Highest core temperature",
            "°C",
            "10 to 60",
            "What the mycelium tolerates in the middle of a block.",
            default=30.0,
            us_default=86.0,
            source=ASSUMPTION,
        ),
    ),
)

_MINUTES = "above 0 to 1440"

METER = Section(
    "Measure the room with a CO2 meter",
    (
        Field(
            "metered_room",
            "Room",
            "choice",
            choices="rooms.room",
            help="Where the meter hangs, at block height.",
            required=False,
        ),
        Field(
            "decay_minutes",
            "Empty room: minutes between",
            "min",
            _MINUTES,
            "Nothing growing, nobody inside, fan as usual.",
            required=False,
        ),
        Field(
            "decay_start",
            "Empty room: first reading",
            "ppm",
            _LEVEL,
            "After you raised it, such as with your own breath.",
            required=False,
        ),
        Field(
            "decay_end",
            "Empty room: second reading",
            "ppm",
            _LEVEL,
            "Lower, but above outside air.",
            required=False,
        ),
        Field(
            "rise_minutes",
            "Vents closed: minutes between",
            "min",
            _MINUTES,
            "Keep it short, and stay out.",
            required=False,
        ),
        Field(
            "rise_start",
            "Vents closed: first reading",
            "ppm",
            _LEVEL,
            "With the crop inside.",
            required=False,
        ),
        Field("rise_end", "Vents closed: second reading", "ppm", _LEVEL, "Higher.", required=False),
        Field(
            "rise_blocks",
            "Vents closed: blocks in the room",
            "count",
            "1 or more, whole",
            "At the mass of a bag on the Farm sheet.",
            required=False,
        ),
    ),
)

SENSOR = Section(
    "Check the humidity sensor with a wet thermometer",
    (
        Field(
            "dry_bulb",
            "Dry thermometer",
            "°C",
            "-20 to 60",
            "Beside the sensor, in the shade.",
            required=False,
        ),
        Field(
            "wet_bulb",
            "Wet thermometer",
            "°C",
            "-20 to 60",
            "Wet wick, moving air, lowest reading.",
            required=False,
        ),
        Field(
            "sensor_humidity",
            "Sensor reading",
            "fraction",
            "0 to 1",
            "At the same moment.",
            lowest=0.02,
            usual=0.9,
            required=False,
        ),
        Field(
            "sensor_allowed",
            "Difference allowed",
            "fraction",
            "above 0 to 0.5",
            "In percentage points of relative humidity.",
            lowest=0.01,
            default=0.05,
            source=ASSUMPTION,
        ),
    ),
)

ROOM_INPUTS = (OUTSIDE, CROP_AIR, STACK, METER, SENSOR)
"""The single inputs of the sheet."""

COLD_ROOM = Section(
    "Cold room for picked mushrooms",
    (
        Field(
            "storage_mass",
            "Mushrooms cooled per day",
            "kg",
            "0 or more",
            "On the biggest picking day.",
            default=20.0,
            us_default=45.0,
            source=ASSUMPTION,
        ),
        Field(
            "storage_start",
            "Mushroom temperature at start",
            "°C",
            "0 to 40",
            "In the middle of a full crate; close to the fruiting room.",
            default=16.0,
            us_default=61.0,
            source=ASSUMPTION,
        ),
        Field(
            "storage_end",
            "Cold room temperature",
            "°C",
            "0 to 10",
            "Above freezing, as buyers and local rules ask.",
            default=2.0,
            us_default=36.0,
            source=COMMON_PRACTICE,
        ),
        Field(
            "storage_hours",
            "Cooling time",
            "h",
            "0.25 to 240",
            "Until they are cold. Faster keeps them fresh longer and takes more power.",
            default=6.0,
            source=ASSUMPTION,
        ),
        Field(
            "storage_days",
            "Time in storage",
            "d",
            "0 to 60",
            "Average from picking to the buyer.",
            default=3.0,
            source=ASSUMPTION,
        ),
        Field(
            "storage_daily_loss",
            "Weight loss per day",
            "fraction",
            "0 to 0.5",
            "Weigh a crate today and tomorrow.",
            lowest=0.005,
            default=0.0125,
            source="Azevedo et al. 2017, J. Food Eng. 212:108 (author from memory), picked "
            "oysters: 1.25 % a day at 2 °C and 100 % humidity, 9.3 % at 18 °C and 86 %. Measure "
            "yours.",
        ),
        Field(
            "storage_gain",
            "Heat through walls and door",
            "W",
            "0 or more",
            "With fans and lights; empty room, from a meter.",
            default=300.0,
            source=ASSUMPTION,
        ),
        Field(
            "storage_margin",
            "Cooling safety margin",
            "fraction",
            "0 to 2",
            "For door openings and defrosting.",
            lowest=0.02,
            default=0.25,
            source=ASSUMPTION,
        ),
    ),
)
"""What the cold room has to cool, and how long it stays there."""
