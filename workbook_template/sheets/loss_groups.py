"""Groups of batches, and the chance that luck alone lost so many blocks of each.

A group is what a spawn lot, a steam run or a recipe went into, or what stood in one room.

Each group of batches is held against the batches of the same strains on the rest of the farm. Five
things are decided here:

- A group is left out of what it is held against, as in an externally studentized residual
  (Belsley, Kuh & Welsch, Regression Diagnostics, 1980, section 2.1, from memory): a lot that lost
  many blocks would raise both the loss expected of it and the spread between batches, and so hide
  itself.
- The chance is that of the conditional test of two rates (Przyborowski & Wilenski 1940, Biometrika
  31:313, from memory). Of all blocks that a strain lost, each is one of the group's with the
  group's share of the blocks made, so as many or more of them by luck are a tail of the binomial
  distribution: I_share(lost, all - lost + 1), the incomplete beta function. It needs no loss on
  the rest of the farm, and is a little cautious where losses are high. A group of several strains
  takes their mean share, which makes the tail wider, never narrower.
- Losses come in batches, so counts are divided by the spread between batches (Rao & Scott 1992,
  Biometrics 48:577): Pearson's chi-square of the batches outside the group over its degrees of
  freedom, and at least 1. Since that is measured, the tail is brought to one by Student's t.
- Many groups are looked at, and the worst of many looks bad by luck. With m groups, luck gives one
  as bad as that in 1 - (1 - p)^m of farms (Sidak 1967, JASA 62:626, from memory); for groups that
  share batches that is cautious.
- Only the last batches are looked at, those old enough to judge. That bounds the work however long
  the log is, and a lot of years ago is no longer named.
"""

from __future__ import annotations

from dataclasses import dataclass

from workbook_template.schema.fields import Computed, Counter
from workbook_template.sheets.results_runs import of_batches
from workbook_template.writing.blocks import Grid

BATCHES = 60
"""How many batches are looked at: the last ones."""


@dataclass(frozen=True)
class Kind:
    """A kind of group, as templates on the ``{row}`` of a batch in its log.

    ``number`` is above 0 and the same for all batches of a group; 0 where a batch is in none.
    """

    label: str
    number: str
    name: str


def _of(column: str) -> str:
    return f"INDEX({{batches.{column}}},{{row}})"


KINDS = (
    Kind("Spawn lot", f"N({_of('at_lot')})", _of("spawn_lot")),
    Kind("Steam run", f"N({_of('at_run')})", _of("steam_run")),
    Kind(
        "Recipe",
        f"(N({_of('at_recipe')})>0)*(N({_of('at_recipe')})+ROWS({{recipes.recipe}})"
        f"*N({_of('at_strain')}))",
        f'{_of("recipe")}&" with "&{_of("strain")}',
    ),
    Kind("Incubation room", f"N({_of('incubates_in')})", _of("incubation_room")),
    Kind("Fruiting room", f"N({_of('fruits_in')})", _of("fruiting_room")),
)
"""The kinds of groups; another one is added here."""


def each(templates: list[str]) -> str:
    """Write the template of the kind of a row."""
    return f"CHOOSE({{kind}},{','.join(templates)})"


_SAME = "{judged.strain},{strain}"
_VARIES = "({%s}>0)*({%s}<{%s})"


def _chi_square(squares: str, lost: str, made: str) -> str:
    """Write Pearson's chi-square of batches of one strain, from sums alone."""
    rate = f"{{{lost}}}/{{{made}}}"
    return f"({{{squares}}}-{{{lost}}}*{rate})/({rate}*(1-{rate}))"


JUDGED = Grid(
    "judged",
    f"The last {BATCHES} batches old enough to judge",
    (
        *of_batches("judged", "judged_turn"),
        Computed("at", "Row of the strain", "count", f"N({_of('at_strain')})"),
        Computed("blocks", "Blocks made", "count", f"N({_of('bags')})"),
        Computed("lost", "Blocks lost", "count", f"N({_of('lost')})"),
        Computed("square", "Lost, squared, over made", "number", f"N({_of('lost_squared')})"),
        Computed("made", "Made of the strain", "count", f"SUMIFS({{judged.blocks}},{_SAME})"),
        Computed("gone", "Lost of the strain", "count", f"SUMIFS({{judged.lost}},{_SAME})"),
        Computed(
            "squares", "Squares of the strain", "number", f"SUMIFS({{judged.square}},{_SAME})"
        ),
        Computed("count", "Batches of the strain", "count", f"COUNTIFS({_SAME})"),
        Computed("varies", "Some lost, not all", "count", _VARIES % ("gone", "gone", "made")),
        Computed(
            "chi",
            "Chi-square of the strain",
            "number",
            f"CHOOSE(1+{{varies}},0,{_chi_square('squares', 'gone', 'made')})",
        ),
        Computed("chi_part", "Chi-square, a batch's part", "number", "{chi}/{count}"),
        Computed(
            "free_part",
            "Degrees of freedom, a batch's part",
            "number",
            "{varies}*({count}-1)/{count}",
        ),
    ),
    rows=BATCHES,
)


def _judged(column: str) -> str:
    return f"INDEX({{judged.{column}}},{{place}})*1"


_IN_GROUP = "{suspects.id},{id}"
_WITH_STRAIN = f"{_IN_GROUP},{{suspects.at}},{{at}}"


def _copied(key: str, label: str, unit: str = "count") -> Computed:
    return Computed(key, label, unit, _judged(key))


def _outside(key: str, label: str, own: str, unit: str = "count") -> Computed:
    """Make the column of what batches of the strain have that are not of the group."""
    return Computed(key, label, unit, f"{{{own}}}-SUMIFS({{suspects.{_OWN[own]}}},{_WITH_STRAIN})")


_OWN = {"made": "blocks", "gone": "lost", "squares": "square"}
"""A strain's sum, and what it is a sum of."""


def _sum(key: str, label: str, unit: str, column: str) -> Computed:
    """Make the column of a group's sum over its batches, in the row of the first of them."""
    return Computed(key, label, unit, f"SUMIFS({{suspects.{column}}},{_IN_GROUP})+0*{{turn}}")


_ENOUGH = "({free}>={enough_for_spread})"

SUSPECTS = Grid(
    "suspects",
    "Each of these batches as part of each kind of group",
    (
        Counter("line", "Line"),
        Computed("kind", "Kind", "count", "INT(({line}-1)/ROWS({judged.line}))+1"),
        Computed("place", "Place", "count", "{line}-({kind}-1)*ROWS({judged.line})"),
        Computed("row", "Row of the batch", "count", _judged("row")),
        Computed("number", "Group", "count", each([one.number for one in KINDS]) + "+0*{row}"),
        Computed(
            "id",
            "Kind and group",
            "count",
            'CHOOSE(1+({number}>0),"",{kind}+(1+ROWS({suspects.line}))*{number})',
        ),
        *(
            _copied(key, label)
            for key, label in (
                ("at", "Row of the strain"),
                ("blocks", "Blocks made"),
                ("lost", "Blocks lost"),
            )
        ),
        _copied("square", "Lost, squared, over made", "number"),
        _copied("made", "Made of the strain"),
        _copied("gone", "Lost of the strain"),
        _copied("squares", "Squares of the strain", "number"),
        _copied("count", "Batches of the strain"),
        Computed("own", "Of these in the group", "count", f"COUNTIFS({_WITH_STRAIN})+0*{{id}}"),
        _outside("rest_made", "Made on the rest of the farm", "made"),
        _outside("rest_gone", "Lost on the rest of the farm", "gone"),
        _outside("rest_squares", "Squares of the rest", "squares", "number"),
        Computed("held", "Has a rest to be held against", "count", "({rest_made}>0)*{own}/{own}"),
        Computed(
            "usual",
            "Expected by the rest",
            "number",
            "CHOOSE(1+{held},0,{blocks}*{rest_gone}/{rest_made})",
        ),
        Computed("held_blocks", "Blocks held against it", "count", "{held}*{blocks}"),
        Computed("held_lost", "Of these lost", "count", "{held}*{lost}"),
        Computed(
            "gone_part", "Lost of the strain, a batch's part", "number", "{held}*{gone}/{own}"
        ),
        Computed(
            "share_part", "Of these, by the blocks made", "number", "{held}*{blocks}*{gone}/{made}"
        ),
        Computed(
            "rest_varies",
            "Some of the rest lost, not all",
            "count",
            _VARIES % ("rest_gone", "rest_gone", "rest_made"),
        ),
        Computed(
            "chi_part",
            "Change of chi-square without the group, a batch's part",
            "number",
            "{held}*(CHOOSE(1+{rest_varies},0,"
            f"{_chi_square('rest_squares', 'rest_gone', 'rest_made')})"
            "-INDEX({judged.chi},{place}))/{own}",
        ),
        Computed(
            "free_part",
            "Change of freedom without the group, a batch's part",
            "number",
            "{held}*({rest_varies}*({count}-{own}-1)-INDEX({judged.varies},{place})*({count}-1))"
            "/{own}",
        ),
        Computed(
            "turn",
            "First of a group to judge",
            "count",
            f'CHOOSE(1+(COUNTIFS({_IN_GROUP},{{suspects.line}},"<"&{{line}})=0)'
            f"*(SUMIFS({{suspects.held}},{_IN_GROUP})>={{suspect_batches}})+0*{{id}},"
            '"",{line})',
        ),
        _sum("batches", "Batches", "count", "held"),
        _sum("group_blocks", "Blocks", "count", "held_blocks"),
        _sum("group_lost", "Lost", "count", "held_lost"),
        _sum("expected", "Expected", "number", "usual"),
        _sum("trials", "Lost of its strains", "number", "gone_part"),
        _sum("pooled", "Of these, by its share of the blocks", "number", "share_part"),
        Computed(
            "free",
            "Batches less strains, outside it",
            "count",
            f"ROUND({{suspect_freedom}}+SUMIFS({{suspects.free_part}},{_IN_GROUP}),0)+0*{{turn}}",
        ),
        Computed(
            "spread",
            "Spread outside it",
            "number",
            f"CHOOSE(1+{_ENOUGH},{{assumed_spread}},MAX(1,({{suspect_chi}}"
            f"+SUMIFS({{suspects.chi_part}},{_IN_GROUP}))/MAX(1,{{free}})))",
        ),
        Computed(
            "tail",
            "Tail of the binomial distribution",
            "number",
            "CHOOSE(1+({group_lost}>0)*({pooled}<{trials}),1,BETADIST({pooled}/{trials},"
            "{group_lost}/{spread},({trials}-{group_lost})/{spread}+1))",
        ),
        Computed(
            "chance",
            "Chance by luck",
            "fraction",
            f"CHOOSE(1+{_ENOUGH}*({{tail}}>0)*({{tail}}<1/2),{{tail}}*1,"
            "TDIST(0-NORMSINV({tail}),{free},1))",
        ),
        Computed(
            "rank",
            "Place by chance",
            "count",
            "RANK({chance},{suspects.chance},1)"
            '+COUNTIFS({suspects.chance},{chance},{suspects.line},"<"&{line})',
        ),
    ),
    rows=BATCHES * len(KINDS),
)
