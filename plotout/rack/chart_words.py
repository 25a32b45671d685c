"""The words at a pattern chart's head and foot: the set, its sizes' lines, its cloths, a swatch."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from plotout.geometry.dashes import dashes_along
from plotout.geometry.lettering import text_width
from plotout.geometry.strokes import Mark
from plotout.pattern.model import PatternSet, Piece
from plotout.rack.leaf import LARGE, MARGIN, PLAIN, SMALL, Leaf, about, rows_of
from plotout.rack.must import by_cloth

SWATCH = 42.0  # side of the box for a piece of cloth
GAP = 5.0  # mm between columns, and between pieces of a column
_SAMPLE = 14.0  # mm of each size's line in the legend


def _write_legend(leaf: Leaf, lines: Mapping[str, tuple[float, ...]]) -> None:
    """Write the sizes in rows, each beside a sample of its line."""
    x, right = MARGIN, leaf.width - MARGIN
    leaf.y -= PLAIN
    for size, dashes in lines.items():
        wide = _SAMPLE + 2.0 + text_width(size, PLAIN) + GAP
        if x > MARGIN and x + wide > right:
            x, leaf.y = MARGIN, leaf.y - 1.8 * PLAIN
        middle = leaf.y + PLAIN / 2.0
        sample = np.array([[x, middle], [x + _SAMPLE, middle]])
        for part in dashes_along([sample], dashes) if dashes else [sample]:
            leaf.line(part, Mark.INTERNAL if dashes else Mark.OUTLINE)
        leaf.letters(size, x + _SAMPLE + 2.0, leaf.y, PLAIN)
        x += wide
    leaf.y -= 0.8 * PLAIN


def write_head(
    leaf: Leaf,
    pattern_set: PatternSet,
    pieces: int,
    cards: int,
    scale: float | None,
    lines: Mapping[str, tuple[float, ...]],
) -> None:
    """Write what the chart shows. scale: None if not yet known. lines: dashes of every size, mm."""
    say = pattern_set.say
    leaf.write(pattern_set.name, LARGE)
    size = "" if lines else pattern_set.size
    leaf.write(about(pattern_set, size))
    if lines:
        _write_legend(leaf, lines)
    words = [
        say.many("{count} piece", "{count} pieces", pieces),
        say.many("{count} card", "{count} cards", cards),
        say("scale 1:{scale}", scale=f"{1.0 / scale:g}" if scale else "100"),
        say(
            "seam allowance {width} unless said otherwise",
            width=say.length(pattern_set.defaults.allowance),
        ),
    ]
    leaf.write(say.listed(*words))
    for caution in pattern_set.cautions:
        leaf.write(caution)
    leaf.y -= PLAIN


def _cloth_rows(pattern_set: PatternSet, pieces: Sequence[Piece], wide: float) -> list[str]:
    """Return in lines how many of what are cut of each cloth; an empty line after each cloth."""
    room = wide - 2 * MARGIN - SWATCH - 8.0
    found: list[str] = []
    say = pattern_set.say
    for cloth, rows in by_cloth(pieces, say).items():
        total = sum(many for _, _, many in rows)
        counted = say.listed(*(f"{name} {many}" for name, _, many in rows))
        text = say("{cloth}: {count} - {pieces}", cloth=cloth, count=total, pieces=counted)
        found += [*rows_of([text], room, SMALL), ""]
    return found


def foot_top(pattern_set: PatternSet, pieces: Sequence[Piece], wide: float) -> float:
    """Return how high the swatch and the list of cloths end above the page's foot, mm."""
    rows = _cloth_rows(pattern_set, pieces, wide)
    return MARGIN + max(SWATCH + 2 * PLAIN, 1.8 * SMALL * len(rows)) + GAP


def write_foot(leaf: Leaf, pattern_set: PatternSet, pieces: Sequence[Piece]) -> None:
    """Write the list of cloths beside the box for a swatch."""
    rows = _cloth_rows(pattern_set, pieces, leaf.width)
    top = foot_top(pattern_set, pieces, leaf.width) - GAP
    leaf.box(MARGIN, MARGIN, SWATCH, SWATCH)
    swatch = pattern_set.say("swatch")
    size = PLAIN * min(1.0, SWATCH / text_width(swatch, PLAIN))
    leaf.letters(swatch, MARGIN, MARGIN + SWATCH + 2.0, size)
    y = top - SMALL
    for row in rows:
        leaf.letters(row, MARGIN + SWATCH + 8.0, y, SMALL)
        y -= 1.8 * SMALL
