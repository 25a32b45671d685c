"""A picture of a lay on cloth: the pieces to cut, their names, grain and matched lines."""

from __future__ import annotations

import numpy as np

from plotout.geometry.strokes import Work
from plotout.model import Sheet
from plotout.proof.card_names import card_names
from plotout.proof.scene import Scene, SceneLine, framed, scene
from plotout.tongue import Tongue


def cloth_picture(sheet: Sheet, title: str, say: Tongue) -> Scene:
    """Draw a cloth, its length from left to right, with a number and a name on every piece.

    sheet: as `rack.cloth.need` gives it; the number is that of the copy. say: the set's language.
    """
    wide, tall = sheet.width, sheet.height
    edge = np.array([[0.0, 0.0], [wide, 0.0], [wide, tall], [0.0, tall], [0.0, 0.0]])
    drawn = [
        SceneLine(s.points, "cut" if s.work is Work.CUT else "internal line") for s in sheet.strokes
    ]
    plain = scene("", [SceneLine(edge, "stock"), *drawn])
    lines = [*plain.lines, *card_names(sheet, plain.unit)]
    many = say.many("{count} piece", "{count} pieces", len(sheet.placed))
    return framed(scene(title, lines, (say.listed(many, say.size(wide, tall)),)), say)
