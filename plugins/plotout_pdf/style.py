"""Line styles by kind of mark: they differ in width and dashes, without colour."""

from __future__ import annotations

from dataclasses import dataclass

from plotout import Mark, Stroke, Work


@dataclass(frozen=True, slots=True)
class Pen:
    """A line's width and its dashes (on, off, ...), mm."""

    width: float
    dashes: tuple[float, ...] = ()


# widths: ISO 128-2's series 0.13, 0.18, 0.25, 0.35, 0.5, 0.7. A fold's dashes are its own strokes.
_LINES = {
    Mark.OUTLINE: Pen(0.7),
    Mark.STITCHING: Pen(0.25, (3.0, 1.5)),
    Mark.NOTCH: Pen(0.7),
    Mark.GRAIN: Pen(0.35),
    Mark.FOLD: Pen(0.35),
    Mark.INTERNAL: Pen(0.25, (8.0, 1.5)),
    Mark.DRILL: Pen(0.25),
    Mark.HOLE: Pen(0.5),
    Mark.CUTOUT: Pen(0.7),
    Mark.LETTERING: Pen(0.35),
    Mark.JOIN: Pen(0.35, (6.0, 2.0)),
    Mark.UNDERLAP: Pen(0.13),
    Mark.AREA: Pen(0.13),
    Mark.STRIPE: Pen(0.25, (1.0, 1.5)),
    Mark.PLAID: Pen(0.25, (4.0, 1.0, 1.0, 1.0)),
    Mark.REGISTRATION: Pen(0.25),
    Mark.PAGE: Pen(0.18),
}
_SCORED = (2.0, 1.0)
# ISO 128-2, line type 04: how a fold's own strokes look in a legend
_OWN_DASHES = {Mark.FOLD: (12.0, 1.5, 0.25, 1.5)}


def pen_for(stroke: Stroke) -> Pen:
    """Return a stroke's line style: that of its mark; what is scored always has the same dashes.

    An unknown mark is printed as an internal line.
    """
    line = _LINES.get(stroke.mark, _LINES[Mark.INTERNAL])
    return Pen(line.width, _SCORED) if stroke.work is Work.SCORE else line


def seen_as(stroke: Stroke) -> Pen:
    """Return the line that a mark's strokes form together if they are dashes themselves."""
    line = pen_for(stroke)
    return Pen(line.width, _OWN_DASHES.get(stroke.mark, line.dashes))
