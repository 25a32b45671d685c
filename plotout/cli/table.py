"""Plain tables for a terminal: text left, figures right, two spaces between."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite


def table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Return the rows under their heads, each column as wide as its widest cell."""
    everything = [list(head), *map(list, rows)]
    wide = [max(len(row[k]) for row in everything) for k in range(len(head))]
    right = [bool(rows) and all(_is_figure(row[k]) for row in rows) for k in range(len(head))]
    lines = []
    for row in everything:
        cells = [
            text.rjust(size) if figures else text.ljust(size)
            for text, size, figures in zip(row, wide, right, strict=True)
        ]
        lines.append("  " + "  ".join(cells).rstrip())
    return "\n".join(lines)


def give_or_take(known_to: float) -> str:
    """Return in words to how many mm something is known: blank where it was drawn."""
    if known_to == 0.0:
        return ""
    return f"± {known_to:.1f}" if isfinite(known_to) else "not known"


def finite(known_to: float) -> float | None:
    """Return the same for JSON: None where it is not known at all."""
    return round(known_to, 3) if isfinite(known_to) else None


def _is_figure(text: str) -> bool:
    return not text or text[0] in "+-±0123456789"
