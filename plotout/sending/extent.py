"""The extent and the length of a file's work, before it is sent."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from plotout.errors import MachineError, Place
from plotout.sending.cutfile import CutFile

Box = tuple[float, float, float, float]
TOLERANCE = 0.05  # mm by which work may leave the bed, for rounding
ENTRIES = 2000  # in the table of lengths


@dataclass(frozen=True, slots=True)
class Extent:
    """box: least x, least y, greatest x, greatest y of the work, machine mm.

    units, mm: the work's length up to some units, for interpolation; arcs by their chords.
    """

    box: Box
    units: NDArray[np.float64] = field(repr=False)
    mm: NDArray[np.float64] = field(repr=False)

    def length(self, done: int) -> float:
        """Return the length of the work of the first `done` units, mm."""
        return float(np.interp(done, self.units, self.mm))


def extent(file: CutFile) -> Extent:
    """Measure a file."""
    scale = file.unit_mm
    every = max(1, file.units // ENTRIES)
    low_x = low_y = math.inf
    high_x = high_y = -math.inf
    total, units, lengths = 0.0, [0.0], [0.0]
    last = (0.0, 0.0)
    for unit, stops in file.stops():
        for stop in stops:
            if not stop.working:
                last = stop.at
                continue
            x, y = point = stop.at
            low_x, low_y, high_x, high_y = (
                min(low_x, x), min(low_y, y), max(high_x, x), max(high_y, y),
            )  # fmt: skip
            total += math.dist(last, point)
            last = point
        if unit % every == 0 or unit == file.units - 1:
            units.append(unit + 1.0)
            lengths.append(total * scale)
    box = (low_x * scale, low_y * scale, high_x * scale, high_y * scale)
    return Extent(box, np.array(units), np.array(lengths))


def check_bed(file: CutFile, box: Box, bed: Box, machine: str) -> None:
    """Raise MachineError if the work, `box`, leaves the bed; both in machine mm."""
    excess = max(bed[0] - box[0], bed[1] - box[1], box[2] - bed[2], box[3] - bed[3])
    if excess > TOLERANCE:
        raise MachineError(
            f"the work leaves the bed of '{machine}' by {excess:.1f} mm",
            fix="Make the file again with this machine's profile.",
            place=Place(file.path),
        )
