"""Where a card may be divided by a level or an upright line, and what speaks against a place."""

from __future__ import annotations

import numpy as np

from plotout.errors import Place, UserError
from plotout.finish.bare_card import BareCard
from plotout.geometry.polyline import without_repeats
from plotout.geometry.strokes import FloatArray

_STEP = 2.0  # mm between the places that are tried
_MARGIN = 8.0  # mm between a cut and a notch, small drill hole or corner
CLEAR = 1.0  # mm between a mark and a join, at least
_TIGHT = 25.0  # degrees that the outline may turn where a cut crosses it


class NoPlaceError(UserError):
    """No line there divides the card into exactly two."""


def best_place(
    bare: BareCard, axis: int, least: float, greatest: float, even: float, lap: float
) -> tuple[float, tuple[str, ...]]:
    """Return the best place for a cut between two bounds, and its drawbacks, in words.

    axis: 0 for an upright cut at x, 1 for a level one at y, mm, as the bounds are; even: the place
    that divides evenly; lap: mm by which the part above, or right of it, laps. Raises NoPlaceError.
    """
    places = np.arange(least, greatest, _STEP) if greatest > least else np.array([least])
    places = np.concatenate([places, [greatest]])
    inside = np.array([_crossings(bare.outline, axis, at) == 2 for at in places])
    inside &= np.array([_crossings(bare.outline, axis, at - lap) == 2 for at in places])
    if not inside.any():
        raise NoPlaceError(
            "it is too large for the stock, and no straight line divides it into exactly two there",
            fix="Give a split line in the set file, or use larger stock.",
            place=Place(piece=bare.piece),
        )
    places = places[inside]
    marks = [(notch.at[axis], _MARGIN) for notch in bare.notches]
    marks += [
        (s.points[0, axis], max(_MARGIN, s.size / 2.0 + CLEAR))
        for s in bare.strokes
        if len(s.points) == 1
    ]
    faults = np.zeros(len(places))
    near = np.zeros(len(places))
    for mark, margin in marks:
        near += (mark > places - lap - margin) & (mark < places + margin)
        for cut in (places, places - lap):
            faults += np.abs(mark - cut) < margin
    turning = np.array([_turning(bare.outline, axis, at - lap, at) for at in places])
    cost = 1e6 * faults + 1e3 * near + 1e3 * (turning > _TIGHT) + turning
    cost += np.abs(places - even) * 0.02
    best = int(np.argmin(cost))
    warnings: tuple[str, ...] = ()
    if faults[best]:
        warnings = ("its join runs close to a notch or drill hole: there was no other place",)
    elif turning[best] > _TIGHT:
        warnings = ("its join crosses a tight curve or corner: there was no other place",)
    return float(places[best]), warnings


def _crossings(outline: FloatArray, axis: int, at: float) -> int:
    above = outline[:, axis] > at
    return int((above[1:] != above[:-1]).sum())


def _turning(outline: FloatArray, axis: int, low: float, high: float) -> float:
    """Return the degrees by which the outline turns at vertices near a strip across it."""
    ring = without_repeats(outline)
    steps = np.diff(np.vstack([ring, ring[1:2]]), axis=0)
    turn = np.arctan2(
        steps[:-1, 0] * steps[1:, 1] - steps[:-1, 1] * steps[1:, 0],
        np.einsum("ij,ij->i", steps[:-1], steps[1:]),
    )
    at = ring[1:, axis]
    near = (at > low - _MARGIN) & (at < high + _MARGIN)
    return float(np.degrees(np.abs(turn[near]).sum()))
