"""The extent and the length of a file's work, before it is sent."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from plotout.errors import MachineError, Place
from plotout.language import Stop
from plotout.sending.cutfile import CutFile
from plotout.sending.window import Window

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


def extent(file: CutFile, said: Callable[[str], None] = lambda _text: None) -> Extent:
    """Measure a file. said: told how far a large one is measured."""
    every = max(1, file.units // ENTRIES)
    window = Window(file.data, said, f"Measuring the work of {file.path.name}")
    low, high = np.full(2, math.inf), np.full(2, -math.inf)
    total, units, lengths = 0.0, [0.0], [0.0]
    last, motion = np.zeros(2), file.language.motion_after(file.head(0), b"")
    for first in range(0, file.units, every):
        end = min(first + every, file.units)
        window.passed(int(file.starts[first]))
        some = file.data[int(file.starts[first]) : int(file.starts[end])]
        start = Stop((float(last[0]), float(last[1])), False, motion=motion)
        places, working = file.language.reached(some, start)
        motion = file.language.motion_after(some, motion)
        if working.any():
            way = np.vstack([last, places])
            total += float(np.hypot(*np.diff(way, axis=0)[working].T).sum())
            ends = np.vstack([way[1:][working], way[:-1][working]])
            low, high = np.minimum(low, ends.min(axis=0)), np.maximum(high, ends.max(axis=0))
        last = places[-1] if len(places) else last
        units.append(float(end))
        lengths.append(total * file.unit_mm)
    left, bottom, right, top = (float(side) * file.unit_mm for side in (*low, *high))
    return Extent((left, bottom, right, top), np.array(units), np.array(lengths))


def check_bed(file: CutFile, box: Box, bed: Box, machine: str) -> None:
    """Raise MachineError if the work, `box`, leaves the bed; both in machine mm."""
    excess = max(bed[0] - box[0], bed[1] - box[1], box[2] - bed[2], box[3] - bed[3])
    if excess > TOLERANCE:
        raise MachineError(
            f"the work leaves the bed of '{machine}' by {excess:.1f} mm",
            fix="Make the file again with this machine's profile.",
            place=Place(file.path),
        )
