"""A tangential knife: an axis turns it along the line; it is lifted for sharp turns."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from plotout.geometry.strokes import FloatArray, Stroke
from plotout.machine import Tool
from plotout.model import Run

BLEND = 5.0  # degrees: smaller turns are made while moving, larger ones on the spot


@dataclass(slots=True)
class Knife:
    """A knife between strokes.

    limit: degrees by which its axis may turn either way from its 0. heading: its direction on the
    sheet, degrees, not wrapped. axis: converts that to the machine's axis (`axis_turn`).
    """

    limit: float = 360.0
    axis: tuple[float, float] = (0.0, 1.0)
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

        The knife is up between them. There it turns the short way, or back by whole turns if the
        run would take it past its limit; a run that is still too much is divided. Where it turns in
        the stock, a point is repeated with its new angle. A small turn is made over both adjacent
        stretches.
        """
        steps = np.diff(line, axis=0)
        headings = np.degrees(np.unwrap(np.arctan2(steps[:, 1], steps[:, 0])))
        corners = np.flatnonzero(np.abs(np.diff(headings)) > tool.swivel_above) + 1
        for first, last in pairwise([0, *corners.tolist(), len(headings)]):
            begin = first
            while begin < last:
                end, whole = self._reaches(headings[begin:last])
                self.heading = float(headings[begin + end - 1] + whole)
                points, angles = _turning(
                    line[begin : begin + end + 1], headings[begin : begin + end] + whole
                )
                yield Run(points, tool, stroke, tool.speed, force, tool.power, depth, angles=angles)
                begin += end

    def _reaches(self, headings: FloatArray) -> tuple[int, float]:
        """Return how many of the headings it can follow without lifting, and the turns added.

        As many as possible; of several choices, the one with the least turning beforehand.
        """
        near = round((self.heading - headings[0]) / 360.0)
        most = int(self.limit // 360.0) + 1
        best = (0, 0.0)
        for turns in sorted(
            range(near - 2 * most, near + 2 * most + 1), key=lambda n: abs(n - near)
        ):
            there = self.axis[0] + self.axis[1] * (headings + 360.0 * turns)
            within = np.abs(there) <= self.limit
            count = len(within) if within.all() else int(np.argmin(within))
            if count > best[0]:
                best = (count, 360.0 * turns)
        return best


def _turning(line: FloatArray, headings: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the points with their angles: the stretch's heading, or blended at small turns."""
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
