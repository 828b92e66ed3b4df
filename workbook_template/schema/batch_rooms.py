"""In which rooms the blocks of a batch stand, and until when: the workings of its rooms."""

from __future__ import annotations

from workbook_template.schema.columns import place_of
from workbook_template.schema.fields import Computed, Field, Rule
from workbook_template.schema.figures import used_in
from workbook_template.schema.room_rows import STAGES


def _room(stage: str) -> Field:
    return Field(
        f"{stage}_room",
        f"{stage.capitalize()} room",
        "choice",
        choices="rooms.room",
        help="From the Rooms sheet; blank: the first room of the stage that has space.",
        required=False,
        width=13.0,
    )


def _of_other_stage(stage: str) -> Rule:
    """Make the rule that a room is not one of the other stage."""
    place = f"{{at_{stage}_room}}"
    other = next(one for one in STAGES if one != stage)
    found = f"INDEX({{rooms.stage}},{place})"
    return Rule(f"{stage}_room", f"is a room for {other}", f'COUNT({place})*({found}="{other}")')


ROOMS_TYPED = tuple(map(_room, STAGES))
ROOM_FAULTS = tuple(map(_of_other_stage, STAGES))


def _stands_in(stage: str, key: str) -> Computed:
    place = f"{{?at_{stage}_room}}"
    is_of_stage = f'(INDEX({{rooms.stage}},{place})="{stage}")'
    return Computed(
        key,
        f"Row of the {stage} room used",
        "count",
        f"IFERROR(CHOOSE(1+COUNT({place}),0,{is_of_stage}*{place}),0)+0*{{line}}",
        "0 where none of the stage is typed.",
        is_working=True,
    )


_LOSS = used_in("loss_rate", "{at_strain}")

STANDING = (
    *(
        place_of(
            f"at_{stage}_room",
            f"Row of the {stage} room",
            "rooms.room",
            choice=f"{stage}_room",
        )
        for stage in STAGES
    ),
    _stands_in("incubation", "incubates_in"),
    _stands_in("fruiting", "fruits_in"),
    Computed(
        "leaves_incubation",
        "Leaves incubation",
        "date",
        'CHOOSE(1+({state}="ended"),CHOOSE(1+COUNT({moved}),MAX({today},{move_due}),{moved}),"")',
        "The day it was moved; or is expected to be, today where that is overdue.",
        is_working=True,
    ),
    Computed(
        "leaves_fruiting",
        "Leaves fruiting",
        "date",
        "MAX({today},{clear_due})",
        "The day on which clearing is expected, today where that is overdue.",
        is_working=True,
    ),
    Computed(
        "fruits",
        "Blocks in fruiting",
        "number",
        f"(1-{{whole}})*CHOOSE(1+COUNT({{moved}}),MIN({{good}},{{bags}}*(1-{_LOSS})),{{good}})",
        "Good blocks; before the move no more than are expected to be left; none sold whole.",
        is_working=True,
    ),
)
