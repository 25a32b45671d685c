"""Plain tables for a terminal: text left, figures right, two spaces between.

A table that is wider than the terminal has its text columns wrapped; one that is still too wide
becomes a list, a line for each cell.
"""

from __future__ import annotations

import os
import shutil
import sys
import unicodedata
from collections.abc import Iterator, Sequence
from textwrap import wrap

from plotout.units import says_anything

_LEAST = 8  # columns of a text that is wrapped
_BETWEEN = 2
_FAR = 10_000


def table(head: Sequence[str], rows: Sequence[Sequence[str]], width: int | None = None) -> str:
    """Return the rows under their heads, each column as wide as its widest cell.

    A column that holds nothing is left out.

    width: columns of the terminal; as many as it takes where there is no terminal.
    """
    room = max((terminal_width() if width is None else width) - _BETWEEN, _LEAST)
    held = [k for k in range(len(head)) if not rows or any(row[k] for row in rows)]
    head, rows = [head[k] for k in held], [[row[k] for k in held] for row in rows]
    cells = [head, *rows]
    wide = [max(columns_of(row[k]) for row in cells) for k in range(len(head))]
    right = [bool(rows) and all(_is_figure(row[k]) for row in rows) for k in range(len(head))]
    over = sum(wide) + _BETWEEN * (len(wide) - 1) - room
    texts = [k for k in range(len(head)) if not right[k]]
    while over > 0:
        widest = max(texts, key=lambda k: wide[k], default=None)
        if widest is None or wide[widest] <= _LEAST:
            return "\n".join(_listed(head, rows, room))
        taken = min(over, max(1, wide[widest] - _LEAST))
        wide[widest] -= taken
        over -= taken
    lines = []
    for row in cells:
        parts = [_wrapped(text, size) for text, size in zip(row, wide, strict=True)]
        for line in range(max(map(len, parts))):
            shown = [part[line] if line < len(part) else "" for part in parts]
            padded = (_padded(*column) for column in zip(shown, wide, right, strict=True))
            lines.append("  " + "  ".join(padded).rstrip())
    return "\n".join(lines)


def terminal_width() -> int:
    """Return the columns of the terminal; very many where standard output is none."""
    width_known = sys.stdout.isatty() or os.environ.get("COLUMNS", "").isdigit()
    return shutil.get_terminal_size().columns if width_known else _FAR


def columns_of(text: str) -> int:
    """Return how many columns a terminal gives a text: two to a wide letter (UAX #11)."""
    if text.isascii():
        return len(text)
    return sum(
        0 if unicodedata.combining(letter) else 1 + (unicodedata.east_asian_width(letter) in "WF")
        for letter in text
    )


def _listed(head: Sequence[str], rows: Sequence[Sequence[str]], room: int) -> Iterator[str]:
    """Give a line for each cell that holds something, rows parted by empty lines."""
    for number, row in enumerate(rows):
        if number:
            yield ""
        for name, text in zip(head, row, strict=True):
            if text:
                line = f"{name}: {text}" if name else text
                yield from (f"  {part}" for part in _wrapped(line, room))


def _wrapped(text: str, width: int) -> list[str]:
    if columns_of(text) <= width:
        return [text]
    if text.isascii():
        return wrap(text, width) or [""]
    lines = [""]
    for letter in text:  # wide letters may be broken between any two
        if columns_of(lines[-1] + letter) > width:
            lines.append("")
        lines[-1] += letter
    return lines


def _padded(text: str, width: int, to_the_right: bool) -> str:
    blank = " " * (width - columns_of(text))
    return blank + text if to_the_right else text + blank


def give_or_take(known_to: float) -> str:
    """Return in words to how many mm something is known: blank where it was drawn."""
    if known_to == 0.0:
        return ""
    return f"± {known_to:.1f}" if says_anything(known_to) else "not known"


def finite(known_to: float) -> float | None:
    """Return the same for JSON: None where it is not known at all."""
    return round(known_to, 3) if says_anything(known_to) else None


def _is_figure(text: str) -> bool:
    return not text or text[0] in "+-±0123456789"
