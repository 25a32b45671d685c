"""What a page needs to be joined to its neighbours: its name, trim lines and match marks."""

from __future__ import annotations

import numpy as np

from plotout import FloatArray
from plotout.kit import MatchMark, Tile, TilePlan
from plotout_pdf.paper import FURNITURE, Paper

NAME = 10.0  # mm
WORDS = 2.5
FAINT, SOFT = 0.75, 0.45  # greys
REACH = 4.0  # mm from a match mark's middle to its tips
LINE = 0.2


def frame(paper: Paper, title: str, prefix: str, plan: TilePlan, tile: Tile) -> None:
    """Draw the page's furniture in the drawing's mm."""
    left, _, _, top = tile.cell
    with paper.layer(FURNITURE):
        paper.text(f"{prefix}{tile.name}", left + 6.0, top - 6.0 - NAME, NAME, grey=FAINT)
        paper.text(
            f"{title}: row {tile.name.rstrip('0123456789')}, column {tile.column + 1}. "
            f"{_how(plan)}",
            left + 6.0,
            top - 6.0 - NAME - 2.0 * WORDS,
            WORDS,
            grey=SOFT,
        )
        paper.pen(LINE, (3.0, 2.0), grey=SOFT)
        for line in trim_lines(plan, tile):
            paper.line(line)
        for mark in plan.marks_of(tile):
            _match(paper, mark, tile, prefix)


def _how(plan: TilePlan) -> str:
    if plan.style == "lap":
        return "Cut along the dashes; lay over the page to the left and the page below."
    return "Cut along the dashes; butt the pages."


def trim_lines(plan: TilePlan, tile: Tile) -> list[FloatArray]:
    """Return where the page is cut, (2, 2) each: on the joints with pages that are printed."""
    left, bottom, right, top = tile.cell
    sides = {
        (0, -1): ((left, bottom), (left, top)),
        (1, 0): ((left, bottom), (right, bottom)),
        (0, 1): ((right, bottom), (right, top)),
        (-1, 0): ((left, top), (right, top)),
    }
    cut = sides if plan.style == "trim" else {way: sides[way] for way in ((0, -1), (1, 0))}
    there = {(other.row, other.column) for other in plan.printed}
    return [
        np.array(line)
        for (down, across), line in cut.items()
        if (tile.row + down, tile.column + across) in there
    ]


def _match(paper: Paper, mark: MatchMark, tile: Tile, prefix: str) -> None:
    """Draw a diamond about the joint and a line across it, half of each on either page.

    A slip along the joint breaks the line; a gap or a lap makes the diamond long or short. Both
    are plain to see at 0.5 mm, two and a half times the line's width.
    """
    x, y = mark.at
    middle = np.array(mark.at)
    tips = np.array([[REACH, 0.0], [0.0, REACH], [-REACH, 0.0], [0.0, -REACH], [REACH, 0.0]])
    across = (
        np.array([[-1.5, 0.0], [1.5, 0.0]]) if mark.upright else np.array([[0, -1.5], [0, 1.5]])
    )
    paper.pen(LINE)
    paper.line(middle + tips)
    paper.line(middle + across * REACH)
    first = tile.name == mark.first
    other = f"{prefix}{mark.second if first else mark.first}"
    side = -1.0 if first else 1.0  # the first page lies left of the joint, or above it
    if mark.upright:
        paper.text(other, x + side * 11.0, y - WORDS / 2.0, WORDS, anchor="middle")
    else:
        paper.text(other, x, y - side * 9.0 - WORDS / 2.0, WORDS, anchor="middle")
