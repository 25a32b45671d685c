"""What an allowance is folded onto: the piece without it, the whole of a half."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from plotout.geometry.corners import Ends
from plotout.geometry.polyline import mirrored
from plotout.geometry.region import covered
from plotout.geometry.sides import Bordered, joined
from plotout.geometry.strokes import FloatArray
from plotout.geometry.turned_back import up_to_fold

_NONE = np.empty((0, 2))


@dataclass(frozen=True, slots=True, eq=False)
class Outlined:
    """The sides of an outline, their parallels, (n, 2), and the corners at which these meet."""

    sides: Sequence[Bordered]
    lines: Sequence[FloatArray]
    corners: Sequence[Ends]
    limit: float


def folded_onto(outline: Outlined) -> dict[int, FloatArray]:
    """Return the closed cutting line that the allowance of each turned-back side is folded onto.

    Each is (n, 2), counter-clockwise; empty if nothing is left of the piece without the side's
    allowance. Other turned-back corners in it run straight on past the sides beside them.
    """
    hems = {
        (index if side.folds else index - 1) % len(outline.sides)
        for index, side in enumerate(outline.sides)
        if side.corner == "turned back"
    }
    fold = next((side for side in outline.sides if side.on_fold), None)
    if not hems or fold is None:
        return {hem: _covered(_border(outline, hem)) for hem in sorted(hems)}
    other = mirrored(_border(outline, None), fold.points[0], fold.points[-1])[::-1]
    return {hem: _covered(np.vstack([_border(outline, hem), other])) for hem in sorted(hems)}


def _border(outline: Outlined, hem: int | None) -> FloatArray:
    """Return the cutting line once round, (n, 2), from end to end of a half's fold; along the side
    `hem`, that is its stitching line.
    """
    sides, lines = outline.sides, list(outline.lines)
    joints = [_NONE] * len(sides)
    for index, side in enumerate(sides):
        ends = replace(outline.corners[index], before=lines[index - 1], after=lines[index])
        if hem == index:
            kept = up_to_fold(ends)
            lines[index - 1] = ends.before if kept is None else kept
        elif hem == (index - 1) % len(sides):
            kept = up_to_fold(ends.reversed())
            lines[index] = ends.after if kept is None else kept[::-1]
        else:
            lines[index - 1], joints[index], lines[index] = joined(ends, side, outline.limit)
    if hem is not None:
        lines[hem] = sides[hem].points
    first = next((index + 1 for index, side in enumerate(sides) if side.on_fold), 0)
    order = [(first + step) % len(sides) for step in range(len(sides))]
    parts = [part for index in order for part in (joints[index], lines[index])]
    if sides[order[-1]].on_fold:
        del parts[-1]
    return np.vstack(parts)


def _covered(ring: FloatArray) -> FloatArray:
    try:
        return covered(ring)
    except ValueError:
        return _NONE
