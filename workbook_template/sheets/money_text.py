"""Amounts of money, and other numbers, in sentences: alike in every language of a program."""

from __future__ import annotations

_SIX = "2*3"


def whole_words(amount: str) -> str:
    """Write a whole number of 0 or more as text, with a comma at the thousands and the millions.

    A format such as ``#,##0`` would mean decimals where a comma stands before these.
    """
    has_millions = f"(LEN({amount})>{_SIX})"
    millions = f'REPLACE({amount}&"",MAX(1,LEN({amount})-{_SIX}+1),0,REPT(",",{has_millions}*1))'
    at = f"MAX(1,LEN({amount})+{has_millions}-2)"
    return f'REPLACE({millions},{at},0,REPT(",",(LEN({amount})>3)*1))'


def money_words(amount: str, currency: str) -> str:
    """Write an amount of 0 or more as text, with cents."""
    rounded = f"ROUND({amount},2)"
    cents = f'TEXT(ROUND(({rounded}-INT({rounded}))/1%,0),"00")'
    return f'"{currency}"&{whole_words(f"INT({rounded})")}&"."&{cents}'


def whole_money(amount: str, currency: str) -> str:
    """Write an amount as text, without cents, below zero with its sign."""
    whole = f"ROUND({amount},0)"
    return f'REPT("-",({whole}<0)*1)&"{currency}"&{whole_words(f"ABS({whole})")}'
