"""A tangential knife: a turning axis keeps it along the line; it is lifted to turn sharply."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from plotout.geometry.strokes import FloatArray, Stroke
from plotout.machine import Tool
from plotout.model import Run

BLEND = 5.0  # degrees: smaller turns are made while moving, larger ones standing still


@dataclass(slots=True)
class Knife:
    """A knife as it goes from stroke to stroke. heading: degrees, not wrapped round."""

    heading: float = 0.0

    def cut(
        self,
        tool: Tool,
        line: FloatArray,
        stroke: Stroke,
        force: float | None,
        depth: float | None,
    ) -> Iterator[Run]:
        """Give runs along `line`, (n, 2), mm, none with a corner sharper than `swivel_above`.

        The knife is up between them, and turns there the short way. Where it turns in the stock,
        a point is repeated with its new angle. A small turn is made over both stretches beside it.
        """
        steps = np.diff(line, axis=0)
        headings = np.degrees(np.unwrap(np.arctan2(steps[:, 1], steps[:, 0])))
        headings += 360.0 * np.round((self.heading - headings[0]) / 360.0)
        self.heading = float(headings[-1])
        corners = np.flatnonzero(np.abs(np.diff(headings)) > tool.swivel_above) + 1
        bounds = [0, *corners.tolist(), len(headings)]
        for begin, end in pairwise(bounds):
            points, angles = _turning(line[begin : end + 1], headings[begin:end])
            yield Run(points, tool, stroke, tool.speed, force, tool.power, depth, angles=angles)


def _turning(line: FloatArray, headings: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the points with their angles: of the stretch's heading, or blended at small turns."""
    before, after = headings[:-1], headings[1:]
    small = np.abs(after - before) <= BLEND
    middle = (before + after) / 2.0
    arrive = np.concatenate([headings[:1], np.where(small, middle, before), headings[-1:]])
    leave = np.concatenate([headings[:1], np.where(small, middle, after), headings[-1:]])
    points = np.repeat(line, 2, axis=0)
    angles = np.column_stack([arrive, leave]).ravel()
    kept = np.ones(len(points), dtype=bool)
    kept[1::2] = arrive != leave
    return points[kept], angles[kept]
