"""A tangential knife: an axis turns it along the line; it is lifted for sharp turns."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from plotout.geometry.strokes import FloatArray, Stroke
from plotout.machine import Tool
from plotout.model import Run

BLEND = 5.0  # degrees: smaller turns of a curve are made while moving, all others on the spot
BOW = 0.1  # mm: a stretch that would bow by more if it were a chord of a curve is straight,
LONGER = 4.0  # and one that is so many times as long as the next


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
        run would take it past its limit; a run that is still too much is divided. Along a curve it
        follows the tangent. Where it turns in the stock, a point is repeated with its new angle.
        """
        steps = np.diff(line, axis=0)
        headings = np.degrees(np.unwrap(np.arctan2(steps[:, 1], steps[:, 0])))
        corners = np.flatnonzero(np.abs(np.diff(headings)) > tool.swivel_above) + 1
        for first, last in pairwise([0, *corners.tolist(), len(headings)]):
            begin = first
            while begin < last:
                end, whole = self._reaches(headings[begin:last])
                self.heading = float(headings[begin + end - 1] + whole)
                points, angles = self._turning(
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

    def _turning(self, line: FloatArray, headings: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the points with their angles: tangents of curves, headings of straights."""
        arrive, leave = self._within_limit(_tangents(line, headings))
        points = np.repeat(line, 2, axis=0)
        angles = np.column_stack([arrive, leave]).ravel()
        kept = np.ones(len(points), dtype=bool)
        kept[1::2] = arrive != leave
        return points[kept], angles[kept]

    def _within_limit(self, headings: FloatArray) -> FloatArray:
        turned, sense = self.axis
        there = np.clip(turned + sense * headings, -self.limit, self.limit)
        return np.asarray((there - turned) * sense)


def _tangents(line: FloatArray, headings: FloatArray) -> FloatArray:
    """Return the knife's angles when it arrives at every vertex and when it leaves, (2, n).

    line: (n, 2), mm. headings: of its stretches, degrees. Two chords of a curve share the tangent
    between them, as on the circle through their three vertices; beside a straight, a curve begins
    with the straight's heading.
    """
    lengths = np.hypot(*np.diff(line, axis=0).T)
    turns = np.diff(headings)
    bow = np.radians(np.abs(turns)) / 8.0  # of a chord, by its length
    before, after = lengths[:-1], lengths[1:]
    straight = np.vstack([before, after]) * bow > BOW
    longer = np.vstack([before > LONGER * after, after > LONGER * before])
    longer[0, -1:] = longer[1, :1] = False  # than the rest of a chord at the line's end
    straight |= longer
    part = turns * before / (before + after)
    curved = np.abs(turns) <= BLEND
    arrive, leave = headings[:-1].copy(), headings[1:].copy()
    both = curved & ~straight.any(axis=0)
    arrive[both] = leave[both] = (headings[:-1] + part)[both]
    begins, ends = curved & straight[0] & ~straight[1], curved & ~straight[0] & straight[1]
    leave[begins], arrive[ends] = arrive[begins], leave[ends]
    first, last = headings[:1], headings[-1:]
    if both.size:
        first = first - part[:1] * both[:1]
        last = last + (turns - part)[-1:] * both[-1:]
    return np.vstack([np.concatenate([first, arrive, last]), np.concatenate([first, leave, last])])
