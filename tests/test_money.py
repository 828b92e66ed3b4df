"""Money against published figures and identities."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import cultivar_fx
from cultivar_fx.errors import NotPossible, OutOfRange, WrongType
from cultivar_fx.stages import money

EXACT = 1e-9
AMOUNT = st.floats(0.01, 1e6)
SHARE = st.floats(0, 0.99)

approx = pytest.approx
each = settings(max_examples=200, deadline=None)


def test_labor_burden() -> None:
    # BLS Employer Costs for Employee Compensation USDL-15-1756, June 2015, private industry:
    # $21.82 wages + $9.56 benefits = $31.39 (rounding), multiplier 1.4386 (derived).
    assert cultivar_fx.labor_cost("60 min", 21.82, 0.4386) == approx(31.39, abs=0.005)
    assert cultivar_fx.labor_cost("1 h", 21.82, 9.56 / 21.82) == approx(31.39, abs=0.015)


def test_wage_without_burden() -> None:
    # Arithmetic: a quarter of an hour is a quarter of the wage.
    assert cultivar_fx.labor_cost(15, 20) == approx(5, rel=EXACT)


def test_price_of_specialty_mushrooms() -> None:
    # Cornell Small Farms 2019, citing USDA NASS: 25.4 million lb, $96.2 million; $3.787/lb
    # (derived).
    assert cultivar_fx.cost_per_pound(96.2e6, 25.4e6) == approx(3.787, abs=0.0005)


def test_cost_of_a_nutrient() -> None:
    # Alabama Extension, By-product feeds quick reference guide: $180/ton, 90 % dry matter,
    # 75 % TDN: 1350 lb TDN/ton, $0.133/lb. The pound is exact by definition.
    nutrient = cultivar_fx.dry_mass("2000 lb", "10%", "us") * 0.75
    assert nutrient == approx(1350, rel=EXACT)
    assert cultivar_fx.cost_per_pound(180, nutrient) == approx(0.133, abs=0.0005)
    per_kilogram = cultivar_fx.cost_per_kilogram(180, f"{nutrient} lb")
    assert per_kilogram == approx(0.133 / 0.45359237, abs=0.0005 / 0.45359237)


def test_unit_of_the_name_is_that_of_plain_numbers() -> None:
    assert cultivar_fx.cost_per_pound(10, "1 kg") == approx(10 * 0.45359237, rel=EXACT)
    assert cultivar_fx.cost_per_kilogram(10, 2) == approx(5, rel=EXACT)
    with pytest.raises(WrongType, match="takes 2 arguments"):
        cultivar_fx.cost_per_pound(10, 2, "us")


def test_margin_against_markup() -> None:
    # Identity: cost 40, price 100; margin 60 %, markup 150 %.
    assert cultivar_fx.margin(100, 40) == approx(0.60, rel=EXACT)
    assert cultivar_fx.markup(100, 40) == approx(1.50, rel=EXACT)
    assert cultivar_fx.price_for_margin(40, "60%") == approx(100, rel=EXACT)
    assert cultivar_fx.price_for_markup(40, "150%") == approx(100, rel=EXACT)


def test_break_even() -> None:
    # FC / (P − VC): fixed 12 000, price 8, variable 3; 2400 units.
    assert cultivar_fx.break_even(12000, 8, 3) == approx(2400, rel=EXACT)


def test_straight_line_depreciation() -> None:
    # (cost − salvage) / life: 20 000, salvage 2 000, 10 years; 1 800 a year.
    assert cultivar_fx.yearly_depreciation(20000, 2000, 10) == approx(1800, rel=EXACT)


def test_sale_below_cost_is_a_negative_margin() -> None:
    # Identity: sold for 4, cost 5; a quarter of the price and a fifth of the cost are lost.
    assert cultivar_fx.margin(4, 5) == approx(-0.25, rel=EXACT)
    assert cultivar_fx.markup(4, 5) == approx(-0.20, rel=EXACT)


@each
@given(AMOUNT, SHARE)
def test_margin_round_trip(cost: float, margin: float) -> None:
    price = money.price_for_margin(cost, margin)
    assert money.margin(price, cost) == approx(margin, abs=EXACT)
    assert price - price * margin == approx(cost, rel=EXACT)


@each
@given(AMOUNT, st.floats(0, 100))
def test_markup_round_trip(cost: float, markup: float) -> None:
    price = money.price_for_markup(cost, markup)
    assert money.markup(price, cost) == approx(markup, abs=EXACT * 100)


@each
@given(AMOUNT, AMOUNT)
def test_markup_is_margin_over_the_rest(price: float, cost: float) -> None:
    # Identity: markup = margin / (1 − margin).
    margin = money.margin(price, cost)
    assert money.markup(price, cost) == approx(margin / (1 - margin), rel=1e-6, abs=1e-9)


@each
@given(AMOUNT, st.integers(1, 1000), st.integers(0, 999))
def test_good_blocks_pay_for_all(cost: float, made: int, lost: int) -> None:
    lost = min(lost, made - 1)
    answer = money.cost_after_losses(cost, lost / made)
    assert answer * (made - lost) == approx(cost * made, rel=1e-7)


@each
@given(AMOUNT, AMOUNT, AMOUNT)
def test_nothing_is_left_at_break_even(fixed: float, variable: float, contribution: float) -> None:
    price = variable + contribution
    units = money.break_even(fixed, price, variable)
    assert units * price == approx(fixed + units * variable, rel=EXACT)


@each
@given(AMOUNT, st.floats(0, 1), st.floats(0.5, 50))
def test_depreciation_ends_at_the_salvage(cost: float, part: float, years: float) -> None:
    salvage = cost * part
    yearly = money.yearly_depreciation(cost, salvage, years)
    assert cost - yearly * years == approx(salvage, rel=EXACT, abs=1e-9 * cost)


@each
@given(AMOUNT, AMOUNT)
def test_payback_earns_the_investment(investment: float, yearly_net: float) -> None:
    years = money.payback_years(investment, yearly_net)
    assert years * yearly_net == approx(investment, rel=EXACT)


@each
@given(AMOUNT, st.floats(0.01, 1e5))
def test_pound_and_kilogram_cost_the_same_goods(cost: float, pounds: float) -> None:
    # International pound of 1959: exactly 0.45359237 kg.
    per_kilogram = money.cost_per_kilogram(cost, pounds * 0.45359237)
    assert money.cost_per_pound(cost, pounds) == approx(per_kilogram * 0.45359237, rel=EXACT)


@pytest.mark.parametrize("variable_cost", [8, 9])
def test_sale_without_contribution_never_breaks_even(variable_cost: float) -> None:
    with pytest.raises(NotPossible, match="price: got 8, needs to be above"):
        cultivar_fx.break_even(12000, 8, variable_cost)


def test_salvage_above_cost_is_refused() -> None:
    with pytest.raises(NotPossible, match="salvage"):
        cultivar_fx.yearly_depreciation(2000, 20000, 10)


def test_whole_price_as_margin_is_refused() -> None:
    with pytest.raises(OutOfRange, match="margin"):
        cultivar_fx.price_for_margin(40, "100%")


@pytest.mark.parametrize("yearly_net", [0, -100])
def test_investment_without_return_is_never_paid_back(yearly_net: float) -> None:
    with pytest.raises(OutOfRange, match="yearly_net"):
        cultivar_fx.payback_years(6000, yearly_net)


def test_what_keeps_its_price_loses_nothing() -> None:
    # By the definition of straight-line depreciation: the loss of value over the years.
    assert cultivar_fx.yearly_depreciation(100, 100, 5) == 0
