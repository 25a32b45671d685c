"""What is drawn for joining a page to its neighbours: trim lines, match marks and text."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from plotout import FloatArray
from plotout.kit import MatchMark, Tile, TilePlan, Tongue
from plotout_pdf.paper import FURNITURE, Paper

WORDS = 2.5
SOFT = 0.45  # grey
REACH = 4.0  # mm from a match mark's middle to its tips
LINE = 0.2
ROOM = 12.0  # mm: the width of a neighbour's name
MOVED = (0.0, 8.0, -8.0, 16.0, -16.0, 24.0, -24.0)  # mm along the joint to a name off the cards
OFF = 1.0  # mm from a name to a card


def frame(
    paper: Paper, prefix: str, plan: TilePlan, tile: Tile, bodies: Sequence[shapely.Geometry]
) -> None:
    """Draw, in the drawing's mm, where the page is cut and how it meets its neighbours.

    bodies: what the cards cover; no neighbour's name is written there.
    """
    waste = plan.overlap / 2.0 if plan.style == "trim" else 0.0
    shown = shapely.box(tile.x0, tile.y0, tile.x0 + tile.width, tile.y0 + tile.height)
    free = shown.difference(shapely.union_all(bodies))
    with paper.layer(FURNITURE):
        paper.pen(LINE, (3.0, 2.0), grey=SOFT)
        for line in trim_lines(plan, tile):
            paper.line(line)
        for mark in plan.marks_of(tile):
            _match(paper, mark, tile)
            _neighbour(paper, mark, tile, prefix, waste, free)


def joining(plan: TilePlan, tile: Tile, prefix: str, say: Tongue) -> str:
    """Return in words what to do with a page."""
    there = {(other.row, other.column): other for other in plan.filled}
    beside = [
        (there.get((tile.row + down, tile.column + over)), where)
        for down, over, where in (
            (0, -1, say("left")), (0, 1, say("right")), (-1, 0, say("above")), (1, 0, say("below"))
        )
    ]  # fmt: skip
    near = [f"{where} {prefix}{other.name}" for other, where in beside if other]
    if not near:
        return say("It is joined to no other page.")
    return f"{_how(plan, say)} {say('It joins: {pages}.', pages=', '.join(near))}"


def _how(plan: TilePlan, say: Tongue) -> str:
    if plan.style == "lap":
        return say("Cut along the dashes; lay over the page to the left and the page below.")
    return say("Cut along the dashes; butt the pages.")


def trim_lines(plan: TilePlan, tile: Tile) -> list[FloatArray]:
    """Return where the page is cut, (2, 2) each: on the joints with printed pages."""
    left, bottom, right, top = tile.cell
    sides = {
        (0, -1): ((left, bottom), (left, top)),
        (1, 0): ((left, bottom), (right, bottom)),
        (0, 1): ((right, bottom), (right, top)),
        (-1, 0): ((left, top), (right, top)),
    }
    cut = sides if plan.style == "trim" else {side: sides[side] for side in ((0, -1), (1, 0))}
    there = {(other.row, other.column) for other in plan.filled}
    return [
        np.array(line)
        for (down, across), line in cut.items()
        if (tile.row + down, tile.column + across) in there
    ]


def _match(paper: Paper, mark: MatchMark, tile: Tile) -> None:
    """Draw a diamond on the joint and a line across it, half of both on either page.

    A slip along the joint breaks the line; a gap or a lap makes the diamond long or short. Both
    show clearly at 0.5 mm, two and a half line widths.
    """
    middle = np.array(mark.at)
    tips = np.array([[REACH, 0.0], [0.0, REACH], [-REACH, 0.0], [0.0, -REACH], [REACH, 0.0]])
    across = (
        np.array([[-1.5, 0.0], [1.5, 0.0]]) if mark.upright else np.array([[0, -1.5], [0, 1.5]])
    )
    paper.pen(LINE)
    paper.line(middle + tips)
    paper.line(middle + across * REACH)


def _neighbour(
    paper: Paper, mark: MatchMark, tile: Tile, prefix: str, waste: float, free: shapely.Geometry
) -> None:
    """Write beside a match mark the name of the other page.

    waste: how much of the page beyond the joint is cut off, mm: it holds the name, if there is
    room. free: of cards, on the page; without waste the name is moved there or, if need be, left
    out.
    """
    x, y = mark.at
    first = tile.name == mark.first
    other = f"{prefix}{mark.second if first else mark.first}"
    out = 1.0 if first else -1.0  # the first page lies left of the joint, or above it
    size = min(WORDS, waste - 1.0)
    if size < 1.5:  # nothing is cut off: then beside the mark
        size, room = WORDS, ROOM
        good = [at for at in _places(mark, out) if free.covers(_about(mark, at, len(other)))]
        if not good:
            return
        beside = good[0]
    elif mark.upright:
        beside, room = (out * waste / 2.0, REACH + size), waste - 0.4
    else:
        beside, room = (REACH + 4.0, -out * waste / 2.0), 3.0 * WORDS
    at = (x + beside[0], y + beside[1] - size / 2.0)
    paper.text(other, *at, size, anchor="middle", room=room)


def _places(mark: MatchMark, out: float) -> list[tuple[float, float]]:
    """Return where a name may stand, from the mark's middle, the nearest first.

    out: 1 on the page left of the joint or above it, else -1.
    """
    if mark.upright:
        return [(-out * 11.0, along) for along in MOVED]
    return [(along, out * 9.0) for along in MOVED]


def _about(mark: MatchMark, at: tuple[float, float], letters: int) -> shapely.Geometry:
    """Return a box about a name there. A letter is no wider than it is high."""
    x, y = np.add(mark.at, at)
    wide, tall = min(ROOM, letters * WORDS) / 2.0 + OFF, WORDS / 2.0 + OFF
    return shapely.box(x - wide, y - tall, x + wide, y + tall)
