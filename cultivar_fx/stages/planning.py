"""Planning: from demand to blocks, and from blocks to shelf places and dates."""

from __future__ import annotations

from cultivar_fx.catalog.definition import worksheet_function
from cultivar_fx.errors import NotPossible
from cultivar_fx.stages.rounding import whole_down, whole_up

DAYS_PER_WEEK = 7
CENTIMETERS_PER_METER = 100
FIRST_DATE = 61
"""1900-03-01, the first day that all spreadsheet programs number alike [date]."""


@worksheet_function()
def blocks_for_demand(demand: float, yield_per_block: float, loss_rate: float) -> float:
    """Blocks to make so that the harvest meets a demand.

    Parameters
    ----------
    demand : float
        Fresh mushrooms wanted [kg; 0 or more].
    yield_per_block : float
        Fresh mushrooms from one good block, all flushes [kg; 0.001 to 100].
    loss_rate : float
        Share of the blocks that is lost [fraction; 0 to below 1].

    Returns
    -------
    float
        Number of blocks, enough on average [count].

    References
    ----------
    Demand over the average yield of all blocks made, rounded up.

    Examples
    --------
    >>> blocks_for_demand("90 kg", "1 kg", "10%")
    100
    """
    return whole_up(demand / (yield_per_block * (1 - loss_rate)))


@worksheet_function()
def blocks_in_progress(blocks_per_week: float, days: float) -> float:
    """Blocks that are in a stage at the same time, when as many enter every week.

    Parameters
    ----------
    blocks_per_week : float
        Blocks that enter the stage in a week [count; 0 or more].
    days : float
        How long a block stays in it [d; 0 to 3650].

    Returns
    -------
    float
        Blocks in the stage, not rounded [count].

    References
    ----------
    Little's law: number in a stage = rate of arrival times length of stay.

    Examples
    --------
    >>> blocks_in_progress(70, "28 d")
    280
    """
    return blocks_per_week * days / DAYS_PER_WEEK


@worksheet_function()
def shelf_spaces(
    shelf_length: float,
    shelf_depth: float,
    block_length: float,
    block_depth: float,
    gap: float = 5.0,
    shelves: float = 1.0,
) -> float:
    """Shelf spaces for blocks, with a gap between blocks and none at the ends.

    Parameters
    ----------
    shelf_length : float
        Length of a shelf [m; 0 to 100].
    shelf_depth : float
        Depth of a shelf [m; 0 to 5].
    block_length : float
        Side of the block along the shelf [cm; 1 to 150].
    block_depth : float
        Side of the block across the shelf [cm; 1 to 150].
    gap : float
        Free space between two blocks [cm; 0 to 100]. Assumption: measure yours.
    shelves : float
        How many such shelves there are [count; 0 or more, whole].

    Returns
    -------
    float
        Number of places [count].

    References
    ----------
    Blocks in rows: n blocks and n - 1 gaps fit the length.

    Examples
    --------
    >>> shelf_spaces("1.2 m", "45 cm", "20 cm", "12 cm", "5 cm", 4)
    40
    """
    along = whole_down((shelf_length * CENTIMETERS_PER_METER + gap) / (block_length + gap))
    across = whole_down((shelf_depth * CENTIMETERS_PER_METER + gap) / (block_depth + gap))
    return along * across * shelves


@worksheet_function()
def blocks_per_week(places: float, days: float) -> float:
    """Blocks that can enter a stage in a week without its shelf spaces running out.

    Parameters
    ----------
    places : float
        Shelf spaces of the stage [count; 0 or more].
    days : float
        How long a block keeps its space [d; above 0 to 3650].

    Returns
    -------
    float
        Blocks in a week, not rounded [count].

    References
    ----------
    Little's law: rate of arrival = number in a stage over length of stay.

    Examples
    --------
    >>> blocks_per_week(280, "28 d")
    70
    """
    return places * DAYS_PER_WEEK / days


@worksheet_function()
def start_date(sale_date: float, days: float) -> float:
    """Day to start on, so that the harvest is ready on the day of sale.

    Parameters
    ----------
    sale_date : float
        Day of sale, a date cell or a text such as "2026-03-14" [date; 61 to 109574].
    days : float
        Days from the start to the sale [d; 0 to 3650].

    Returns
    -------
    float
        Day to start on; where a cell shows a number, format it as a date [date].

    Raises
    ------
    NotPossible
        If the start would lie before 1900-03-01.

    References
    ----------
    Calendar.

    Examples
    --------
    >>> start_date("2026-03-14", "42 d")
    datetime.date(2026, 1, 31)
    """
    if sale_date - days < FIRST_DATE:
        raise NotPossible(f"days: got {days:g}, needs to lead to no day before 1900-03-01.")
    return sale_date - days
