"""Finds parts of a piece whose sizes or shapes may have a wrong unit or digit: questions.

The figures are common practice in pattern rooms, from memory.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from plotout.finish.darts import darts
from plotout.geometry.polyline import direction_at, length, rotated, unit
from plotout.pattern.model import Derive, Piece
from plotout.pattern.settings import Corner, Defaults

NARROW = 2.0  # mm: a narrower allowance holds no stitch; it may be inches or centimetres
LAPPED = 80.0  # mm: of the cards of a split, a wider underlap only wastes card
DRILLED = 10.0  # mm: a drill hole marks a place; a wider one marks none
NOTCHED = 15.0  # mm: so wide a notch shows no place
ROLLED = 15.0  # mm: a copy is smaller by the roll of a cloth, a few mm
INSET = 25.0  # mm: a fusing ends at the stitching line, or a few mm past it
FOLDED = 15.0  # mm: a fold-over facing that is less deep is a seam allowance
TURNED = 5.0  # mm: a hem that is turned back is no narrower, even a rolled one
STRIP = 25.0  # mm: a part that is less deep is no card by itself, but a slip of its split's line
SPIKE, SIDES = 12.0, 100.0  # degrees of a corner between edges of so many mm: a point is wrong


def part_doubts(piece: Piece, defaults: Defaults) -> Iterator[str]:
    """Yield the sizes of parts, and the corners, that are seldom meant. Each names its place."""
    for split in piece.splits:
        if split.underlap > LAPPED and split.underlap != defaults.underlap:
            yield f"the underlap of its split is {split.underlap:g} mm wide: is its unit right?"
    for drill in piece.drills:
        if drill.size > DRILLED:
            x, y = rotated(np.array(drill.at), -piece.turn)
            yield (
                f"the drill hole at x {x:.1f}, y {y:.1f} is {drill.size:g} mm wide: is its unit "
                "right?"
            )
    for notch in piece.notches:
        if notch.style.width > NOTCHED and notch.style.width != defaults.notch.width:
            yield (
                f"the notch at {notch.along:.0f} mm on '{notch.edge}' is {notch.style.width:g} mm "
                "wide: is its unit right?"
            )
    yield from (*_strips(piece), *_derived(piece), *_thin_folds(piece, defaults), *_spikes(piece))


def _strips(piece: Piece) -> Iterator[str]:
    """Yield the splits whose line cuts off hardly more than one edge."""
    for split in piece.splits:
        if split.line is None:
            continue
        start, end = np.array(split.line)
        x, y = unit(end - start)
        left = {edge.name: (edge.points - start) @ [-y, x] for edge in piece.edges}
        for away in (left, {name: -far for name, far in left.items()}):
            deep = max(float(far.max()) for far in away.values())
            whole = [name for name, far in away.items() if float(far.min()) > 0.0]
            nearest = max(away, key=lambda name: float(away[name].mean()))
            if -max(piece.edge(nearest).allowance) < deep <= 1e-6:
                yield (
                    f"its split cuts off nothing but allowance along '{nearest}': is its line "
                    "right?"
                )
            if 1e-6 < deep < STRIP and whole:
                longest = max(whole, key=lambda name: length(piece.edge(name).points))
                yield (
                    f"its split cuts off a strip of only {deep:.3g} mm along '{longest}': is its "
                    "line right?"
                )


def _derived(piece: Piece) -> Iterator[str]:
    if piece.derive is None:
        return
    if piece.derive.smaller > ROLLED:
        yield f"it is {piece.derive.smaller:g} mm smaller on all sides: is its unit right?"
    if piece.derive.inset > INSET:
        yield f"its inset is {piece.derive.inset:g} mm on all sides: is its unit right?"
    if piece.derive.how is Derive.FACING and 0.0 < piece.derive.width < FOLDED:
        yield f"as a facing it is only {piece.derive.width:g} mm wide: is its unit right?"


def _thin_folds(piece: Piece, defaults: Defaults) -> Iterator[str]:
    """Yield what is folded over and is too narrow for that. The set's own allowance, and one that
    holds no stitch, are asked about by themselves.
    """
    for edge in piece.edges:
        deep = max(edge.allowance)
        if edge.facing and 0.0 < deep < FOLDED:
            yield (
                f"the facing folded over along '{edge.name}' is only {deep:g} mm deep: write its "
                "depth as the edge's allowance"
            )
        turned = edge.corner is Corner.TURNED and not edge.facing
        if turned and NARROW <= deep < TURNED and deep != defaults.allowance:
            yield f"the hem turned back along '{edge.name}' is only {deep:g} mm: is its unit right?"


def _spikes(piece: Piece) -> Iterator[str]:
    """Yield corners between long edges that hardly open, as where a point has a digit too many.

    Two edges of one length with no cloth between them are the legs of a dart.
    """
    legs = [id(dart.legs[1]) for dart in darts(piece)]
    for index, after in enumerate(piece.edges):
        before = piece.edges[index - 1]
        if min(length(before.points), length(after.points)) < SIDES or id(after) in legs:
            continue
        into = direction_at(before.points, length(before.points))
        out = direction_at(after.points, 0.0)
        open_by = np.degrees(np.arccos(np.clip(-into @ out, -1.0, 1.0)))
        if open_by < SPIKE:
            x, y = rotated(after.points[0], -piece.turn)
            yield (
                f"the corner of '{before.name}' and '{after.name}' at x {x:.1f} mm, y {y:.1f} mm "
                f"has only {open_by:.0f} degrees: is a point wrong?"
            )
