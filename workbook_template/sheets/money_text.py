"""Amounts of money and numbers within sentences, with the separators that the cells have."""

from __future__ import annotations


def money_words(amount: str, currency: str) -> str:
    """Write an amount as text, with cents."""
    return f'"{currency}"&FIXED({amount},2)'


def whole_money(amount: str, currency: str) -> str:
    """Write an amount as text, without cents, below zero with its sign."""
    whole = f"ROUND({amount},0)"
    return f'REPT("-",({whole}<0)*1)&"{currency}"&FIXED(ABS({whole}),0)'


def whole_words(number: str) -> str:
    """Write a whole number as text, with the same separators."""
    return f"FIXED({number},0)"
