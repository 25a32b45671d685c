"""Cards of our own making, for laying."""

from __future__ import annotations

import numpy as np

from plotout import Card, Mark, Stroke, Work


def card(points: object, number: int = 1, cut_out: object = None) -> Card:
    """Return a card with this outline (corners, counter-clockwise) and perhaps a cut-out."""
    corners = np.asarray(points, dtype=float)
    ring = np.vstack([corners, corners[:1]])
    strokes = [Stroke(ring, Work.CUT, Mark.OUTLINE)]
    if cut_out is not None:
        hole = np.asarray(cut_out, dtype=float)
        strokes.append(Stroke(np.vstack([hole, hole[:1]]), Work.CUT, Mark.CUTOUT))
    name = f"Piece {number}"
    return Card(f"piece-{number}", name, name, number, 1, ring, tuple(strokes))


def box(width: float, height: float, number: int = 1, at: tuple[float, float] = (0, 0)) -> Card:
    """Return an oblong card."""
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]])
    return card(corners + np.array(at), number)


def wavy(seed: int, count: int, largest: float = 260.0) -> list[Card]:
    """Return cards with bays and points, some slender, none of them convex."""
    rng = np.random.default_rng(seed)
    made = []
    for number in range(1, count + 1):
        angle = np.linspace(0, 2 * np.pi, 60, endpoint=False)
        waves = 1.0 + 0.25 * np.sin(rng.integers(2, 6) * angle + rng.uniform(0, 6))
        sides = rng.uniform(0.2, 1.0, 2) * largest / 2.5
        ring = np.column_stack([np.cos(angle), np.sin(angle)]) * sides * waves[:, None]
        made.append(card(ring + rng.uniform(-500, 500, 2), number))
    return made


def slanting(seed: int, count: int) -> list[Card]:
    """Return so many parts of a rectangle of 300 x 200 mm between slanting lines."""
    random = np.random.default_rng(seed)
    along = np.linspace(0.0, 300.0, count + 1)
    low, high = (along + np.pad(random.uniform(-9, 9, count - 1), 1) for _ in range(2))
    parts = [
        np.array([(low[k], 0.0), (low[k + 1], 0.0), (high[k + 1], 200.0), (high[k], 200.0)])
        for k in range(count)
    ]
    return [card(ring, 200 + number) for number, ring in enumerate(parts)]
