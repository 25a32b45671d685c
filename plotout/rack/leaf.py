"""A page that is written and drawn from its top down, as strokes. Sizes of lettering: ISO 3098."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from plotout.geometry.lettering import text_lines, text_width, wrapped
from plotout.geometry.polyline import placing
from plotout.geometry.strokes import FloatArray, Mark, Stroke, Work
from plotout.model import Sheet
from plotout.pattern.model import PatternSet
from plotout.tongue import Tongue

MARGIN = 14.0
SMALL, PLAIN, LARGE = 2.5, 3.5, 7.0


@dataclass(slots=True)
class Leaf:
    """Strokes laid from the top of a page down; `y` is where the next line goes. mm."""

    width: float
    height: float
    y: float = 0.0
    strokes: list[Stroke] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.y = self.height - MARGIN

    def line(self, points: Sequence[Sequence[float]] | FloatArray, mark: Mark) -> None:
        """Draw a line."""
        self.strokes.append(Stroke(np.asarray(points, dtype=np.float64), Work.DRAW, mark))

    def letters(self, text: str, x: float, y: float, height: float) -> None:
        """Write a line of text, its baseline from x, y."""
        for points in text_lines(text, height):
            self.line(points + np.array([x, y]), Mark.LETTERING)

    def write(self, text: str, height: float = PLAIN) -> None:
        """Write across the page, in as many lines as that takes, and go down."""
        for row in wrapped(text, self.width - 2 * MARGIN, height):
            self.y -= height
            self.letters(row, MARGIN, self.y, height)
            self.y -= 0.8 * height

    def box(self, x: float, y: float, wide: float, tall: float) -> None:
        """Draw a box, its lower left corner at x, y."""
        corners = [(x, y), (x + wide, y), (x + wide, y + tall), (x, y + tall), (x, y)]
        self.line(corners, Mark.PAGE)

    def ruled(self, label: str, x: float, end: float) -> None:
        """Write a label at the page's foot, and a line after it to be filled in."""
        self.letters(label, x, MARGIN, PLAIN)
        self.line([(x + text_width(label, PLAIN) + 2.0, MARGIN), (end, MARGIN)], Mark.PAGE)


def as_sheet(
    name: str, leaf: Leaf, page: tuple[float, float], number: int, of: int, say: Tongue
) -> Sheet:
    """Return a leaf at the top of a page, (width, height) in mm."""
    up = placing(0.0, (0.0, page[1] - leaf.height))
    marks = tuple(stroke.moved(up) for stroke in leaf.strokes)
    return Sheet(name, number, *page, placed=(), marks=marks, stock=say("page"), say=say, of=of)


def about(pattern_set: PatternSet, size: str) -> str:
    """Return what distinguishes a set, in a size. size: "" for several."""
    say, style, version = pattern_set.say, pattern_set.style, pattern_set.version
    return say.listed(
        say("style {style}", style=style) if style else "",
        say("size {size}", size=size) if size else "",
        pattern_set.date,
        say("version {version}", version=version) if version else "",
    )


def rows_of(texts: Sequence[str], width: float, height: float) -> list[str]:
    """Return texts in lines no wider than `width` mm."""
    return [row for text in texts if text for row in wrapped(text, width, height)]
