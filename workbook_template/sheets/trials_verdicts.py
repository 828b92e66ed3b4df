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

_LUCK = '"can\'t be told from luck"'
_COUNTS = f"{of('a', 'lost')},{of('a', 'blocks')},{of('b', 'lost')},{of('b', 'blocks')}"
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


def _less(other: str, better: str) -> str:
    share = f"ABS({of('a', 'mean')}-{of('b', 'mean')})/{of(better, 'mean')}"
    return f'{{?trial_{other}}}&" yields "&TEXT({share},"0%")&" less than "&{{?trial_{better}}}'


def is_settled(low: str, high: str, worth: str) -> str:
    """Write whether an interval is above zero, below it, or narrower than is worth having."""
    return f"(({{?{low}}}>0)+({{?{high}}}<0)+{_within(low, high, worth)}>0)*COUNT({{?{low}}})"


def _within(low: str, high: str, worth: str) -> str:
    return f"(0-N({{{worth}}})<{{?{low}}})*({{?{high}}}<N({{{worth}}}))"


_SPREAD = (
    Calculated(
        "trial_level",
        "Confidence of each look",
        "fraction",
        "CFX.LOOK_CONFIDENCE({trial_confidence},{trial_looks})",
        "The more looks, the more each one asks for.",
    ),
    Calculated(
        "trial_spread",
        "Spread between batches",
        "number",
        "CHOOSE(1+({trial_freedom}>={enough_for_spread}),MAX(1,{results_spread}),"
        "MAX(1,SUM({trial_sides.squares})/{trial_freedom}))",
        "Of losses; 1 if by luck alone. The farm's, while A and B have few batches.",
    ),
)

DIFFERENCE = Form(
    "A minus B",
    (
        Calculated(
            "trial_loss_difference",
            "Loss",
            "fraction",
            f"{of('a', 'loss')}-{of('b', 'loss')}",
            "In points. Above zero: B loses fewer blocks.",
        ),
        Calculated(
            "trial_difference_low",
            "Loss, lowest",
            "fraction",
            f"CFX.LOSS_DIFFERENCE_LOW({_LOSSES})",
            "That fits the batches.",
            waits_for=("trial_loss_difference",),
        ),
        Calculated(
            "trial_difference_high",
            "Loss, highest",
            "fraction",
            f"CFX.LOSS_DIFFERENCE_HIGH({_LOSSES})",
            "That fits the batches.",
            waits_for=("trial_loss_difference",),
        ),
        Calculated(
            "trial_difference",
            "Yield, share of A's",
            "fraction",
            f'CHOOSE(1+({of("a", "mean")}>0),"",'
            f"({of('a', 'mean')}-{of('b', 'mean')})/{of('a', 'mean')})",
            "Below zero: B yields more.",
        ),
        Calculated(
            "trial_yield_low",
            "Yield, lowest",
            "fraction",
            f"{{trial_difference}}-{_T}",
            "That fits the batches.",
        ),
        Calculated(
            "trial_yield_high",
            "Yield, highest",
            "fraction",
            f"{{trial_difference}}+{_T}",
            "That fits the batches.",
        ),
        *_SPREAD,
    ),
)

WORKINGS = (
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

VERDICTS = (
    Calculated(
        "trial_loss_words",
        "Losses",
        "state",
        first_of(
            ("COUNT({?trial_difference_low})=0", '"too few batches"'),
            ("{?trial_difference_low}>0", '{?trial_b}&" loses fewer blocks"'),
            ("{?trial_difference_high}<0", '{?trial_a}&" loses fewer blocks"'),
            (
                _within("trial_difference_low", "trial_difference_high", "trial_worth_loss"),
                '"no difference worth having"',
            ),
            otherwise=_LUCK,
        ),
    ),
    Calculated(
        "trial_yield_words",
        "Yields",
        "state",
        first_of(
            (
                f"(N({of('a', 'weighed')})>1)*(N({of('b', 'weighed')})>1)=0",
                '"too few batches"',
            ),
            (
                "COUNT({?trial_yield_low})=0",
                '"batches all alike; check what was entered"',
            ),
            ("{?trial_yield_low}>0", _less("b", "a")),
            ("{?trial_yield_high}<0", _less("a", "b")),
            (
                _within("trial_yield_low", "trial_yield_high", "trial_worth_yield"),
                '"no difference worth having"',
            ),
            otherwise=_LUCK,
        ),
    ),
)
