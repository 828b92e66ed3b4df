"""Amounts of money within sentences, with the separators that the cells of the program have."""

from __future__ import annotations


def money_words(amount: str, currency: str) -> str:
    """Write an amount as text, with cents."""
    return f'"{currency}"&FIXED({amount},2)'


def whole_money(amount: str, currency: str) -> str:
    """Write an amount as text, without cents, below zero with its sign."""
    whole = f"ROUND({amount},0)"
    return f'REPT("-",({whole}<0)*1)&"{currency}"&FIXED(ABS({whole}),0)'
