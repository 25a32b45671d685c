"""Ensures that all motion is within the machine's reach."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from plotout.errors import Place, UserError
from plotout.machine import Machine
from plotout.model import Run, Sheet

SLACK = 0.02  # mm, for a lay's tolerance; margins are known less accurately
_SIDES = ("left", "bottom", "right", "top")


def check_bed(runs: Sequence[Run], sheet: Sheet, machine: Machine) -> None:
    """Raise UserError for motion that leaves the sheet or enters the bed's margins.

    The sheet lies with its lower left corner in the bed's; the tool's pivot, not only its tip, must
    stay within the margins, including strokes in the waste.
    """
    bed = machine.bed
    over = max(sheet.width - bed.length, sheet.height - bed.width)
    if over > machine.step / 2.0:
        raise UserError(
            f"sheet {sheet.number}, {sheet.width:.1f} x {sheet.height:.1f} mm, is {over:.2f} mm "
            f"larger than the bed of '{machine.name}', {bed.length:g} x {bed.width:g} mm",
            fix="Choose stock that fits the bed.",
        )
    if not runs:
        return
    points = np.concatenate([run.points for run in runs])
    begins = np.cumsum([0, *(len(run.points) for run in runs[:-1])])
    low, high = np.minimum.reduceat(points, begins), np.maximum.reduceat(points, begins)
    left, bottom, right, top = bed.margins
    reached = np.array([sheet.width - right, sheet.height - top])
    excess = np.column_stack([np.array([left, bottom]) - low, high - reached])
    index, side = np.unravel_index(int(np.argmax(excess)), excess.shape)
    if excess[index, side] <= SLACK:
        return
    run = runs[int(index)]
    axis = int(side) % 2
    ends = run.points[:, axis]
    place = run.points[int(np.argmin(ends) if side < 2 else np.argmax(ends))]
    margins = ", ".join(f"{math.ceil(side):d}" for side in bed.margins)
    raise UserError(
        f"the {run.stroke.mark} leaves the reach of '{machine.name}' by "
        f"{excess[index, side]:.2f} mm at the {_SIDES[int(side)]}",
        fix="Lay the cards on stock with margins as wide as this machine's, before any machine "
        f"works it: margins = [{margins}] in the stock file.",
        place=Place(piece=run.stroke.card or None, at=(float(place[0]), float(place[1]))),
    )
