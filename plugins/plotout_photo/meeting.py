"""Sees corners where two drawn lines meet or cross: pressed lines can hide the stabs there.

The path through the pricks says where to look and in which directions the lines must go; only what
a picture shows there is taken.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import islice
from typing import Any

import numpy as np
from numpy.typing import NDArray

from plotout import FloatArray
from plotout_photo.arms import arms_at, direction_at, meeting_of
from plotout_photo.groups import Group
from plotout_photo.heights import Heights
from plotout_photo.missing import LOOK, Turn, turns_to_look_at
from plotout_photo.shot import Shot
from plotout_photo.solve import Solution

INNER = (1.6, 3.0, 4.5)  # mm around a corner in which stabs, or lines so close, hide the lines
NEAR = 3.0  # mm from where the path turns within which the lines meet
AS_PATH = 15.0  # degrees by which a line goes another way than the path beside it
AROUND = 18.0  # mm to each side that are looked at
STEP = 1.0  # mm along a line by which its direction on the table is seen


def meetings(
    shots: Sequence[Shot],
    solution: Solution,
    frame: Callable[[FloatArray], FloatArray],
    unframe: Callable[[FloatArray], FloatArray],
    rings: Sequence[Sequence[Group]],
) -> FloatArray:
    """Return where the pictures show two drawn lines to meet as closed paths turn, (n, 2) mm.

    frame, unframe: take places from the solution's table to the paths', and back.
    """
    heights, found = Heights.of(solution), list[FloatArray]()
    for ring in rings:
        places = np.array([group.at for group in ring]).reshape(-1, 2)
        corner = np.array([group.corner for group in ring], dtype=bool)
        for turn in turns_to_look_at(places, corner):
            table = unframe(turn.at[None])
            place = np.column_stack([table, heights(table) if heights else np.zeros(1)])
            met = (_met_in(shot, index, solution, place, turn, frame)
                   for index, shot in enumerate(shots))  # fmt: skip
            found += islice((at for at in met if at is not None), 1)  # the first that shows it
    return np.array(found).reshape(-1, 2)


def _met_in(
    shot: Shot, index: int, solution: Solution, place: FloatArray, turn: Turn,
    frame: Callable[[FloatArray], FloatArray],
) -> FloatArray | None:  # fmt: skip
    """Return where a picture shows two lines to meet near a place on the table, (1, 3), or None."""

    def on_paths(pixels: FloatArray) -> FloatArray:
        return frame(solution.table(index, pixels, place[0, 2]))

    at = _meeting_at(shot.sheet.drawn, solution.see(index, place)[0], shot.scale, turn, on_paths)
    return None if at is None else on_paths(at[None])[0]


def _meeting_at(
    drawn: Any, pixel: FloatArray, scale: float, turn: Turn,
    table: Callable[[FloatArray], FloatArray],
) -> FloatArray | None:  # fmt: skip
    """Return where, (2,) pixels, two lines meet that go as the path does, or None.

    drawn: the darkness of lines, uint8 (h, w); pixel: where the path turns; scale: pixels per mm.
    table: maps pixels (n, 2) to mm.
    """
    low = np.maximum(np.floor(pixel - AROUND * scale).astype(int), 0)
    high = np.ceil(pixel + AROUND * scale).astype(int) + 1
    patch = drawn[low[1] : high[1], low[0] : high[0]].astype(np.float32) / 255.0
    if min(patch.shape) < 2:
        return None
    for inner in INNER:
        at: FloatArray | None = pixel - low
        for _ in range(2):  # again around where they meet
            if at is not None:
                at = _meeting(patch, at, scale, inner, turn, lambda points: table(points + low))
        if at is not None:
            return np.asarray(at + low)
    return None


def _meeting(
    patch: Any, at: FloatArray, scale: float, inner: float, turn: Turn,
    table: Callable[[FloatArray], FloatArray],
) -> FloatArray | None:  # fmt: skip
    arms = arms_at(patch, patch, at, inner * scale, scale)
    if len(arms) < 2:
        return None
    ways = np.array([_direction(arm.origin, arm.along, scale, table) for arm in arms])
    off = np.array([_between(ways, turn.before), _between(ways, turn.after)])
    one, other = (int(k) for k in off.argmin(axis=1))
    if one == other or max(off[0, one], off[1, other]) > AS_PATH:
        return None
    place = meeting_of(arms[one], arms[other])
    if place is None or np.hypot(*(place - at)) > NEAR * scale:
        return None
    at_it = [_direction(place, direction_at(patch, arms[k], place, scale), scale, table)
             for k in (one, other)]  # fmt: skip
    return place if _turn(at_it, turn) > LOOK else None


def _turn(ways: Sequence[FloatArray], turn: Turn) -> float:
    """Return by how many degrees two lines turn where they meet, as a path goes along them.

    The two halves of one curved line, carried on as they are bent, hardly turn there.
    """
    before, after = (way * np.sign(way @ along) for way, along in zip(ways, turn[1:], strict=True))
    return float(np.degrees(np.arccos(np.clip(-before @ after, -1.0, 1.0))))


def _direction(
    at: FloatArray, along: FloatArray, scale: float, table: Callable[[FloatArray], FloatArray]
) -> FloatArray:
    here, there = table(at + np.array([[0.0], [STEP * scale]]) * along)
    return np.asarray((there - here) / np.hypot(*(there - here)))


def _between(ways: FloatArray, way: FloatArray) -> NDArray[np.float64]:
    """Return the angles between lines, (n, 2) unit vectors, and another, degrees."""
    return np.asarray(np.degrees(np.arccos(np.clip(np.abs(ways @ way), 0.0, 1.0))))
