"""What the batches of a trial say: differences with their intervals, in numbers and in words.

- Losses: Newcombe's interval on counts divided by the spread between batches (Rao & Scott 1992,
  Biometrics 48:577). The spread is that of the two sides, Pearson's chi-square over its freedom,
  once they have enough batches; else the farm's, else the assumed one. Where batches show it, it
  is raised by (t/z)^2, so that the interval is one by Student's t.
- Yields: Welch's interval on the means of batches, one figure a batch, degrees of freedom by
  Welch and Satterthwaite, rounded down.
- Looking several times: each look asks for the confidence of ``CFX.LOOK_CONFIDENCE``.
"""

from __future__ import annotations

from workbook_template.sheets.trials_sides import of
from workbook_template.writing.blocks import Calculated, Form

_REAL, _LUCK = '", more than luck explains"', '", which may be luck"'
_COUNTS = f"{of('b', 'lost')},{of('b', 'blocks')},{of('a', 'lost')},{of('a', 'blocks')}"
_LOSSES = f"{_COUNTS},{{trial_level}},{{trial_reach}}"
_T = "TINV(1-{trial_level},{trial_degrees})*{trial_error}"


def first_of(*cases: tuple[str, str], otherwise: str) -> str:
    """Write the words of the first condition that holds, or the last ones.

    In a comparison every truth value is above every number, so each is made a number first.
    """
    for condition, words in reversed(cases):
        otherwise = f"CHOOSE(1+(({condition})*1>0),{otherwise},{words})"
    return otherwise


def _squared_error(side: str) -> str:
    return f"({of(side, 'variance')}/{of(side, 'weighed')})"


def is_settled(low: str, high: str, worth: str) -> str:
    """Write whether an interval is above zero, below it, or narrower than is worth having."""
    return f"(({{?{low}}}>0)+({{?{high}}}<0)+{_within(low, high, worth)}>0)*COUNT({{?{low}}})"


def _is(end: str, condition: str) -> str:
    """Write 1 where an end of an interval is known and on that side of zero."""
    return f"COUNT({{?{end}}})*(N({{?{end}}}){condition})"


def _within(low: str, high: str, worth: str) -> str:
    return f"(0-N({{{worth}}})<{{?{low}}})*({{?{high}}}<N({{{worth}}}))"


_SPREAD = (
    Calculated(
        "trial_level",
        "How sure each look must be",
        "fraction",
        "CFX.LOOK_CONFIDENCE({trial_confidence},{trial_looks})",
        "The more looks, the more each one asks for.",
    ),
    Calculated(
        "trial_spread",
        "Unevenness of batches",
        "number",
        "CHOOSE(1+({trial_freedom}>={enough_for_spread}),MAX(1,{results_spread}),"
        "MAX(1,SUM({trial_sides.squares})/{trial_freedom}))",
        "1: losses differ by luck alone. The farm's, while A and B have few batches.",
    ),
)

_LOW = "The true difference may be as low, for all that so many batches can tell."
_HIGH = "The true difference may be as high."
DIFFERENCE = Form(
    "How B differs from A",
    (
        Calculated(
            "trial_loss_difference",
            "Loss, B less A",
            "fraction",
            f"{of('b', 'loss')}-{of('a', 'loss')}",
            "In points. Below zero: B loses fewer blocks.",
        ),
        Calculated(
            "trial_difference_low",
            "Loss, B less A, at least",
            "fraction",
            f"CFX.LOSS_DIFFERENCE_LOW({_LOSSES})",
            _LOW,
            waits_for=("trial_loss_difference",),
        ),
        Calculated(
            "trial_difference_high",
            "Loss, B less A, at most",
            "fraction",
            f"CFX.LOSS_DIFFERENCE_HIGH({_LOSSES})",
            _HIGH,
            waits_for=("trial_loss_difference",),
        ),
        Calculated(
            "trial_difference",
            "Yield, B more than A",
            "fraction",
            f'CHOOSE(1+({of("a", "mean")}>0),"",'
            f"({of('b', 'mean')}-{of('a', 'mean')})/{of('a', 'mean')})",
            "As a share of the yield with A. Below zero: B yields less.",
        ),
        Calculated(
            "trial_yield_low",
            "Yield, B more than A, at least",
            "fraction",
            f"{{trial_difference}}-{_T}",
            _LOW,
        ),
        Calculated(
            "trial_yield_high",
            "Yield, B more than A, at most",
            "fraction",
            f"{{trial_difference}}+{_T}",
            _HIGH,
        ),
        *_SPREAD,
    ),
)


def _percent(share: str) -> str:
    return f'TEXT({share},"0.0%")'


_MORE_LOST = "({?trial_loss_difference}>0)"
_MORE_PICKED = "({?trial_difference}>0)"
_SHARES = f'" ("&{_percent(of("b", "loss"))}&" against "&{_percent(of("a", "loss"))}&")"'
_LOST = f'"lost "&CHOOSE(1+{_MORE_LOST},"fewer","more")&" blocks"&{_SHARES}'
_PICKED = (
    f'"yielded "&TEXT(ABS({{?trial_difference}}),"0%")&" "&CHOOSE(1+{_MORE_PICKED},"less","more")'
)
_WORDS = Form(
    "The answer in parts",
    (
        Calculated(
            "trial_loss_words",
            "Losses",
            "state",
            first_of(
                ("COUNT({?trial_difference_low})=0", '"too few batches to compare losses"'),
                (
                    "({?trial_difference_low}>0)+({?trial_difference_high}<0)",
                    f"{_LOST}&{_REAL}",
                ),
                (
                    _within("trial_difference_low", "trial_difference_high", "trial_worth_loss"),
                    f'"lost about as many blocks"&{_SHARES}',
                ),
                otherwise=f"{_LOST}&{_LUCK}",
            ),
        ),
        Calculated(
            "trial_yield_words",
            "Yields",
            "state",
            first_of(
                (
                    f"(N({of('a', 'weighed')})>1)*(N({of('b', 'weighed')})>1)=0",
                    '"too few batches to compare yields"',
                ),
                (
                    "COUNT({?trial_yield_low})=0",
                    '"yields of the batches all alike; check what was entered"',
                ),
                ("({?trial_yield_low}>0)+({?trial_yield_high}<0)", f"{_PICKED}&{_REAL}"),
                (
                    _within("trial_yield_low", "trial_yield_high", "trial_worth_yield"),
                    '"yielded about as much"',
                ),
                otherwise=f"{_PICKED}&{_LUCK}",
            ),
        ),
        Calculated(
            "trial_gains",
            "Really better in",
            "count",
            f"{_is('trial_difference_high', '<0')}+{_is('trial_yield_low', '>0')}",
            "Of losses and yields.",
        ),
        Calculated(
            "trial_setbacks",
            "Really worse in",
            "count",
            f"{_is('trial_difference_low', '>0')}+{_is('trial_yield_high', '<0')}",
            "Of losses and yields.",
        ),
    ),
)
WORKINGS = (
    _WORDS,
    Form(
        "Spread of losses",
        (
            Calculated(
                "trial_freedom",
                "Batches less the two sides",
                "count",
                "SUM({trial_sides.freedom})",
                "Of sides that lost some blocks, and not all.",
            ),
            Calculated(
                "trial_spread_degrees",
                "Batches that the spread rests on",
                "count",
                "CHOOSE(1+({trial_freedom}>={enough_for_spread}),"
                "{results_freedom}*({results_freedom}>={enough_for_spread}),{trial_freedom})",
                "Less their sides or strains; 0 where it is assumed.",
            ),
            Calculated(
                "trial_reach",
                "Spread in the intervals",
                "number",
                "{trial_spread}*CHOOSE(1+({trial_spread_degrees}>0),1,"
                "(TINV(1-{trial_level},{trial_spread_degrees})"
                "/NORMSINV(AVERAGE({trial_level},1)))^2)",
                "Larger where few batches show it (Student's t); an assumed one stays as it is.",
            ),
        ),
    ),
    Form(
        "Yields",
        (
            Calculated(
                "trial_error",
                "Standard error",
                "fraction",
                f"SQRT({_squared_error('a')}+{_squared_error('b')})/{of('a', 'mean')}",
                "How far the difference of the means swings by luck, as a share of A's.",
                waits_for=("trial_difference",),
            ),
            Calculated(
                "trial_degrees",
                "Degrees of freedom",
                "count",
                'CHOOSE(1+({trial_error}>{rounding}),"",INT({rounding}'
                f"+({_squared_error('a')}+{_squared_error('b')})^2"
                f"/({_squared_error('a')}^2/({of('a', 'weighed')}-1)"
                f"+{_squared_error('b')}^2/({of('b', 'weighed')}-1))))",
                "Welch and Satterthwaite, rounded down.",
            ),
        ),
    ),
)

_ALIKE = "+".join(
    f"COUNT({{?{low}}})*{_within(low, high, worth)}"
    for low, high, worth in (
        ("trial_difference_low", "trial_difference_high", "trial_worth_loss"),
        ("trial_yield_low", "trial_yield_high", "trial_worth_yield"),
    )
)
ANSWER = first_of(
    ("COUNT({?trial_difference_low})+COUNT({?trial_yield_low})=0", '"Nothing to judge yet."'),
    otherwise=first_of(
        ("({?trial_gains}>0)*({?trial_setbacks}>0)", '"Better in one, worse in the other: "'),
        ("{?trial_gains}>0", '"Better: "'),
        ("{?trial_setbacks}>0", '"Worse: "'),
        (f"{_ALIKE}=2", '"No difference worth having: "'),
        otherwise='"Not settled: "',
    )
    + '&{?trial_used_b}&" "&{?trial_loss_words}&"; "&{?trial_yield_words}&"."',
)
"""Whether the new way, B, is better than the usual one, A, and by how much."""
