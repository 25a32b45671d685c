"""A strip of coded marks as a card to print, or to draw with a pen and cut out."""

from __future__ import annotations

import cv2
import numpy as np
import shapely

from plotout import Card, FloatArray, Mark, Stroke, Work
from plotout.kit import text_lines
from plotout_photo.strips import (
    BOX,
    CELLS,
    CROSSES,
    DICTIONARY,
    MARKS,
    PITCH,
    SCALE,
    SIDE,
    check_number,
)

LINE = 0.25  # mm: width of a registration mark's line as printed, or of a fine pen
STEP = 0.2  # mm between the lines that fill black areas


def strip_card(number: int, index: int, of: int) -> Card:
    """Return strip `number` as a card. Raises UserError beyond the last one."""
    check_number(number)
    name = f"strip-{number:02d}"
    lines = [(line, Mark.REGISTRATION) for mark in range(MARKS) for line in _mark(number, mark)]
    lines += [(line, Mark.REGISTRATION) for line in _scale()]
    lines += [(line + at, Mark.LETTERING) for text, high, at in _letters(number)
              for line in text_lines(text, high)]  # fmt: skip
    corner = np.array(BOX[:2])
    left, bottom, right, top = BOX
    ring = np.array([[left, bottom], [right, bottom], [right, top], [left, top], [left, bottom]])
    ring = ring - corner
    strokes = [Stroke(line - corner, Work.DRAW, mark, name) for line, mark in lines]
    strokes.append(Stroke(ring, Work.CUT, Mark.OUTLINE, name))
    return Card(name, name, f"Strip {number}", index, of, ring, tuple(strokes))


def _mark(number: int, index: int) -> list[FloatArray]:
    """Return the lines that fill a mark: around its black, then to and fro inside."""
    code = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, DICTIONARY))
    cells = cv2.aruco.generateImageMarker(code, (number - 1) * MARKS + index, CELLS) < 128
    side = SIDE / CELLS
    boxes = [
        shapely.box(PITCH * index + side * x, SIDE - side * (y + 1), PITCH * index + side * (x + 1),
                    SIDE - side * y)
        for y, x in np.argwhere(cells)
    ]  # fmt: skip
    black = shapely.unary_union(boxes).buffer(-LINE / 2, join_style="mitre")
    lines = [
        shapely.get_coordinates(ring)
        for part in shapely.get_parts(black)
        for ring in (part.exterior, *part.interiors)
    ]
    for y in np.arange(LINE / 2 + STEP, SIDE - LINE / 2, STEP):
        row = shapely.LineString([(PITCH * index, y), (PITCH * index + SIDE, y)])
        parts = shapely.get_parts(shapely.intersection(row, black))
        lines += [shapely.get_coordinates(part) for part in parts if part.length > STEP]
    return lines


def _scale() -> list[FloatArray]:
    """Return the scale: a line from cross to cross with a tick every 10 mm."""
    (left, y), (right, _) = CROSSES["left"], CROSSES["right"]
    lines = [[(left - 3.0, y), (right + 3.0, y)]]
    for x in np.arange(left, right + 1.0, 10.0):
        high = 3.0 if x in (left, right) else 1.2
        lines.append([(x, y - high), (x, y + high)])
    return [np.array(line) for line in lines]


def _letters(number: int) -> list[tuple[str, float, FloatArray]]:
    """Return text, height and place: the number at both ends, the crosses' purpose below."""
    (left, y), (right, _) = CROSSES["left"], CROSSES["right"]
    return [
        (f"{number}", 6.0, np.array([left - 5.0, 12.0])),
        ("L", 3.5, np.array([left - 2.0, 2.0])),
        (f"{number}", 6.0, np.array([right - 6.5, 12.0])),
        ("R", 3.5, np.array([right - 6.0, 2.0])),
        (f"plotout frame, strip {number}: from cross to cross {SCALE:.0f} mm", 2.5,
         np.array([left + 60.0, y - 4.4])),
    ]  # fmt: skip
