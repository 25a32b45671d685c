"""A picture of two versions of a set: every changed piece, the old below the new."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from plotout.errors import counted
from plotout.finish.derive import all_pieces
from plotout.finish.prepare import cut_line, ready
from plotout.geometry.lettering import text_width
from plotout.geometry.polyline import bounds
from plotout.geometry.strokes import FloatArray
from plotout.pattern.model import PatternSet
from plotout.proof.picture import to_png
from plotout.proof.scene import SceneLine, framed, scene, words
from plotout.rack.compare import compare

ACROSS = 1400.0  # mm after which pieces continue in a row below
APART = 60.0
NAME, TOLD = 16.0, 11.0  # mm: heights of lettering


def overlaid(old: PatternSet, new: PatternSet) -> bytes:
    """Return a PNG: the cutting lines of every changed piece, as it was and as it is.

    All are at one scale; a piece's changes are written above it.
    """
    labels: dict[str, list[str]] = {}
    for change in compare(old, new):
        labels.setdefault(change.piece, []).append(change.words)
    general = tuple(labels.pop("", ()))
    before, after = _cutting_lines(old), _cutting_lines(new)
    lines: list[SceneLine] = []
    x = y = deepest = 0.0
    for name, changes in labels.items():
        drawn = _pair(name, before, after)
        box = bounds(np.vstack([line.points for line in drawn]))
        size = (box[2] - box[0], box[3] - box[1])
        above = 1.6 * (NAME + TOLD * len(changes))
        text = max([text_width(name, NAME), *(text_width(label, TOLD) for label in changes)])
        if x and x + max(size[0], text) > ACROSS:
            x, y, deepest = 0.0, y - deepest - APART, 0.0
        lines += words(name, x, y - NAME, NAME)
        for index, label in enumerate(changes):
            lines += words(label, x, y - 1.6 * (NAME + TOLD * index) - TOLD, TOLD)
        shift = np.array([x - box[0], y - above - box[3]])
        lines += [replace(line, points=line.points + shift) for line in drawn]
        x += max(size[0], text) + APART
        deepest = max(deepest, above + size[1])
    same = len(after) - len(labels.keys() & after.keys())
    notes = (*general, f"{counted(same, 'piece')} unchanged")
    title = f"{new.name}: what changed"
    return to_png(framed(scene(title, lines, notes), new.say))


def _cutting_lines(pattern_set: PatternSet) -> dict[str, FloatArray]:
    return {
        piece.name: cut_line(ready(piece), pattern_set.defaults)
        for piece in all_pieces(pattern_set)
    }


def _pair(name: str, before: Mapping[str, FloatArray], after: Mapping[str, FloatArray]) -> list[
    SceneLine
]:  # fmt: skip
    was = [SceneLine(before[name], "as it was")] if name in before else []
    now = [SceneLine(after[name], "cut")] if name in after else []
    return was + now
