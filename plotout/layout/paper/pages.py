"""Sizes of paper by their names."""

from __future__ import annotations

import re

from plotout.errors import UserError, nearest
from plotout.units import MM_PER_INCH, length

# ISO 216: every size is the previous one halved across its long side, rounded down to whole mm
_LONGEST = {"A": (841.0, 1189.0), "B": (1000.0, 1414.0)}
# ANSI/ASME Y14.1 for A (letter) and B (tabloid); legal: common practice
_INCHES = {"letter": (8.5, 11.0), "legal": (8.5, 14.0), "tabloid": (11.0, 17.0)}

SHORTEST = 50.0  # mm: nothing of plotout's pages fits on less
LONGEST = 5080.0  # mm: 14,400 units of PDF (ISO 32000-1, annex C)


def _iso() -> dict[str, tuple[float, float]]:
    sizes = {}
    for letter, longest in _LONGEST.items():
        size = longest
        for index in range(7):
            sizes[f"{letter}{index}"] = size
            size = (float(size[1] // 2), size[0])
    return sizes


PAGES = _iso() | {
    name: (short * MM_PER_INCH, long * MM_PER_INCH) for name, (short, long) in _INCHES.items()
}
"""Portrait width and height in mm by name."""


def page_size(text: str) -> tuple[float, float]:
    """Return width and height in mm, portrait, of a page: "A4", "letter", "300 mm x 400 mm".

    Raises UserError for an unknown name or an impossible size.
    """
    for name, size in PAGES.items():
        if name.lower() == text.strip().lower():
            return size
    sides = re.split(r"\s+(?:x|by|×)\s+", text.strip())
    if len(sides) != 2:
        raise UserError(
            f"there is no page size '{text}'",
            fix=nearest(text, PAGES) + ' Or give its sides: "300 mm x 400 mm".',
        )
    short, long = sorted(length(side) for side in sides)
    if short <= 0.0:
        raise UserError(f"a page of '{text}' has no area", fix="Give both sides in mm.")
    if not SHORTEST <= short <= long <= LONGEST:
        raise UserError(
            f"a page of '{text}' can't be printed",
            fix=f"Its sides are {SHORTEST:g} to {LONGEST:g} mm.",
        )
    return short, long
