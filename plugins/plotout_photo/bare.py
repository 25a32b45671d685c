"""Tells of runs without a prick: long ones, and short ones that may end at a match point.

Stabs that mark a match point on a curve, close to a corner, are taken for a corner, too. The
outline goes on smoothly there, and so it does where a curve begins squared: only the user can tell.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from plotout import FloatArray
from plotout_photo.groups import Group
from plotout_photo.runs import Run
from plotout_photo.table import Ordered

LONG = 3.0  # usual steps: an edge of as many without a prick is told
SMOOTH = 15.0  # degrees that an outline may turn more at such stabs than the turn beside them
BESIDE = 1.5  # times that
STABS = 2  # from which it is a match point


def told(final: Ordered) -> list[str]:
    """Return what to say of runs without any prick."""
    lines, groups = [], final.way.groups
    steps = [np.hypot(*np.diff(_places(groups, run), axis=0).T) for run in final.way.runs]
    usual = float(np.median(np.concatenate(steps))) if steps else 0.0
    names = iter(zip(final.names, steps, strict=True))
    for runs in final.way.pieces:
        for k, run in enumerate(runs):
            name, own = next(names)
            if len(run.groups) != 2:
                continue
            if own[0] > LONG * usual:
                lines.append(
                    f"{name}: no prick is seen on its {own[0]:.0f} mm, so it is taken as straight "
                    "from corner to corner. If it isn't a fold or a straight, look there."
                )
            elif (match := _like_match(groups, runs, k)) is not None:
                drop = " ".join(f"--drop {final.numbers[m]}" for m in match.members)
                lines.append(
                    f"{name} has no prick on its {own[0]:.0f} mm, and the outline goes on smoothly "
                    f"at {match.at[0]:.0f}, {match.at[1]:.0f} mm. If the stabs there are a match "
                    f"point, and no corner, leave them out: {drop}"
                )
    return lines


def _like_match(groups: Sequence[Group], runs: Sequence[Run], k: int) -> Group | None:
    """Return the corner at an end of run k, which has no prick, at which the outline goes on."""
    here = runs[k].groups
    before = _places(groups, runs[k - 1])
    after = _places(groups, runs[(k + 1) % len(runs)])[::-1]
    smooth = []
    for corner, other, beside in ((here[0], here[1], before), (here[1], here[0], after)):
        path = np.vstack([beside[-3:], groups[other].at])
        turn, *turns = _turns(path)[::-1]
        if len(groups[corner].members) >= STABS and turn < SMOOTH + BESIDE * max(turns, default=0):
            smooth.append((turn, corner))
    return groups[min(smooth)[1]] if smooth else None


def _places(groups: Sequence[Group], run: Run) -> FloatArray:
    return np.array([groups[index].at for index in run.groups])


def _turns(path: FloatArray) -> list[float]:
    """Return by how many degrees a path, (n, 2), turns at its inner places."""
    x, y = np.diff(path, axis=0).T
    turns = np.diff(np.arctan2(y, x))
    return [float(turn) for turn in np.degrees(np.abs((turns + np.pi) % (2.0 * np.pi) - np.pi))]
