"""Everywhere: units, and why a call has no answer."""

from __future__ import annotations

from cultivar_fx.catalog.definition import worksheet_function
from cultivar_fx.errors import FunctionError


@worksheet_function(native="")
def convert_units(quantity: str, unit: str) -> float:
    """Quantity in another unit.

    Parameters
    ----------
    quantity : str
        One number and one unit, such as "200 lb" [text].
    unit : str
        The unit wanted, such as "kg" [text].

    Returns
    -------
    float
        The number of that unit [number].

    Raises
    ------
    WrongType
        If the quantity is not one number and one unit, or the units measure different things.
    UnknownUnit
        If nobody knows one of the units.

    References
    ----------
    Units of the pint library; international yard and pound, US gallon of 231 cubic inches.

    Examples
    --------
    >>> convert_units("200 lb", "kg")
    90.71847
    """
    from cultivar_fx.calls.units import convert

    try:
        return convert(quantity, unit)
    except FunctionError as error:
        raise type(error)(
            f"quantity: got {quantity!r}, which {error}; needs one number and one unit that "
            f"can be given in {unit!r}, such as 200 lb in kg."
        ) from error


@worksheet_function(native="")
def why(function: str, *arguments: object) -> str:
    """Sentence that says why a call has no answer.

    Parameters
    ----------
    function : str
        Name of the function, such as "WATER_TO_ADD" [text].

    Returns
    -------
    str
        Which argument, what it got and what it needs; an empty text where nothing is wrong [text].

    References
    ----------
    The definition of the function asked about.

    Examples
    --------
    >>> why("WATER_TO_ADD", 200, 6, "62%")
    'moisture: got 6, needs a fraction from 0 to below 1 (for 6 percent type 6% or 0.06).'
    """
    from cultivar_fx.calls.call import reason

    return reason(function, arguments)
