"""The harvest summary, against sums done by hand, against pandas and against statsmodels."""

from __future__ import annotations

import ast
import datetime as dt
import doctest
import subprocess
import sys
from decimal import Decimal
from random import Random
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy import stats
from statsmodels.stats.proportion import proportion_confint

import cultivar_fx
from cultivar_fx.errors import (
    ErrorGiven,
    FunctionError,
    Missing,
    NotPossible,
    OutOfRange,
    WrongType,
)
from cultivar_fx.summary import GROUPS, why_no_summary

POUND = 0.45359237  # kg, exact

BATCHES = [
    ["Batch", "Made", "Recipe", "Strain", "Room", "Blocks", "Lost", "Dry substrate, kg"],
    ["B1", dt.date(2026, 3, 2), "Oak", "Blue oyster", "A", 20, 2, 20],
    ["B2", dt.date(2026, 3, 30), "Oak", "Lion's mane", "A", 10, 0, 12],
    ["B3", dt.date(2026, 4, 6), "Straw", "Blue oyster", None, 30, 3, 27],
    ["B4", dt.date(2026, 5, 4), "Straw", "Blue oyster", "B", 16, None, 16],
]
HARVESTS = [
    ["Date", "Flush", "Batch", "Fresh mass, kg"],
    [dt.date(2026, 4, 1), 1, "B1", 9.0],
    [dt.date(2026, 4, 11), 2, "B1", 5.4],
    [dt.date(2026, 5, 9), 1, "B2", 6.0],
    [dt.date(2026, 5, 16), 1, "B3", 21.6],
]


def by_label(table: Any) -> dict[str, list[Any]]:
    return {row[0]: row[1:] for row in table[1:]}


def summary(by: str) -> dict[str, list[Any]]:
    return by_label(cultivar_fx.harvest_summary(BATCHES, HARVESTS, by))


def test_headings_name_units() -> None:
    table = cultivar_fx.harvest_summary(BATCHES, HARVESTS, "strain")
    assert table[0] == [
        *("Strain", "Blocks", "Lost", "Loss rate", "Loss rate, low end", "Loss rate, high end"),
        *("Fresh mass, kg", "BE", "Mass of a good block, kg", "Days"),
    ]


def test_sums_by_hand() -> None:
    blue = summary("strain")["Blue oyster"]
    assert blue[:3] == [66, 5, pytest.approx(5 / 66)]
    # B1 and B3 were harvested: 18 and 27 good blocks on 18 and 24.3 kg, in 40 days each
    assert blue[5:] == pytest.approx([36, 36 / (18 + 24.3), 36 / 45, 40])
    assert summary("strain")["Lion's mane"][5:] == pytest.approx([6, 0.5, 0.6, 40])


def test_groups_stand_in_the_order_of_the_batches_and_months_in_their_own() -> None:
    assert list(summary("strain")) == ["Blue oyster", "Lion's mane"]
    assert list(summary("recipe")) == ["Oak", "Straw"]
    assert list(summary("room")) == ["A", "none", "B"]
    turned = [BATCHES[0], *reversed(BATCHES[1:])]
    assert list(by_label(cultivar_fx.harvest_summary(turned, HARVESTS, "month"))) == [
        *("2026-03", "2026-04", "2026-05"),
    ]


def test_what_is_in_progress_has_losses_but_no_yield() -> None:
    row = summary("room")["B"]
    assert row[:3] == [16, 0, 0]
    assert row[5:] == ["", "", "", ""]


# Newcombe 1998, Stat. Med. 17:857, Table I, method 3; printed to 4 decimals: blocks by themselves
@pytest.mark.parametrize(
    ("lost", "blocks", "low", "high"), [(81, 263, 0.2553, 0.3662), (0, 20, 0, 0.1611)]
)
def test_interval_as_published(lost: int, blocks: int, low: float, high: float) -> None:
    batches = [BATCHES[0], ["B", "2026-03-02", "Oak", "Shiitake", "A", blocks, lost, 100]]
    row = by_label(cultivar_fx.harvest_summary(batches, HARVESTS[:1], "strain", 1))["Shiitake"]
    assert row[3:5] == pytest.approx([low, high], abs=5e-5)


def _lost_of(*lost: int) -> list[list[Any]]:
    """Return batches of 20 blocks each, so many of them lost."""
    return [BATCHES[0]] + [
        [f"B{number}", "2026-03-02", "Oak", "Shiitake", "A", 20, one, 20]
        for number, one in enumerate(lost)
    ]


@pytest.mark.parametrize("given", [(), (None,), ("",), (2.5,), ("4",), (1,)])
def test_few_batches_have_the_dispersion_given(given: tuple[Any, ...]) -> None:
    """Against statsmodels, with counts divided by it; 2.5 is the assumption."""
    by = float(given[0]) if given and given[0] else 2.5
    table = cultivar_fx.harvest_summary(_lost_of(0, 9, 1, 0, 3, 2), HARVESTS[:1], "room", *given)
    expected = proportion_confint(15 / by, 120 / by, method="wilson")
    assert by_label(table)["A"][3:5] == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("lost", [(0, 9, 1, 0, 3, 2, 6), (2, 1, 2, 2, 1, 2, 2, 2)])
def test_enough_batches_have_their_own(lost: tuple[int, ...]) -> None:
    """Against scipy's chi-square and Student's t; batches more alike than by luck count as luck."""
    table = cultivar_fx.harvest_summary(_lost_of(*lost), HARVESTS[:1], "strain", 40)
    square = stats.chi2_contingency([(one, 20 - one) for one in lost], correction=False)
    by = max(1, square.statistic / square.dof)
    by *= (stats.t.ppf(0.975, square.dof) / stats.norm.ppf(0.975)) ** 2
    expected = proportion_confint(sum(lost) / by, 20 * len(lost) / by, method="wilson")
    assert by_label(table)["Shiitake"][3:5] == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("lost", [0, 20])
def test_no_loss_at_all_tells_no_dispersion(lost: int) -> None:
    table = cultivar_fx.harvest_summary(_lost_of(*[lost] * 9), HARVESTS[:1], "strain")
    expected = proportion_confint(9 * lost / 2.5, 180 / 2.5, method="wilson")
    assert by_label(table)["Shiitake"][3:5] == pytest.approx(expected, abs=1e-12)


def _invented(random: Random, batches: int, harvests: int) -> tuple[pd.DataFrame, pd.DataFrame]:
    blocks = [random.randint(1, 60) for _ in range(batches)]
    made = pd.DataFrame(
        {
            "Batch": [f"B{number}" for number in range(batches)],
            "Made": [pd.Timestamp(2026, 1, 1) + pd.Timedelta(days=n) for n in range(batches)],
            "Strain": [random.choice(("Shiitake", "Maitake", "Reishi")) for _ in range(batches)],
            "Recipe": [random.choice(("Oak", "Straw")) for _ in range(batches)],
            "Room": [random.choice(("North", "South")) for _ in range(batches)],
            "Blocks": blocks,
            "Lost": [random.randint(0, most - 1) for most in blocks],
            "Dry substrate": [random.uniform(1, 90) for _ in range(batches)],
        }
    )
    picked = pd.DataFrame(
        {"Batch": random.choices(list(made["Batch"])[: batches // 2], k=harvests)}
    )
    picked["Date"] = [
        pd.Timestamp(2026, 9, 1) + pd.Timedelta(days=random.randint(0, 90)) for _ in range(harvests)
    ]
    picked["Fresh mass"] = [random.uniform(0, 9) for _ in range(harvests)]
    return made, picked


def _independently(made: pd.DataFrame, picked: pd.DataFrame, by: str) -> pd.DataFrame:
    """Sum up with a merge of single harvests instead: another way round in pandas."""
    column = by.capitalize()
    made = made.assign(Month=made["Made"].dt.strftime("%Y-%m"))
    losses = made.groupby(column)[["Blocks", "Lost"]].sum()
    square = made.groupby(column)[["Lost", "Blocks"]].apply(
        lambda rows: stats.chi2_contingency([rows["Lost"], rows["Blocks"] - rows["Lost"]])[0]
    )
    degrees = made.groupby(column).size() - 1
    by = np.maximum(1, square / degrees)
    by *= (stats.t.ppf(0.975, degrees) / stats.norm.ppf(0.975)) ** 2
    by = by.where(degrees >= 6, 2.5)
    low, high = proportion_confint(losses["Lost"] / by, losses["Blocks"] / by, method="wilson")
    every = picked.merge(made, on="Batch")
    once = every.sort_values("Date").drop_duplicates("Batch", keep="last").copy()
    once["good"] = once["Blocks"] - once["Lost"]
    once["grown on"] = once["Dry substrate"] * (1 - once["Lost"] / once["Blocks"])
    once["days"] = (once["Date"] - once["Made"]).dt.days
    fresh = every.groupby(column)["Fresh mass"].sum()
    harvested = once.groupby(column)
    return pd.DataFrame(
        {
            "blocks": losses["Blocks"],
            "lost": losses["Lost"],
            "rate": losses["Lost"] / losses["Blocks"],
            "low": np.asarray(low),
            "high": np.asarray(high),
            "fresh": fresh,
            "be": fresh / harvested["grown on"].sum(),
            "mass": fresh / harvested["good"].sum(),
            "days": harvested["days"].mean(),
        }
    )


@pytest.mark.parametrize("by", GROUPS)
def test_as_pandas_and_statsmodels(by: str, seed: str) -> None:
    made, picked = _invented(Random(f"{seed} {by}"), batches=150, harvests=600)
    expected = _independently(made, picked, by)
    table = by_label(cultivar_fx.harvest_summary(made, picked, by))
    assert set(table) == set(expected.index)
    for label, row in table.items():
        numbers = [np.nan if value == "" else value for value in row]
        assert numbers == pytest.approx(list(expected.loc[label]), rel=1e-9, nan_ok=True)


def test_lists_and_tables_give_the_same() -> None:
    frames = [pd.DataFrame(rows[1:], columns=rows[0]) for rows in (BATCHES, HARVESTS)]
    for by in GROUPS:
        expected = cultivar_fx.harvest_summary(BATCHES, HARVESTS, by)
        assert cultivar_fx.harvest_summary(*frames, by) == expected


def test_a_heading_names_the_unit_and_a_text_its_own() -> None:
    pounds = [["Batch", "Date", "Fresh mass, lb"], ["B1", 46123, 10], ["B1", 46123, "2 kg"]]
    row = by_label(cultivar_fx.harvest_summary(BATCHES, [*pounds, ["B1", 46123, "5"]], "room"))["A"]
    assert row[5] == pytest.approx(15 + 2 / POUND)
    # 20 blocks, 2 lost, on 20 kg
    assert row[6] == pytest.approx((15 * POUND + 2) / 18)
    table = cultivar_fx.harvest_summary(BATCHES, pounds, "room")
    assert table[0][6:9:2] == ["Fresh mass, lb", "Mass of a good block, lb"]


def test_numbers_of_any_kind_and_names_in_any_case() -> None:
    batches = [
        [" BATCH ", "made", "Blocks", "lost", "dry  substrate", "strain"],
        [7.0, "2026-03-02", Decimal("20.0000"), "", "20 kg", "Blue oyster"],
        [None, None, None, None, None, None],
        ["x-8", 46083.75, np.int64(10), 1, 12.0, "BLUE OYSTER"],
    ]
    harvests = [["batch", "date", "fresh mass"], ["7", 46123, 9], ["X-8", "2026-04-11", "8000 g"]]
    table = by_label(cultivar_fx.harvest_summary(batches, harvests, " Strain "))
    assert list(table) == ["Blue oyster"]
    # 2026-03-02 is day 46083 and 2026-04-11 day 46123, counted from 2024-01-01 as day 45292
    assert table["Blue oyster"][:2] == [30, 1]
    assert table["Blue oyster"][5:] == pytest.approx([17, 17 / (20 + 10.8), 17 / 29, 40])


def test_nothing_gives_nothing() -> None:
    assert cultivar_fx.harvest_summary([[None, ""]], [[None]], None) == ""
    assert len(cultivar_fx.harvest_summary(BATCHES[:1], HARVESTS[:1], "month")) == 1


def _changed(rows: list[list[Any]], row: int, heading: str, value: object) -> list[list[Any]]:
    changed = [list(one) for one in rows]
    changed[row][rows[0].index(heading)] = value
    return changed


def _batches(row: int, heading: str, value: object) -> tuple[Any, Any, Any]:
    return _changed(BATCHES, row, heading, value), HARVESTS, "strain"


def _harvests(row: int, heading: str, value: object) -> tuple[Any, Any, Any]:
    return BATCHES, _changed(HARVESTS, row, heading, value), "strain"


@pytest.mark.parametrize(
    ("arguments", "kind", "sentence"),
    [
        (_batches(0, "Blocks", "Bags of all"), WrongType, "batches: has no heading 'Blocks', needs "
         "one; its first row is 'Batch, Made, Recipe, Strain, Room, Bags of all, "),
        (_batches(0, "Recipe", "Strain"), WrongType, "batches: has 2 headings 'Strain', needs one"),
        (_harvests(0, "Fresh mass, kg", "Fresh mass, zorks"), FunctionError,
         "harvests: the heading 'Fresh mass, zorks' has the unknown unit 'zorks'."),
        (_harvests(0, "Fresh mass, kg", "Fresh mass, L"), WrongType, "harvests: the heading "
         "'Fresh mass, L' has the unit 'L', which does not measure mass."),
        ((BATCHES, HARVESTS, "farm"), WrongType, "by: got 'farm', needs strain, recipe, room or "
         "month."),
        ((BATCHES, HARVESTS, None), Missing, "by: is blank, needs strain, recipe, room or month."),
        ((BATCHES, HARVESTS, "#REF!"), ErrorGiven, "by: is the error #REF! already."),
        ((BATCHES, HARVESTS, 5), WrongType, "by: got 5, needs strain"),
        ((BATCHES, HARVESTS, "room", 0.5), OutOfRange, "dispersion: got 0.5, needs a number, 1 or "
         "more."),
        ((BATCHES, HARVESTS, "room", "#N/A"), ErrorGiven, "dispersion: is the error #N/A already."),
        (([[None]], HARVESTS, "room"), WrongType, "batches: has no heading 'Batch'"),
        (_batches(2, "Blocks", "many"), WrongType, "batches, row 3, blocks: got 'many', which is "
         "not one number and one unit; needs a whole number, 1 or more."),
        (_batches(2, "Blocks", 2.5), OutOfRange, "batches, row 3, blocks: got 2.5, needs"),
        (_batches(2, "Blocks", None), Missing, "batches, row 3, blocks: is blank"),
        (_batches(2, "Lost", -1), OutOfRange, "batches, row 3, lost: got -1, needs"),
        (_batches(2, "Lost", 11), NotPossible, "batches, row 3: batch 'B2' has lost more blocks "
         "than it had."),
        (_batches(2, "Batch", "b1"), NotPossible, "batches, row 3: batch 'b1' is there twice"),
        (_batches(2, "Batch", None), Missing, "batches, row 3, batch: is blank"),
        (_batches(2, "Strain", "#N/A"), ErrorGiven, "batches, row 3, strain: is the error #N/A"),
        (_batches(2, "Made", "30.3.2026"), WrongType, "batches, row 3, made: got '30.3.2026'"),
        (_batches(2, "Made", "2026-12-24"), NotPossible, "batches, row 3: batch 'B2' was harvested "
         "before it was made."),
        (_batches(2, "Lost", 10), NotPossible, "batches, row 3: batch 'B2' has a harvest though "
         "all its blocks are lost."),
        (_batches(2, "Dry substrate, kg", 0), OutOfRange, "batches, row 3, dry substrate: got"),
        (_batches(2, "Dry substrate, kg", True), WrongType, "batches, row 3, dry substrate: got"),
        (_harvests(3, "Fresh mass, kg", "#DIV/0!"), ErrorGiven, "harvests, row 4, fresh mass: is "
         "the error #DIV/0! already."),
        (_harvests(3, "Fresh mass, kg", "5 L"), WrongType, "harvests, row 4, fresh mass: got "),
        (_harvests(3, "Fresh mass, kg", -1), OutOfRange, "harvests, row 4, fresh mass: got"),
        (_harvests(3, "Batch", "B9"), NotPossible, "harvests, row 4: batch 'B9' is not among the "
         "batches."),
        ((_changed(BATCHES, 4, "Made", 1e9), HARVESTS, "month"), OutOfRange, "batches, row 5, "
         "made: got 1000000000, needs a date such as 2026-03-14."),
    ],
)  # fmt: skip
def test_a_fault_is_an_error_that_says_where_it_is(
    arguments: tuple[Any, ...], kind: type[FunctionError], sentence: str
) -> None:
    with pytest.raises(kind) as caught:
        cultivar_fx.harvest_summary(*arguments)
    assert str(caught.value).startswith(sentence)
    assert why_no_summary(*arguments) == str(caught.value)


def test_without_a_fault_there_is_no_reason() -> None:
    assert why_no_summary(BATCHES, HARVESTS, "strain") == ""


def test_example_is_right_to_the_printed_digits() -> None:
    (example,) = doctest.DocTestParser().get_examples(cultivar_fx.harvest_summary.__doc__)
    answer = eval(example.source, {"harvest_summary": cultivar_fx.harvest_summary})
    expected = ast.literal_eval(example.want)
    assert answer[0] == expected[0]
    assert answer[1:] == pytest.approx(expected[1:], rel=2e-3)


def test_without_pandas_it_says_what_to_install() -> None:
    code = (
        "import sys; sys.modules['pandas'] = None\n"
        "import cultivar_fx\n"
        "from cultivar_fx.summary import why_no_summary\n"
        "assert 'harvest_summary' in dir(cultivar_fx)\n"
        "print(why_no_summary([['Batch']], [['Batch']], 'room'))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.startswith("HARVEST_SUMMARY: the library pandas is missing")
