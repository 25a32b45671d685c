"""The sides of an outline, what lies outside them, and how they are joined at a corner."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from plotout.geometry.corners import Ends, Joined, blunt, mitre, squared
from plotout.geometry.end_heading import end_heading, onward
from plotout.geometry.stretch import stretch
from plotout.geometry.strokes import FloatArray
from plotout.geometry.turned_back import turned_back


@dataclass(frozen=True, slots=True, eq=False)
class Bordered:
    """One side of an outline and what lies outside it.

    points: (n, 2), mm. allowance: mm at the first and at the last point, linear along the side.
    corner: of its first point: "mitre", "square", "blunt" or "turned back".
    folds: at a turned-back or square corner: True if it is this side's, False if that of the one
    before it.
    on_fold: of a half piece's fold, past which no allowance goes.
    """

    points: FloatArray
    allowance: tuple[float, float]
    corner: str = "mitre"
    folds: bool = True
    on_fold: bool = False


def corner_at(sides: Sequence[Bordered], lines: Sequence[FloatArray], index: int) -> Ends:
    """Return the corner at the start of side `index`, where `lines` meet."""
    before, side = sides[index - 1], sides[index]
    return Ends(
        lines[index - 1],
        lines[index],
        side.points[0],
        before.allowance[1],
        side.allowance[0],
        end_heading(before.points, last=True).direction,
        end_heading(side.points, last=False).direction,
        onward(before.points, before.allowance, last=True),
        -onward(side.points, side.allowance, last=False),
        stretches=(
            stretch(before.points[::-1], _fold(sides[index - 2])),
            stretch(side.points, _fold(sides[(index + 1) % len(sides)])),
        ),
    )


def _fold(side: Bordered) -> FloatArray | None:
    return side.points if side.on_fold else None


def joined(ends: Ends, side: Bordered, limit: float) -> Joined:
    """Join the parallels at the corner where `side` begins."""
    match side.corner:
        case "square" if ends.turn > 0.0:
            return squared(ends, limit, after=side.folds)
        case "turned back":
            return turned_back(ends, limit, after=side.folds)
        case "blunt":
            return blunt(ends)
        case _:
            return mitre(ends, limit)
