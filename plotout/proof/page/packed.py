"""What the proof page holds of a sheet, packed: 300 cards must fit a file that mail can carry.

Lines are whole numbers of 0.01 mm, each place as the step from the one before, y down; a run's
figures stand in columns. Both are JSON, deflated (RFC 1950) and in base64 (RFC 4648).
"""

from __future__ import annotations

import json
import zlib
from base64 import b64encode
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.simplify import all_simplified
from plotout.geometry.strokes import FloatArray, Mark, all_moved
from plotout.model import Program, Sheet
from plotout.proof.picture import program_scene
from plotout.proof.scene import STYLES, SceneLine

_WORDS = (Mark.LETTERING, Mark.UNDERLAP, Mark.AREA)  # nobody measures these
_FINE = 0.005  # mm by which curves may be off on the page; corners are exact


def packed(data: dict[str, Any]) -> str:
    """Return data as text that the page's script unpacks. The same data gives the same text."""
    text = json.dumps(data, ensure_ascii=True, separators=(",", ":"))
    return b64encode(zlib.compress(text.encode(), 9)).decode()


def drawing(program: Program, sheet: Sheet) -> dict[str, str]:
    """Return a sheet's lines by kind, in the order in which they are drawn, each kind as one text.

    "card": the cards themselves, which no tool's offset or overcut has changed. Of travel there is
    the place in the order alone: it leads from the end of a run to the beginning of the next.
    """
    scene = program_scene(program, sheet)
    cards = [
        SceneLine(stroke.points, "card", stroke.size)
        for placed in sheet.placed
        for stroke in all_moved(
            [stroke for stroke in placed.card.strokes if stroke.mark not in _WORDS], placed.matrix
        )
    ]
    by_kind = scene.by_kind()
    if "travel" in by_kind:
        by_kind["travel"] = []
    by_kind["card"] = cards
    return {
        kind: _as_text(by_kind[kind], program.height, scene.unit)
        for kind in STYLES
        if kind in by_kind
    }


def in_columns(rows: Sequence[Sequence[Any]], works: list[str], marks: list[str]) -> dict[str, Any]:
    """Return the rows of `runs_as_rows` as columns of whole numbers.

    mm: in 0.1 mm. steps: the seconds of every travel and of every work after it, in 0.01 s; strokes
    the step from the stroke before.
    """
    moments = [moment for row in rows for moment in (row[5], row[6])] + [
        row[7] for row in rows[-1:]
    ]
    return {
        "works": [works.index(row[0]) for row in rows],
        "marks": [marks.index(row[1]) for row in rows],
        "cards": [row[2] for row in rows],
        "tools": [row[3] for row in rows],
        "mm": [round(10 * row[4]) for row in rows],
        "steps": np.diff(np.round(np.array(moments) * 100).astype(int)).tolist(),
        "strokes": np.diff([row[8] for row in rows], prepend=0).tolist(),
    }


def _as_text(lines: Sequence[SceneLine], height: float, unit: float) -> str:
    """Return lines as "dx dy dx dy|dx dy ..."; a hole is "odx dy radius"."""
    kept = all_simplified([line.points for line in lines], _FINE)
    steps = np.diff(_hundredths(kept, height), axis=0, prepend=0).ravel().tolist()
    numbers = list(map(str, steps))
    texts, end = [], 0
    for line, points in zip(lines, kept, strict=True):
        begin, end = end, end + points.size
        text = " ".join(numbers[begin:end])
        if len(points) == 1:
            radius = max(line.size / 2.0, 0.15 * unit)
            text = f"o{text} {round(100 * radius)}"
        texts.append(text)
    return "|".join(texts)


def _hundredths(lines: Sequence[FloatArray], height: float) -> NDArray[np.int64]:
    """Return the points of lines, one below the other, in 0.01 mm, y down."""
    points = np.vstack([np.empty((0, 2)), *lines])
    return np.round((points * [1.0, -1.0] + [0.0, height]) * 100).astype(np.int64)
