"""The band on every page: its set, its name, and a check of the scale.

A band along a side of the page holds a square to measure, a ruler in millimetres and inches, and
the page's text. No part of the drawing lies there. The machine's calibration applies to the band
as to the work, so that it measures true exactly where the work does.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from plotout import FloatArray, Sheet
from plotout.kit import text_width, wrapped
from plotout_pdf.paper import FURNITURE, Paper

Box = tuple[float, float, float, float]
"""Left, bottom, right, top, mm."""

GAP = 2.0
"""mm between the band and the drawing."""
INCH = 25.4
_LINE = 0.2
_SQUARES = ((400.0, 50.0), (90.0, 20.0), (0.0, 10.0))  # from this length on, mm: the square's side
_ROUND = 1.0  # mm round the square
_RULERS = (300.0, 200.0, 100.0, 50.0, 20.0, 10.0)
_WORDS = 2.5  # mm: the smallest of ISO 3098
_LEAST = 1.6  # if there is no room for that


@dataclass(frozen=True, slots=True)
class Words:
    """A band's text. name: of the page, in large letters. title: of the set. details: the rest."""

    title: str
    details: str
    name: str = ""


def sheet_number(sheet: Sheet) -> str:
    """Return a sheet's number among the sheets, in words."""
    if sheet.of:
        return sheet.say("Sheet {number} of {of}", number=sheet.number, of=sheet.of)
    return sheet.say("Sheet {number}", number=sheet.number)


def band_for(length: float) -> float:
    """Return the width of a band of that length, including its gap, mm."""
    return next(side for least, side in _SQUARES if max(length, 0.0) >= least) + _ROUND + GAP


def draw_band(
    paper: Paper, place: Box, words: Words, true: FloatArray, *, upright: bool = False
) -> None:
    """Draw the band. place: on the page, including its gap, which is at its right or top.

    true: the (2, 3) map of the machine's calibration. upright: it runs up the page.
    """
    left, bottom, right, top = place
    length, wide = (top - bottom, right - left) if upright else (right - left, top - bottom)
    turn = np.array([[0.0, -1.0], [1.0, 0.0]]) if upright else np.eye(2)
    there = true[:, :2] @ turn
    length /= max(1.0, float(np.hypot(*there[:, 0])))
    high = (wide - GAP) / max(1.0, float(np.hypot(*there[:, 1])))
    fitting = (side for _, side in _SQUARES if side + 0.5 <= min(high, length))
    side = max(fitting, default=5.0)
    corner = np.array([right - GAP, bottom] if upright else [left, bottom])
    with paper.layer(FURNITURE), paper.through(np.column_stack([there, corner])):
        _square(paper, _LINE, _LINE, side)
        x = side + 3.0
        above = _ruler(paper, x, length - x - 1.0, small=side <= 15.0)
        _say(paper, words, (x, above + 0.8, length - 0.5, high))


def _square(paper: Paper, x: float, y: float, side: float) -> None:
    paper.pen(_LINE)
    paper.line(box((x, y, x + side, y + side)))
    height = min(5.0, side / 6.0)
    words = [paper.say("{length} mm", length=f"{side:g}")]
    words += [paper.say("each side")] if side >= 20.0 else []
    for index, text in enumerate(words):
        size = height if index == 0 else 0.6 * height
        paper.text(text, x + side / 2.0, y + side / 2.0 - index * 1.6 * height, size,
                   room=side - 1.0, anchor="middle")  # fmt: skip


def _ruler(paper: Paper, x: float, room: float, *, small: bool) -> float:
    """Draw a line with millimetres above it and inches below; return its height."""
    longest = next((ruler for ruler in _RULERS if ruler + 3.0 <= room), 0.0)
    if not longest:
        return 0.0
    inches = int((longest + 2.0) / INCH)
    size = tick = 1.2 if small else 1.8
    line = size + tick + 0.6
    paper.pen(_LINE)
    paper.line(np.array([[x, line], [x + max(longest, inches * INCH), line]]))
    labels = 10.0 if longest <= 100.0 else 50.0
    for at in np.arange(0.0, longest + 1e-9, 10.0 if longest > 20.0 else 5.0).tolist():
        paper.line(np.array([[x + at, line], [x + at, line + tick]]))
        if at % labels == 0.0:
            last = at + labels > longest
            text = paper.say("{length} mm", length=f"{at:g}") if last else f"{at:g}"
            paper.text(text, x + at + 0.5, line + tick * 0.6, size)
    for at in np.arange(0.0, inches + 1e-9, 0.5 if inches else 1.0).tolist():
        down = tick if at == int(at) else 0.6 * tick
        paper.line(np.array([[x + at * INCH, line], [x + at * INCH, line - down]]))
        if at == int(at):
            text = paper.say("{length} in", length=inches) if at == inches else f"{at:g}"
            paper.text(text, x + at * INCH + 0.5, 0.2, size)
    return line + tick + size


def _say(paper: Paper, words: Words, room: Box) -> None:
    """Write the page's name at the right, the title and the details beside it, within the room."""
    left, bottom, right, top = room
    if words.name:
        height = min(10.0, top - bottom - 0.5)
        height = min(height, 0.35 * (right - left) * height / text_width(words.name, height))
        wide = text_width(words.name, height)
        paper.text(words.name, right - wide, top - height, height)
        right -= wide + 3.0
    size = 2.0 * _WORDS if top - bottom > 30.0 else _WORDS
    for text, y, high in lines_within(
        [words.title, words.details], (left, bottom, right, top), size
    ):
        paper.text(text, left, y, high)


def lines_within(
    texts: Sequence[str], room: Box, size: float = _WORDS
) -> Iterator[tuple[str, float, float]]:
    """Yield lines of text with their baselines and heights, mm, all within a box.

    They are broken between words, and get smaller before any is left out.
    """
    left, bottom, right, top = room
    heights = [size * share for share in (1.0, 0.85, 0.7)]
    for height in [*(height for height in heights if height > _LEAST), min(size, _LEAST)]:
        lines = [line for text in texts for line in wrapped(text, right - left, height)]
        if len(lines) * 1.6 * height - 0.3 * height <= top - bottom:
            break
    many = max(0, int((top - bottom + 0.3 * height) / (1.6 * height)))
    if len(lines) > many > 0:
        lines[many - 1] = shortened(lines[many - 1] + " ...", right - left, height)
    for index, line in enumerate(lines[:many]):
        yield line, top - height - index * 1.6 * height, height


def shortened(text: str, room: float, height: float) -> str:
    """Return as much of a text as fits into `room` mm, with dots if it is shortened."""
    while len(text) > 4 and text_width(text, height) > room:
        text = text.removesuffix(" ...")[:-1] + " ..."
    return text


def box(sides: Sequence[float]) -> FloatArray:
    """Return a rectangle as a closed line, (5, 2)."""
    left, bottom, right, top = sides
    return np.array([[left, bottom], [right, bottom], [right, top], [left, top], [left, bottom]])
