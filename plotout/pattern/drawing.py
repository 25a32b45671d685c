"""What a reader plugin returns: the shapes of one piece, in millimetres."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path
from typing import Any

from plotout.geometry.strokes import FloatArray, points_in
from plotout.geometry.sureness import IfSo, Otherwise


class Role(StrEnum):
    """What a shape in a drawing represents."""

    OUTLINE = "outline"
    SEWING = "sewing"
    TURN = "turn point"
    NOTCH = "notch"
    GRAIN = "grain"
    FOLD = "fold"
    INTERNAL = "internal"
    SCORE = "score"
    DRILL = "drill"
    CUTOUT = "cut-out"
    STRIPE = "stripe"
    PLAID = "plaid"
    TEXT = "text"


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """One shape of a drawing.

    points: (n, 2), mm, y up; flattened to 0.01 mm. One point for a notch, drill, turn point, text.
    name: the run, id or layer that it came from; an outline run's name becomes its edge's.
    text: the words of a TEXT; the kind of a NOTCH ("slit", "V", "T", "castle", "check", "U");
        of a GRAIN "bias", if it shows that and not the threads, "one way", or both with a comma.
    size: depth of a notch or diameter of a drill hole in mm, 0 when unknown.
    angle: direction of a notch into the piece, degrees counter-clockwise, or None.
    known_to: for an outline, mm (two sigma) to which its length is known; 0 where it was drawn.
    unproved: how much of that is because its pricks may be explained otherwise, as by a stray.
    otherwise: what its length is by each of these explanations, the likeliest first.
    likely: for a run of an outline, the same line as likely as its pricks show it, (m, k, 2); with
        those of the other runs, m outlines of which each is as likely. None where it was drawn.
    if_so: the same by each explanation of the outline's pricks that isn't taken, alike in all runs.
    """

    points: FloatArray
    role: Role
    name: str = ""
    text: str = ""
    size: float = 0.0
    angle: float | None = None
    known_to: float = 0.0
    unproved: float = 0.0
    otherwise: tuple[Otherwise, ...] = ()
    likely: FloatArray | None = None
    if_so: tuple[IfSo, ...] = ()

    def __post_init__(self) -> None:
        """Take points as a list too, and text only where text is meant."""
        object.__setattr__(self, "points", points_in(self.points))
        if not (isinstance(self.name, str) and isinstance(self.text, str)):
            raise TypeError("a shape's name and text are text")


@dataclass(frozen=True, slots=True)
class Drawing:
    """The shapes of one piece, from a reader.

    An outline is one closed OUTLINE shape, or several open ones in order, each ending
    where the next begins. `notes` are shown to the user (what was left out, snapped, guessed).
    `cut`: the format says that its outline is the cutting line.
    """

    shapes: tuple[Shape, ...]
    notes: tuple[str, ...] = ()
    cut: bool = False


@dataclass(frozen=True, slots=True)
class Pick:
    """A key of a piece's `from` table: what it picks, in a sentence; and a sample, as in TOML."""

    says: str
    sample: str


_LINES = {
    "outline": "The outline.",
    "sewing": "The stitching line, if the outline is the cutting line.",
    "internal": "Lines to draw inside the piece.",
    "score": "Lines to score.",
    "grain": "The grain line.",
    "fold": "The line on which the piece lies at the fold of the cloth.",
    "stripe": "The line that lies on a stripe of the cloth.",
    "plaid": "The line that lies on a bar of a plaid, across the stripe.",
    "cut-out": "Openings cut out of the piece.",
    "drill": "Drill holes.",
    "notch": "Notches.",
    "turn": "Places where one edge ends and another begins, though there is no corner.",
}


def picks_of_lines(form: Callable[[str], str]) -> dict[str, Pick]:
    """Return the keys that pick lines in a drawing. form: writes a key as the drawing names it."""
    return {key: Pick(says, f'"{form(key)}"') for key, says in _LINES.items()}


@dataclass(frozen=True, slots=True)
class Reader:
    """A plugin's reader. `read(path, pick)` returns a Drawing or raises UserError.

    `pick` is the piece's `from` table without its `file`: which block, layer, id or run, unit ...
    `picks` has the keys that it may hold, for `plotout explain`; another one is reported.
    `most` says in words how much of a file it reads, for `plotout explain limits`.
    """

    name: str
    suffixes: tuple[str, ...]
    picks: Mapping[str, Pick]
    read: Callable[[Path, Mapping[str, Any]], Drawing] = field(repr=False)
    most: Callable[[], str] | None = field(default=None, repr=False)
