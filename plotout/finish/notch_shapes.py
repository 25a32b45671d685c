"""The shapes of notches, cut into the card's edge or drawn on it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon

from plotout.finish.bare_card import PlacedNotch
from plotout.geometry.polyline import without_repeats
from plotout.geometry.region import lines_in, outer
from plotout.geometry.strokes import FloatArray, Mark, NotchKind, Stroke, Work
from plotout.pattern.settings import NotchStyle

_OPENINGS = (NotchKind.V, NotchKind.U, NotchKind.CASTLE, NotchKind.CHECK)
_EDGE = 1e-3  # mm: a line that ends on the card's edge is on the card
_PAST = 1.0  # mm by which an opening extends past the edge, which may curve


def notched(
    outline: FloatArray, notches: Sequence[PlacedNotch]
) -> tuple[FloatArray, tuple[Stroke, ...]]:
    """Return the outline with its notches cut in, and the notches that are strokes.

    V, U, castle and check notches change the outline; slits and T notches have no width and are
    separate cuts from the foot out to the edge. Notches that are not cut are drawn, as far as they
    lie on the card.
    """
    outline = without_repeats(outline)
    card = Polygon(outline)
    strokes: list[Stroke] = []
    openings: list[Polygon] = []
    for notch in notches:
        lines = shaped(notch)
        if not notch.style.cut or is_open(notch.style):
            work, kind = Work.CUT if notch.style.cut else Work.DRAW, notch.style.kind
            lines = lines if notch.style.cut else _on_card(lines, card)
            strokes += [Stroke(line, work, Mark.NOTCH, notch=kind) for line in lines]
        else:
            ends = lines[0][[-1, 0]] - notch.inward * _PAST
            openings.append(Polygon(np.vstack([lines[0], ends])))
    if openings:
        outline = outer(card.difference(shapely.union_all(openings)))
    return outline, tuple(strokes)


def _on_card(lines: Sequence[FloatArray], card: Polygon) -> list[FloatArray]:
    """Return drawn lines without what would lie beside the card, as at a corner."""
    room = card.buffer(_EDGE)
    return [
        np.asarray(part.coords)
        for line in lines
        for part in lines_in(shapely.line_merge(shapely.LineString(line).intersection(room)))
    ]


def shaped(notch: PlacedNotch) -> list[FloatArray]:
    """Return a notch's lines on the card, (n, 2), mm."""
    direction = np.array([notch.inward[1], -notch.inward[0]])
    return [
        notch.at + line[:, :1] * direction + line[:, 1:] * notch.inward
        for line in profile(notch.style)
    ]


def is_open(style: NotchStyle) -> bool:
    """Return whether the kind is made of lines, not an opening."""
    return style.kind not in _OPENINGS


def profile(style: NotchStyle) -> list[FloatArray]:
    """Return a notch's lines, (n, 2): x along the edge, y into the card, mm.

    The kinds are those of ASTM D6673 (layers 4 and 80 to 83); their proportions are our own.
    """
    half, depth = style.width / 2.0, style.depth
    match style.kind:
        case NotchKind.T:
            bar = np.array([[-half, depth], [half, depth]])
            return [bar, np.array([[0.0, depth], [0.0, 0.0]])]
        case NotchKind.V:
            return [np.array([[-half, 0.0], [0.0, depth], [half, 0.0]])]
        case NotchKind.CASTLE:
            return [np.array([[-half, 0.0], [-half, depth], [half, depth], [half, 0.0]])]
        case NotchKind.CHECK:
            return [np.array([[0.0, 0.0], [0.0, depth], [style.width, 0.0]])]
        case NotchKind.U:
            radius = min(half, depth)
            turn = np.linspace(np.pi, 0.0, 17)
            arc = np.column_stack([half * np.cos(turn), depth - radius + radius * np.sin(turn)])
            ends = [[-half, 0.0]], [[half, 0.0]]
            return [without_repeats(np.vstack([ends[0], arc, ends[1]]))]
        case _:  # a slit, as drivers take a kind that they don't know
            return [np.array([[0.0, depth], [0.0, 0.0]])]
