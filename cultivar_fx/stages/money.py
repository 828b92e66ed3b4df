"""Money: cost of a pound, price, margin, break-even, labor and equipment.

Amounts are in the farm's own currency. Margin is profit over price, markup is profit over cost.
"""

from __future__ import annotations

from cultivar_fx.catalog.definition import worksheet_function
from cultivar_fx.errors import NotPossible

MINUTES_PER_HOUR = 60


@worksheet_function()
def cost_per_pound(cost: float, pounds: float) -> float:
    """Cost of one pound.

    Parameters
    ----------
    cost : float
        Total cost [money; 0 or more].
    pounds : float
        Pounds that the cost is for [lb; above 0].

    Returns
    -------
    float
        Cost of a pound [money/lb].

    References
    ----------
    Definition.
    Example: cost of a nutrient, Alabama Extension, By-product feeds quick reference guide.

    Examples
    --------
    >>> cost_per_pound(180, 1350)
    0.1333
    """
    return cost / pounds


@worksheet_function()
def cost_per_kilogram(cost: float, kilograms: float) -> float:
    """Cost of one kilogram.

    Parameters
    ----------
    cost : float
        Total cost [money; 0 or more].
    kilograms : float
        Kilograms that the cost is for [kg only; above 0].

    Returns
    -------
    float
        Cost of a kilogram [money/kg].

    References
    ----------
    Definition.
    Example: cost of a nutrient, Alabama Extension, By-product feeds quick reference guide.

    Examples
    --------
    >>> cost_per_kilogram(180, "1350 lb")
    0.29395
    """
    return cost / kilograms


@worksheet_function()
def cost_after_losses(cost: float, loss_rate: float) -> float:
    """Cost of a good block, once the lost ones are paid for too.

    Parameters
    ----------
    cost : float
        Cost of a block made [money; 0 or more].
    loss_rate : float
        Share of the blocks that is lost [fraction; 0 to below 1].

    Returns
    -------
    float
        Cost of a block that is not lost [money].

    References
    ----------
    Cost of all blocks over the number of good ones.

    Examples
    --------
    >>> cost_after_losses(4.75, "5%")
    5
    """
    return cost / (1 - loss_rate)


@worksheet_function()
def price_for_margin(cost: float, margin: float) -> float:
    """Price that leaves a margin.

    Parameters
    ----------
    cost : float
        Cost of what is sold [money; 0 or more].
    margin : float
        Profit as a share of the price [fraction; 0 to below 1].

    Returns
    -------
    float
        Price to ask [money].

    References
    ----------
    Definition of margin.

    Examples
    --------
    >>> price_for_margin(40, "60%")
    100
    """
    return cost / (1 - margin)


@worksheet_function()
def price_for_markup(cost: float, markup: float) -> float:
    """Price with a markup on the cost.

    Parameters
    ----------
    cost : float
        Cost of what is sold [money; 0 or more].
    markup : float
        Profit as a share of the cost, may be more than 100 % [fraction; 0 to 20].

    Returns
    -------
    float
        Price to ask [money].

    References
    ----------
    Definition of markup.

    Examples
    --------
    >>> price_for_markup(40, "150%")
    100
    """
    return cost * (1 + markup)


@worksheet_function()
def margin(price: float, cost: float) -> float:
    """Margin: profit as a share of the price.

    Parameters
    ----------
    price : float
        Price received [money; above 0].
    cost : float
        Cost of what is sold [money; 0 or more].

    Returns
    -------
    float
        Profit over price, negative for a loss [fraction].

    References
    ----------
    Definition of margin.

    Examples
    --------
    >>> margin(100, 40)
    0.6
    """
    return (price - cost) / price


@worksheet_function()
def markup(price: float, cost: float) -> float:
    """Markup: profit as a share of the cost.

    Parameters
    ----------
    price : float
        Price received [money; 0 or more].
    cost : float
        Cost of what is sold [money; above 0].

    Returns
    -------
    float
        Profit over cost, negative for a loss [fraction].

    References
    ----------
    Definition of markup.

    Examples
    --------
    >>> markup(100, 40)
    1.5
    """
    return (price - cost) / cost


@worksheet_function()
def break_even(fixed_cost: float, price: float, variable_cost: float) -> float:
    """Units to sell before the fixed costs are paid.

    Parameters
    ----------
    fixed_cost : float
        Costs of the period that no sale changes [money; 0 or more].
    price : float
        Price of a unit sold [money; 0 or more].
    variable_cost : float
        Variable cost of a unit: what each one more costs [money; 0 or more].

    Returns
    -------
    float
        Units to sell in the period, not rounded [number].

    Raises
    ------
    NotPossible
        If a unit sold does not bring more than it costs.

    References
    ----------
    Fixed cost over contribution of a unit.

    Examples
    --------
    >>> break_even(12000, 8, 3)
    2400
    """
    if price <= variable_cost:
        raise NotPossible(
            f"price: got {price:g}, needs to be above variable_cost ({variable_cost:g})."
        )
    return fixed_cost / (price - variable_cost)


@worksheet_function()
def yearly_depreciation(cost: float, salvage: float, years: float) -> float:
    """Straight-line depreciation of equipment in a year.

    Parameters
    ----------
    cost : float
        What the equipment costs, ready for use [money; 0 or more].
    salvage : float
        Salvage value: what it sells for at the end [money; 0 or more].
    years : float
        How long it is used [a; above 0 to 100].

    Returns
    -------
    float
        Loss of value in a year [money].

    Raises
    ------
    NotPossible
        If the equipment brings more at the end than it cost.

    References
    ----------
    Straight-line method.

    Examples
    --------
    >>> yearly_depreciation(20000, 2000, 10)
    1800
    """
    if salvage > cost:
        raise NotPossible(f"salvage: got {salvage:g}, needs to be at most cost ({cost:g}).")
    return (cost - salvage) / years


@worksheet_function()
def labor_cost(minutes: float, hourly_wage: float, burden: float = 0.0) -> float:
    """Cost of working time.

    Parameters
    ----------
    minutes : float
        Working time [min; 0 or more].
    hourly_wage : float
        Wage for an hour [money; 0 or more].
    burden : float
        Share of the wage that taxes, insurance and benefits add to it [fraction; 0 to 2].

    Returns
    -------
    float
        Wage with its burden [money].

    References
    ----------
    Definition. Example: BLS, Employer Costs for Employee Compensation, USDL-15-1756.

    Examples
    --------
    >>> labor_cost("60 min", 21.82, "43.86%")
    31.39
    """
    return minutes / MINUTES_PER_HOUR * hourly_wage * (1 + burden)


@worksheet_function()
def payback_years(investment: float, yearly_net: float) -> float:
    """Years until an investment has paid for itself, without interest.

    Parameters
    ----------
    investment : float
        What it costs [money; 0 or more].
    yearly_net : float
        What it saves or earns in a year, after its own costs [money; above 0].

    Returns
    -------
    float
        Simple payback time [a].

    References
    ----------
    Simple payback: investment over yearly net return.

    Examples
    --------
    >>> payback_years(6000, 2400)
    2.5
    """
    return investment / yearly_net
