"""Turned-back hems along curves: how much their edges must be eased or stretched to lie flat."""

from __future__ import annotations

import math

import numpy as np

from plotout.geometry.polyline import distances
from plotout.geometry.strokes import FloatArray
from plotout.pattern.model import Piece
from plotout.pattern.settings import Corner


def hem_notes(piece: Piece, tolerance: float) -> tuple[str, ...]:
    """Return a note for every turned-back hem that misses lying flat by more than `tolerance`.

    Not where its pricks don't show that it turns so much.
    """
    notes = []
    for edge in piece.edges:
        if edge.corner is not Corner.TURNED or max(edge.allowance) <= 0.0:
            continue
        off = over(edge.points, edge.allowance)
        turn_to = math.radians(math.hypot(*edge.headings_to))
        if abs(off) - 2.0 * max(edge.allowance) * turn_to > tolerance:
            what, do = ("longer", "ease it in") if off > 0.0 else ("shorter", "stretch or clip it")
            notes.append(
                f"'{edge.name}' is turned back along a curve: the hem's edge is {abs(off):.1f} mm "
                f"{what} than the piece beneath it; {do}, or make the hem narrower or a facing"
            )
    return tuple(notes)


def over(fold: FloatArray, wide: tuple[float, float]) -> float:
    """Return how much longer the hem's edge is than the line beneath it, mm.

    fold: (n, 2), counter-clockwise round the piece. wide: the hem's depth at its start and end.
    Of parallels at a depth on either side of a curve, one is longer by the depth times the turn,
    the other shorter by as much (Steiner); summed over the stretch where that is greatest.
    """
    steps = np.diff(fold, axis=0)
    steps = steps[np.hypot(*steps.T) > 1e-9]
    angles = np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))
    reached = distances(np.vstack([[[0.0, 0.0]], np.cumsum(steps, axis=0)]))
    depth = np.interp(reached[1:-1], [0.0, reached[-1]], wide)
    summed = np.concatenate([[0.0], np.cumsum(2.0 * depth * np.diff(angles))])
    rise, fall = summed - np.minimum.accumulate(summed), summed - np.maximum.accumulate(summed)
    return float(rise.max() if rise.max() >= -fall.min() else fall.min())
