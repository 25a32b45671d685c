"""A picture of the strokes in doubt, for somebody who looks at the sheet after a break."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import numpy as np

from plotout.conversation import Point
from plotout.files import write_whole
from plotout.language import Stop
from plotout.proof.rendering import to_png
from plotout.proof.scene import SceneLine, framed, scene, words
from plotout.sending.cutfile import CutFile
from plotout.sending.find import Doubt

AROUND = 2000  # strokes drawn before and after those in doubt, so that large files take no longer
NUMBER = 1.6  # height of a number, in units of the scene
TURN = math.radians(6.0)  # of an arc from point to point
CERTAIN, DOUBTFUL = "stock", "words"  # kinds of line that the picture's key need not explain


def write_picture(file: CutFile, doubt: Doubt, path: Path) -> None:
    """Write a PNG: the strokes in doubt dark and numbered, the others pale; machine mm, y up.

    Raises MachineError if it can't be written.
    """
    unsure = range(max(0, doubt.least), min(doubt.most, file.strokes))
    near = range(max(0, unsure.start - AROUND), min(file.strokes, unsure.stop + AROUND))
    lines = [
        (unit, SceneLine(np.array(line), DOUBTFUL if unit in unsure else CERTAIN, size=1.0))
        for unit, line in worked(file, near)
    ]
    picture = scene("", [line for _, line in lines])
    numbers: list[SceneLine] = []
    for unit in unsure:
        line = next((line for index, line in lines if index == unit), None)
        if line is not None:
            (x, y), height = line.points[0], NUMBER * picture.unit
            numbers += words(str(unit + 1), x, y - 1.4 * height, height)
    many = f"strokes {unsure.start + 1} to {unsure.stop}"
    named = many if len(unsure) > 1 else f"stroke {unsure.start + 1}"
    title = f"{file.path.name}: {named} in doubt"
    note = "Dark: in doubt, with its number where it begins. Pale: the others. Axes: the machine's."
    whole = scene(title, [line for _, line in lines] + numbers, (note,))
    write_whole(path, to_png(framed(whole)))


def worked(file: CutFile, units: range) -> Iterator[tuple[int, list[Point]]]:
    """Yield every line worked by these units, mm, with its unit; a dot is a single point."""
    before = Stop((0.0, 0.0), False)
    for unit, stops in file.stops(max(0, units.start - 1), min(units.stop, file.units)):
        line: list[Point] = []
        for start, stop in pairwise([before, *stops]):
            if stop.working and unit in units:
                line += _way(start, stop) if line else [start.at, *_way(start, stop)]
            elif line:
                yield unit, _mm(line, file.unit_mm)
                line = []
        if line:
            yield unit, _mm(line, file.unit_mm)
        before = stops[-1] if stops else before


def _way(start: Stop, stop: Stop) -> list[Point]:
    """Return the points from a stop to the next one; several along an arc."""
    if stop.centre is None:
        return [stop.at]
    x, y = stop.centre
    radius = math.dist(start.at, stop.centre)
    first = math.atan2(start.at[1] - y, start.at[0] - x)
    turn = (math.atan2(stop.at[1] - y, stop.at[0] - x) - first) % math.tau or math.tau
    turn = turn - math.tau if stop.clockwise and turn != math.tau else turn
    count = math.ceil(abs(turn) / TURN) if math.isfinite(turn) else 1
    angles = [first + turn * index / count for index in range(1, count)]
    return [*((x + radius * math.cos(a), y + radius * math.sin(a)) for a in angles), stop.at]


def _mm(line: list[Point], unit_mm: float) -> list[Point]:
    """Return a line in mm, without points that repeat."""
    kept = [line[0], *(after for before, after in pairwise(line) if after != before)]
    return [(x * unit_mm, y * unit_mm) for x, y in kept]
