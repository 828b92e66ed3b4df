"""What the commands say: plain lines that any terminal, pipe and file takes.

Text may come from a stranger's file, and the output may know few signs, as one that is redirected
on Windows does. Nothing said controls a terminal, and nothing ends a command.
"""

from __future__ import annotations

import codecs
import sys
from unicodedata import decomposition, normalize

_SPELL = "cultivar-fx spelling"
_SPELLINGS = {
    "°": "deg",
    "×": "x",
    "·": "*",
    "÷": "/",
    "−": "-",
    "–": "-",
    "—": "-",
    "‘": "'",
    "’": "'",
    "“": '"',
    "”": '"',
    "…": "...",
    "≤": "<=",
    "≥": ">=",
    "µ": "u",
    "μ": "u",
    "€": "EUR",
    "£": "GBP",
}
"""Signs of ours and of the trade, for an output that does not know them."""
_BEFORE_DIGITS = {"<super>": "^", "<sub>": "", "<fraction>": " ", "<wide>": ""}


def say(text: str, is_error: bool = False) -> None:
    """Write lines to the output.

    Parameters
    ----------
    text : str
        The lines. What is not printable becomes a question mark, but for tabs between values.
    is_error : bool
        Whether it goes to the output for errors.
    """
    stream = sys.stderr if is_error else sys.stdout
    if stream is None:  # nobody listens
        return
    encoding = getattr(stream, "encoding", None) or "utf-8"
    plain = "\n".join(map(_printable, text.split("\n")))
    stream.write(plain.encode(encoding, _SPELL).decode(encoding) + "\n")


def _printable(line: str) -> str:
    if line.isprintable():
        return line
    return "".join(letter if letter.isprintable() or letter == "\t" else "?" for letter in line)


def _spelled(error: UnicodeError) -> tuple[str, int]:
    """Spell signs that an encoding does not know in those that all know."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    letters = error.object[error.start : error.end]
    return "".join(map(_spelling, letters)), error.end


def _spelling(letter: str) -> str:
    if letter in _SPELLINGS:
        return _SPELLINGS[letter]
    kind = decomposition(letter).partition(" ")[0]
    plain = normalize("NFKD", letter).replace("\u2044", "/").encode("ascii", "ignore").decode()
    if any(map(str.isdigit, plain)):  # no sign may make another number of those beside it
        return _BEFORE_DIGITS[kind] + plain if kind in _BEFORE_DIGITS else "?"
    return plain or "?"


codecs.register_error(_SPELL, _spelled)
