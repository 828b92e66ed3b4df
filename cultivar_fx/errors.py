"""What can go wrong in a worksheet call, and the error value that the cell shows for it."""

from __future__ import annotations

NOT_AVAILABLE = "#N/A"
WRONG_VALUE = "#VALUE!"
WRONG_NUMBER = "#NUM!"

ERROR_CODES = frozenset(
    {NOT_AVAILABLE, WRONG_VALUE, WRONG_NUMBER, "#DIV/0!", "#REF!", "#NAME?", "#NULL!"}
)


class FunctionError(ValueError):
    """A call that has no answer; its text is a sentence for the grower."""

    code = WRONG_VALUE


class WrongType(FunctionError):
    """Something that is no number, or a quantity of another kind."""


class UnknownUnit(FunctionError):
    """A unit, or a unit system, that nobody knows."""


class UnknownFunction(FunctionError):
    """A function name that is not in the catalog."""

    code = "#NAME?"


class OutOfRange(FunctionError):
    """A number outside the limits of its argument."""

    code = WRONG_NUMBER


class NotPossible(FunctionError):
    """Arguments that are each fine, but not together."""

    code = WRONG_NUMBER


class Missing(FunctionError):
    """A required argument that is blank."""

    code = NOT_AVAILABLE


class ErrorGiven(FunctionError):
    """An argument that is an error value already; the answer is the same error."""

    def __init__(self, message: str, code: str) -> None:
        super().__init__(message)
        self.code = code


class CellError:
    """A real error value on its way to a cell, with the sentence that explains it."""

    __slots__ = ("code", "reason")

    def __init__(self, code: str, reason: str) -> None:
        self.code = code
        self.reason = reason

    def __repr__(self) -> str:
        return self.code

    def __eq__(self, other: object) -> bool:
        return isinstance(other, CellError) and other.code == self.code

    def __hash__(self) -> int:
        return hash(self.code)
