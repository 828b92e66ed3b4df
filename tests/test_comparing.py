"""Two formulas are one where they compute the same from the same cells, however written.

The spellings are those that LibreOffice 7.4 and Gnumeric 1.12 wrote into files.
"""

from __future__ import annotations

import pytest
from workbooks import made

from workbook_template.reading.entries import read
from workbook_template.reading.meaning import Meanings, is_broken, is_lost


@pytest.fixture(scope="module")
def meanings() -> Meanings:
    return Meanings(read(made("us", "demo").path).contents)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("='Farm'!$B$7*1E-09", "=Farm!$B$7*0.000000001"),
        ("=A1+TRUE", "=A1+TRUE()"),
        ("=2.2317704091744295", "=2.23177040917443"),
        ("=(A1*2)+3", "=A1*2+3"),
        ("=IF(A1>1, 2 ,3)", "=if(A1>1,2,3)"),
        ("=SUM(Batches[[Fresh mass, lb]])", "=SUM(Batches!$Y$7:$Y$106)"),
        ("=Batches[[#This Row],[Fresh mass, lb]]*2", "=Batches!$Y9*2"),
        ("=$Y9*2", "=Batches!$Y9*2"),
        ("=input_altitude", "=Farm!$B$8"),
        ("=RANK(A1,A2:A9)", "=_xlfn.RANK.EQ(A1,A2:A9)"),
    ],
)
def test_spellings_of_one_formula(meanings: Meanings, one: str, other: str) -> None:
    assert meanings.of(one, "Batches", 9) == meanings.of(other, "Batches", 9)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("=A1+1", "=A1+2"),
        ("=A1", "=A1*1"),
        ("=A1", "=A2"),
        ("=SUM(A1:A9)", "=SUM(A1:A8)"),
        ("=Farm!$B$7", "=Rooms!$B$7"),
        ('="a"', '="b"'),
        ('="A9"', '="A0"'),
        ("=MAX(A1)", "=MIN(A1)"),
        ("=A1-(B1-C1)", "=A1-B1-C1"),
        ("=SUM(Batches[[Fresh mass, lb]])", "=SUM(Batches!$Y$7:$Y$105)"),
        ("=Batches[[Fresh mass, lb]]", "=Batches[[#This Row],[Fresh mass, lb]]"),
        ("=input_altitude", "=Farm!$B$9"),
    ],
)
def test_two_formulas(meanings: Meanings, one: str, other: str) -> None:
    assert meanings.of(one, "Batches", 9) != meanings.of(other, "Batches", 9)


def test_a_formula_filled_down_is_the_same_in_each_row(meanings: Meanings) -> None:
    assert meanings.of("=$A7*Farm!$B$7", "Costing", 7) == meanings.of(
        "=$A8*Farm!$B$7", "Costing", 8
    )


@pytest.mark.parametrize("formula", ["=SUM(#REF!,2)", "=SUM(#REF!$A$1,2)", "=SUM(#REF!:A9,2)"])
def test_a_reference_to_what_was_deleted_is_told(meanings: Meanings, formula: str) -> None:
    ours = meanings.of("=SUM('Week plan'!$A$1:$A$9,2)", "Farm", 1)
    assert is_broken(meanings.of(formula, "Farm", 1), ours)
    assert not is_broken(meanings.of(formula.replace("2", "3"), "Farm", 1), ours)


@pytest.mark.parametrize("formula", ["=NA()", '=_xlfngnumeric.ERROR("SUM(Batches[[Made]])")'])
def test_a_formula_that_a_program_lost_is_told(meanings: Meanings, formula: str) -> None:
    assert is_lost(meanings.of(formula, "Farm", 1))


@pytest.mark.parametrize("piece", ["'", '"', "a[", "a[[x]", "A", "'a", "1+", "(", "-"])
def test_the_time_grows_no_faster_than_the_formula(meanings: Meanings, piece: str) -> None:
    """Far longer than a cell takes: where each piece looked to the end, this would not return."""
    assert meanings.of("=" + piece * 400_000 + "1", "Farm", 1)
