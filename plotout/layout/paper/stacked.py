"""Cards one above the other on pages of paper, never divided."""

from __future__ import annotations

from collections.abc import Sequence

from plotout.errors import UserError
from plotout.geometry.polyline import bounds
from plotout.model import Card, Placed, Sheet


def stacked(
    cards: Sequence[Card],
    page: tuple[float, float],
    *,
    margins: tuple[float, float, float, float],
    gap: float,
) -> tuple[Sheet, ...]:
    """Return pages with cards stacked from the top. page: width and height, mm.

    margins: left, bottom, right, top, mm.

    Raises UserError for a card larger than the page.
    """
    width, height = page
    side, foot, other, head = margins
    sheets: list[list[Placed]] = []
    top = 0.0
    for card in cards:
        left, bottom, right, above = bounds(card.outline)
        tall = above - bottom
        if right - left > width - side - other or tall > height - foot - head:
            raise UserError(
                f"{card.title} is {right - left:.0f} x {tall:.0f} mm: larger than the page",
                fix="Take a larger page.",
            )
        if not sheets or top - tall < foot:
            sheets.append([])
            top = height - head
        sheets[-1].append(Placed(card, 0.0, (side - left, top - tall - bottom)))
        top -= tall + gap
    return tuple(
        Sheet(f"page {index}", index, width, height, tuple(placed), stock="page", of=len(sheets))
        for index, placed in enumerate(sheets, 1)
    )
