"""Amounts of money within sentences, written alike in every language of a program."""

from __future__ import annotations


def money_words(amount: str, currency: str) -> str:
    """Write an amount as text, with cents."""
    rounded = f"ROUND({amount},2)"
    cents = f'TEXT(ROUND(({rounded}-INT({rounded}))*100,0),"00")'
    return f'"{currency}"&INT({rounded})&"."&{cents}'


def whole_money(amount: str, currency: str) -> str:
    """Write an amount as text, without cents, below zero with its sign."""
    whole = f"ROUND({amount},0)"
    return f'REPT("-",({whole}<0)*1)&"{currency}"&ABS({whole})'
