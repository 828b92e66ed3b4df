"""Formula templates of the workbook: cell names and worksheet functions become native text.

A template reads like what a grower types: ``CFX.WATER_TO_ADD({mix_mass},{moisture},{target})``.
``CFX.NAME.HOLDS(...)`` is the condition under which the function has an answer at all. A key
written ``{?key}`` is named without waiting for it to be filled, and so is ``{$key}``, a single
cell where a column of the same row has that key too.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from cultivar_fx.catalog import definition
from cultivar_fx.definition import PREFIX
from cultivar_fx.native import formula, requirement, split_call

if TYPE_CHECKING:
    from collections.abc import Callable

_KEY = re.compile(r"\{([?$]?)([a-z][\w.]*)\}")
_CALL = re.compile(re.escape(PREFIX) + r"(\w+?)(\.HOLDS)?\(")


def keys_of(template: str) -> list[str]:
    """Give the keys that a template waits for, each once, in order."""
    return list(dict.fromkeys(key for unasked, key in _KEY.findall(template) if not unasked))


def render(template: str, resolve: Callable[[str], str], units: str) -> str:
    """Write a template out as spreadsheet text, without the equals sign."""
    return _expand(_KEY.sub(lambda match: resolve(match[0][1:-1].lstrip("?")), template), units)


def _expand(text: str, units: str) -> str:
    while (call := _CALL.search(text)) is not None:
        values, end = split_call(text, call.end() - 1)
        names = [argument.name for argument in definition(call[1]).arguments]
        arguments = {
            name: _expand(value, units) for name, value in zip(names, values, strict=False) if value
        }
        native = (requirement if call[2] else formula)(call[1], arguments, units)
        before, after = text[: call.start()], text[end + 1 :]
        alone = not before and not after
        text = before + (native if alone else f"({native})") + after
    return text


def when_filled(text: str, needed: list[str]) -> str:
    """Let a formula wait, and look empty, until the cells that it needs are filled."""
    if not needed:
        return text
    blank = [f'{cell}=""' for cell in needed]
    condition = blank[0] if len(blank) == 1 else f"OR({','.join(blank)})"
    return f'IF({condition},"",{text})'
