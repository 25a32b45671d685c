"""Loss of fairness by growth: bends in smooth lines, curves that change direction."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from plotout.errors import counted
from plotout.geometry.polyline import distances
from plotout.geometry.strokes import FloatArray
from plotout.pattern.findings import Unfair
from plotout.pattern.regrow import is_straight, tangents_of

_SMOOTH = 1.0  # degrees: lines that meet at less run smoothly into each other
_TURN = 2.0  # degrees: smaller turns of a curve are ignored
_PARTS = 60  # parts of a curve, whose turns are summed


def unfair(
    names: Sequence[str], before: Sequence[FloatArray], after: Sequence[FloatArray]
) -> Iterator[Unfair]:
    """Yield what growth makes less fair, going round a closed outline.

    names: of each stretch's edge, between grade points. before, after: (n, 2) each, mm.
    """
    was, now = (list(map(tangents_of, lines)) for lines in (before, after))
    for index, name in enumerate(names):
        then = (index + 1) % len(names)
        bend = _angle(now[index][1], now[then][0])
        if _angle(was[index][1], was[then][0]) < _SMOOTH and bend > _SMOOTH:
            same = names[then] == name
            where = f"'{name}' at a grade point" if same else f"'{name}' and '{names[then]}'"
            yield Unfair(f"{where}: a smooth line is bent", f"by {bend:.1f} degrees")
        if not is_straight(before[index]):
            turns, there = _turns(after[index]), _turns(before[index])
            if turns > there:
                yield Unfair(
                    f"'{name}': its curve changes direction",
                    f"{counted(turns, 'time')}, as drawn {there}",
                )


def _angle(coming: FloatArray, going: FloatArray) -> float:
    cross = coming[0] * going[1] - coming[1] * going[0]
    return abs(float(np.degrees(np.arctan2(cross, coming @ going))))


def _turns(points: FloatArray) -> int:
    """Return how often a line changes the side to which it turns."""
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
