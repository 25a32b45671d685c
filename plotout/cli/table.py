"""Plain tables for a terminal: text left, figures right, two blanks between."""

from __future__ import annotations

from collections.abc import Sequence


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


def _is_figure(text: str) -> bool:
    return not text or text[0] in "+-0123456789"
