"""The contents card: every piece of the set, and how many to cut of what."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from plotout.files import slug
from plotout.finish.bare_card import BareCard
from plotout.finish.code import CLEAR, code_side, code_text
from plotout.finish.label import LEADING
from plotout.geometry.lettering import text_width, wrapped
from plotout.pattern.model import PatternSet

_MARGIN = 12.0  # mm about the words
_LEAST = 80.0  # mm wide
_HEAD = 4.5  # lines of title, set, style and card number


def contents(
    pattern_set: PatternSet,
    bare_cards: Sequence[BareCard],
    window: tuple[float, float] | None,
    *,
    upright: bool = False,
) -> list[BareCard]:
    """Return plain cards that list the set, as large as their words and hole need.

    One card, unless it would be larger than `window`, in either orientation unless `upright`.
    """
    height = pattern_set.defaults.lettering
    title = pattern_set.say("Contents")
    listed = _lines(pattern_set, bare_cards)
    most = list(window or (np.inf, np.inf))
    if not upright:
        most.sort()
    if not upright and (
        max((text_width(line, height) for line in listed), default=0.0)
        > most[0] - 2.0 * _MARGIN - 2.0
    ):
        most = most[::-1]  # wide rather than tall
    lines = [
        part for line in listed for part in wrapped(line, most[0] - 2.0 * _MARGIN - 2.0, height)
    ]
    above = 2.0 * _MARGIN + pattern_set.defaults.hole_inset + pattern_set.defaults.hole
    if pattern_set.defaults.qr:
        above += code_side(code_text(pattern_set, slug(title))) + 2.0 * CLEAR
    page = len(lines)
    if np.isfinite(most[1]):
        page = max(1, int((most[1] - above - 1.0) / (LEADING * height) - _HEAD))
    pages = [lines[k : k + page] for k in range(0, len(lines), page)] or [[]]
    cards = []
    for index, size in enumerate(pages):
        widths = [text_width(line, height) for line in (*size, pattern_set.name)]
        wide = np.ceil(min(max(max(widths) + 2.0 * _MARGIN, _LEAST), most[0]))
        tall = np.ceil((len(size) + _HEAD) * LEADING * height + above)
        outline = np.array([[0.0, 0.0], [wide, 0.0], [wide, tall], [0.0, tall], [0.0, 0.0]])
        cards.append(BareCard(title, outline, words=tuple(size), part=index + 1, parts=len(pages)))
    return cards


def _lines(pattern_set: PatternSet, bare_cards: Sequence[BareCard]) -> tuple[str, ...]:
    """Return a line for each piece, by the number of its card, and what the cutter must know."""
    say = pattern_set.say
    lines = []
    for number, made in enumerate(bare_cards, start=1):
        if made.part == 1:
            orders = say.listed(*made.orders) or say("no cutting instruction")
            numbers = f"{number}-{number + made.parts - 1}" if made.parts > 1 else f"{number}"
            line = say("{piece}: {orders}", piece=made.piece, orders=orders)
            lines.append(f"{numbers}  {line}")
    return (*lines, *pattern_set.cautions)
