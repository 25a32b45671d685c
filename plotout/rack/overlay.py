"""A picture of two versions of a set: each piece as it was under the piece as it is."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from plotout.geometry.polyline import bounds
from plotout.pattern.model import PatternSet
from plotout.proof.picture import to_png
from plotout.proof.scene import Line, framed, scene, words

ACROSS = 1400.0  # mm after which pieces go on in a row below


def overlaid(old: PatternSet, new: PatternSet) -> bytes:
    """Return a PNG: every piece's line as it was (dashed) and as it is, at one scale."""
    before = {piece.name: piece for piece in old.pieces if piece.edges}
    after = {piece.name: piece for piece in new.pieces if piece.edges}
    lines: list[Line] = []
    x = y = deepest = 0.0
    for name in dict.fromkeys([*after, *before]):
        pair = [
            (p, kind) for p, kind in ((before.get(name), "fold"), (after.get(name), "cut")) if p
        ]
        box = bounds(np.vstack([piece.outline for piece, _ in pair]))
        if x and x + box[2] - box[0] > ACROSS:
            x, y, deepest = 0.0, y - deepest - 60.0, 0.0
        shift = np.array([x - box[0], y - box[3]])
        lines += [Line(piece.outline + shift, kind) for piece, kind in pair]
        lines += words(name, x, y + 8.0, 14.0)
        x += box[2] - box[0] + 60.0
        deepest = max(deepest, box[3] - box[1])
    title = f"{new.name}: dashed as it was, solid as it is"
    return to_png(framed(replace(scene(title, lines), title=title)))
