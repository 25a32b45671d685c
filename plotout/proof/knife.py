"""Compares how a file turns a tangential knife with the program."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from plotout.geometry.strokes import FloatArray
from plotout.machine import Machine
from plotout.machine.axes import machine_matrix
from plotout.model import Run, Traced
from plotout.proof.compare import parting

ANGLE = 0.3  # degrees by which a knife may be off: `arcs.EVEN` and what rounding adds


def wrongly_turned(
    meant: Sequence[Run], found: Sequence[Traced], tolerance: float
) -> FloatArray | None:
    """Return where and how the file turns the knife wrongly: x, y, degrees; None if it doesn't.

    tolerance: mm. Both follow the same line; the heading is compared as a third coordinate, so that
    a turn on the spot must be made there. Headings may differ by a constant number of whole turns.
    A file without headings gives nan degrees.
    """
    one, other = _headed(meant), _headed(found)
    if one is None:
        return None
    if other is None:
        return np.array([*found[0].points[0], np.nan])
    scale = np.array([1.0, 1.0, tolerance / ANGLE])
    other[:, 2] += 360.0 * np.round((one[0, 2] - other[0, 2]) / 360.0)
    place = parting(one * scale, other * scale, tolerance)
    return None if place is None else np.asarray(place / scale)


def overwound(found: Sequence[Traced], machine: Machine, limit: float) -> float | None:
    """Return the first angle of the axis beyond `limit` in either direction, degrees, or None.

    Headings were read back as they are on the sheet, and are converted to the axis's own.
    """
    back = machine_matrix(machine, 0.0, 0.0)[:, :2].T
    turn = np.degrees(np.arctan2(back[1, 0] + 0.0, back[0, 0]))
    sense = np.sign(np.linalg.det(back))
    for part in found:
        if part.angles is not None:
            there = sense * (part.angles - turn)
            beyond = there[np.abs(there) > limit + ANGLE]
            if len(beyond):
                return float(beyond[0])
    return None


def _headed(parts: Sequence[Run] | Sequence[Traced]) -> FloatArray | None:
    """Return x, y and degrees of all vertices, (n, 3), or None if any has no heading."""
    rows = [
        np.column_stack([part.points, part.angles]) for part in parts if part.angles is not None
    ]
    return np.vstack(rows) if len(rows) == len(parts) else None
