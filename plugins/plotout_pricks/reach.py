"""How far runs were lengthened or cut back to their corners. Too far: they don't meet at all."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import shapely

from plotout import FloatArray, Place, UserError
from plotout.kit import collecting_errors
from plotout_pricks.continued import REACH, STRAIGHT_REACH
from plotout_pricks.table import Pricks
from plotout_pricks.variants import Fitted

MUCH_NEARER = 0.2  # of the ways to the runs before and after, if a run is turned round
BEYOND = 10.0  # mm that pricks may lie past a corner; more is noted


def check_directions(runs: Sequence[Pricks], path: Path) -> None:
    """Raise UserError for a curve whose ends lie by its neighbours only if it is turned round."""
    for index, run in enumerate(runs):
        before, after = runs[index - 1], runs[(index + 1) % len(runs)]
        if run.kind != "curve" or before is after:
            continue
        ways = [
            [
                min(np.hypot(*(own - tip)) for tip in other.points[[0, -1]])
                for own in run.points[ends]
            ]
            for other, ends in ((before, [0, -1]), (after, [-1, 0]))
        ]
        as_listed, turned = np.sum(ways, axis=0)
        if turned < MUCH_NEARER * as_listed:
            raise UserError(
                f"'{run.name}' is listed the other way round: it ends by '{before.name}', the run "
                f"before it, and begins by '{after.name}', the run after it",
                fix="Turn its rows round, or put the runs in order round the piece.",
                place=Place(path, run.line),
            )


def check_reach(
    fits: Sequence[Fitted], lines: Sequence[FloatArray], path: Path, notes: list[str]
) -> None:
    """Note every run that was changed by much to meet its neighbour.

    lines: the runs' points from corner to corner. Raises UserError where one would be lengthened by
    more than it is pricked over, or cut back by half of that, and by more than `STRAIGHT_REACH`:
    two outlines in one table, or runs out of their order.
    """
    with collecting_errors() as trying:
        for index, (fit, line) in enumerate(zip(fits, lines, strict=True)):
            points = _from_its_start(fit.run.points, line)
            for ahead, corner, other in (
                (points, line[0], fits[index - 1]),
                (points[::-1], line[-1], fits[(index + 1) % len(fits)]),
            ):
                with trying():
                    notes += _reached(fit, ahead, corner, other, path)


def _from_its_start(points: FloatArray, line: FloatArray) -> FloatArray:
    """Return pricks in the direction of their run, from one corner to the other.

    A straight run that begins at the table's end and goes on at its head is listed the wrong way
    round: its line has the same direction all the same.
    """
    onwards = float((points[-1] - points[0]) @ (line[-1] - line[0])) >= 0.0
    return points if onwards or len(line) > 2 else points[::-1]


def _reached(
    fit: Fitted, points: FloatArray, corner: FloatArray, other: Fitted, path: Path
) -> list[str]:
    """Return a note on one end. points: from that end on."""
    name, gap, pricked = fit.run.name, corner - points[0], shapely.LineString(points).length
    away, past = float(np.hypot(*gap)), bool(gap @ (points[1] - points[0]) > 0.0)
    if away <= (BEYOND if past else REACH):
        return []
    if away > max(pricked / 2.0 if past else pricked, STRAIGHT_REACH):
        what = f"cut back by {away:.0f} mm" if past else f"lengthened by {away:.0f} mm"
        raise UserError(
            f"'{name}' is pricked over {pricked:.0f} mm, and would have to be {what} "
            f"to meet '{other.run.name}'",
            fix="Prick it up to its corner, or put the runs in order round the piece. If the table "
            "holds several pieces, name those of each: runs = [...].",
            place=Place(path, fit.run.line, at=(float(points[0, 0]), float(points[0, 1]))),
        )
    if past:
        return [f"'{name}' is pricked {away:.0f} mm past its corner with '{other.run.name}': "
                "what lies past it is left out"]  # fmt: skip
    return [f"'{name}' is lengthened by {away:.0f} mm to meet '{other.run.name}'"]
