"""How each kind of mark is printed: told apart by width and dashes, without colour."""

from __future__ import annotations

from dataclasses import dataclass

from plotout import Mark, Stroke, Work


@dataclass(frozen=True, slots=True)
class Line:
    """A line's width and its dashes (on, off, ...), mm."""

    width: float
    dashes: tuple[float, ...] = ()


# widths: ISO 128-2's series 0.13, 0.18, 0.25, 0.35, 0.5, 0.7. A fold's dashes are its own strokes.
_LINES = {
    Mark.OUTLINE: Line(0.7),
    Mark.STITCHING: Line(0.25, (3.0, 1.5)),
    Mark.NOTCH: Line(0.7),
    Mark.GRAIN: Line(0.35),
    Mark.FOLD: Line(0.35),
    Mark.INTERNAL: Line(0.25, (8.0, 1.5)),
    Mark.DRILL: Line(0.25),
    Mark.HOLE: Line(0.5),
    Mark.CUTOUT: Line(0.7),
    Mark.LETTERING: Line(0.35),
    Mark.JOIN: Line(0.35, (6.0, 2.0)),
    Mark.UNDERLAP: Line(0.13),
    Mark.AREA: Line(0.13),
    Mark.STRIPE: Line(0.25, (1.0, 1.5)),
    Mark.PLAID: Line(0.25, (4.0, 1.0, 1.0, 1.0)),
    Mark.REGISTRATION: Line(0.25),
    Mark.PAGE: Line(0.18),
}
_SCORED = (2.0, 1.0)


def line_for(stroke: Stroke) -> Line:
    """Return how a stroke is printed; what would be scored is dashed."""
    line = _LINES[stroke.mark]
    if stroke.work is Work.SCORE and not line.dashes:
        return Line(line.width, _SCORED)
    return line
