"""The contents card: every piece of the set, and how many of what."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from plotout.finish.blank import Blank
from plotout.finish.label import LEADING
from plotout.geometry.lettering import text_width
from plotout.pattern.model import PatternSet

_MARGIN = 12.0  # mm about the words
TITLE = "Contents"


def contents(pattern_set: PatternSet, blanks: Sequence[Blank]) -> Blank:
    """Return a plain card, as large as its words and hole need, that lists the set."""
    height = pattern_set.defaults.lettering
    lines = _lines(pattern_set, blanks)
    wide = max([text_width(line, height) for line in (*lines, pattern_set.name)]) + 2.0 * _MARGIN
    tall = (len(lines) + 4.5) * LEADING * height + 2.0 * _MARGIN
    tall += pattern_set.defaults.hole_inset + pattern_set.defaults.hole
    wide, tall = np.ceil(max(wide, 80.0)), np.ceil(tall)
    outline = np.array([[0.0, 0.0], [wide, 0.0], [wide, tall], [0.0, tall], [0.0, 0.0]])
    return Blank(piece=TITLE, outline=outline, words=lines)


def _lines(pattern_set: PatternSet, blanks: Sequence[Blank]) -> tuple[str, ...]:
    lines = []
    for made in blanks:
        if made.part == 1:
            orders = ", ".join(made.orders) or "no cutting instruction"
            split = f" ({made.parts} cards)" if made.parts > 1 else ""
            lines.append(f"{made.piece}{split}: {orders}")
    if pattern_set.date:
        lines.append(pattern_set.date)
    return (*lines, *pattern_set.cautions)
