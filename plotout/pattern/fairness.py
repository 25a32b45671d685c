"""What growth makes less fair: bends where a line ran smoothly, curves that turn the other way."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from plotout.geometry.polyline import distances
from plotout.geometry.strokes import FloatArray
from plotout.pattern.model import Unfair
from plotout.pattern.regrow import is_straight, tangents_of

_SMOOTH = 1.0  # degrees: lines that meet at less run smoothly into one another
_TURN = 2.0  # degrees: a curve that turns by less one way is not said to turn
_PARTS = 60  # of a curve, whose turns are added up


def unfair(
    names: Sequence[str], before: Sequence[FloatArray], after: Sequence[FloatArray]
) -> Iterator[Unfair]:
    """Give what is less fair after growth than before it, going round a closed outline.

    names: of the edge that each stretch between grade points is of. before, after: (n, 2), mm each.
    """
    was, now = (list(map(tangents_of, lines)) for lines in (before, after))
    for nth, name in enumerate(names):
        then = (nth + 1) % len(names)
        bend = _angle(now[nth][1], now[then][0])
        if _angle(was[nth][1], was[then][0]) < _SMOOTH and bend > _SMOOTH:
            same = names[then] == name
            where = f"'{name}' at a grade point" if same else f"'{name}' and '{names[then]}'"
            yield Unfair(f"{where}: a smooth line is bent", f"by {bend:.1f} degrees")
        if not is_straight(before[nth]):
            turns, there = _turns(after[nth]), _turns(before[nth])
            if turns > there:
                yield Unfair(
                    f"'{name}': its curve turns to and fro", f"{turns} times, as drawn {there}"
                )


def _angle(coming: FloatArray, going: FloatArray) -> float:
    cross = coming[0] * going[1] - coming[1] * going[0]
    return abs(float(np.degrees(np.arctan2(cross, coming @ going))))


def _turns(points: FloatArray) -> int:
    """Return how often a line changes the side that it turns to."""
    along = distances(points)
    at = np.linspace(0.0, along[-1], _PARTS + 1)
    even = np.column_stack([np.interp(at, along, axis) for axis in points.T])
    steps = np.diff(even, axis=0)
    cross = steps[:-1, 0] * steps[1:, 1] - steps[:-1, 1] * steps[1:, 0]
    turned = np.degrees(np.arctan2(cross, (steps[:-1] * steps[1:]).sum(axis=1)))
    changes, side, summed = 0, 0.0, 0.0
    for turn in turned.tolist():
        summed = summed + turn if summed * turn >= 0.0 else turn
        if abs(summed) > _TURN and np.sign(summed) != side:
            changes += side != 0.0
            side = float(np.sign(summed))
    return changes
