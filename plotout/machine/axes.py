"""Where a sheet's coordinates lie on a machine."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from plotout.errors import UserError
from plotout.geometry.strokes import FloatArray

if TYPE_CHECKING:
    from plotout.machine.model import Machine

AXES = ("xy", "x-y", "-xy", "-x-y", "yx", "y-x", "-yx", "-y-x")
ORIGINS = {
    "lower left": (0.0, 0.0),
    "lower right": (1.0, 0.0),
    "upper left": (0.0, 1.0),
    "upper right": (1.0, 1.0),
    "centre": (0.5, 0.5),
}
_ARROWS = {"x": (1.0, 0.0), "-x": (-1.0, 0.0), "y": (0.0, 1.0), "-y": (0.0, -1.0)}


def machine_matrix(machine: Machine, width: float, height: float) -> FloatArray:
    """Return the (2, 3) affine map from a sheet's mm to the machine's mm.

    `machine.origin` is the corner (or centre) of the sheet, `width` by `height` mm, at the
    machine's zero; `machine.axes` says along which of the sheet's directions the machine's X and Y
    run: "xy", "yx", "-xy", "y-x" ... Raises UserError for anything else.
    """
    found = re.fullmatch(r"(-?[xy])(-?[xy])", machine.axes)
    if not found or found[1][-1] == found[2][-1]:
        raise UserError(
            f"machine '{machine.name}': axes {machine.axes!r} are not two directions",
            fix='Write one x and one y, with "-" before a reversed axis: "xy", "y-x".',
        )
    across, up = ORIGINS[machine.origin]
    turn = np.array([_ARROWS[found[1]], _ARROWS[found[2]]])
    shift = -turn @ np.array([across * width, up * height])
    return np.column_stack([turn, shift])


def axis_turn(machine: Machine) -> tuple[float, float]:
    """Return how a heading on the sheet becomes one on the machine: degrees to add, and 1 or -1.

    The heading is first multiplied by the second: -1 where the axes are mirrored.
    """
    across, up = machine_matrix(machine, 0.0, 0.0)[:, :2].T
    sense = float(np.sign(across[0] * up[1] - across[1] * up[0]))
    return float(np.degrees(np.arctan2(across[1], across[0]))), sense
