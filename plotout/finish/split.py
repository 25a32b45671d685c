"""Where a piece is divided so that its cards fit the stock."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np
from shapely.geometry import LineString, Polygon

from plotout.errors import Place, UserError
from plotout.finish.bare_card import BareCard, Join, PlacedNotch
from plotout.finish.divide import divided
from plotout.finish.edge_words import and_so_on, of_part
from plotout.finish.join_places import CLEAR, NoPlaceError, best_place
from plotout.finish.join_words import drawn, from_to, too_long, where
from plotout.geometry.polyline import bounds, rotated, unit
from plotout.geometry.strokes import FloatArray
from plotout.pattern.model import Piece, Split
from plotout.tongue import PLAIN, Tongue

Window = tuple[float, float]
_DOUBLE = 1.5  # of their spacing: no further apart are the notches of a double
_MOST = 40  # parts; more is a stock of the wrong size


def parts(
    bare: BareCard,
    splits: Sequence[Split],
    window: Window | None,
    underlap: float,
    say: Tongue = PLAIN,
    *,
    upright: bool = False,
) -> list[BareCard]:
    """Return the bare card's parts, topmost first; the card itself if it needs no dividing.

    Lines from the set file are always cut. Otherwise the card is cut into the fewest parts that fit
    `window` (width, height), in either orientation unless `upright`, across or along the card; no
    cut goes through a notch, a drill hole, a corner or a tight curve if there is another place. The
    first part's warnings say where it was divided and why. Raises UserError if that is impossible.
    """
    lap = next((split.underlap for split in splits), underlap)
    found = [bare]
    count = 0
    notes: list[str] = []  # where it was divided, and why
    for split in splits:
        if split.line is not None:
            found, count = _given(found, split, count, notes)
    if window is not None:
        fitting: list[BareCard] = []
        for part in found:
            done, count = _fitted(part, window, lap, count, upright, notes)
            fitting += done
        found = fitting
    if len(found) == 1:
        return found
    known = set(bare.warnings)
    found = [
        replace(one, warnings=tuple(text for text in one.warnings if text not in known), faults=())
        for one in found
    ]
    all_warnings = (*bare.warnings, *notes, *found[0].warnings)
    found[0] = replace(found[0], warnings=all_warnings, faults=bare.faults)
    return [_named(one, index, found, say) for index, one in enumerate(found)]


def on_joins(piece: Piece, notches: Sequence[PlacedNotch]) -> list[str]:
    """Return the notches and drill holes through which the set file's split lines go, in words.

    A line between the notches of a double goes through it too.
    """
    near = [
        (one, other)
        for one, other in combinations(notches, 2)
        if one.what == other.what and np.hypot(*(one.at - other.at)) < _DOUBLE * one.style.spacing
    ]
    marks = [
        (ones[0].what, ones[0].style.width / 2.0,
         np.vstack([[n.at, n.at + n.inward * n.style.depth] for n in ones]))
        for ones in (*((notch,) for notch in notches), *near)
    ]  # fmt: skip
    for drill in piece.drills:
        what = f"the drill hole {_at(rotated(np.array(drill.at), -piece.turn))}"
        marks.append((what, drill.size / 2.0, np.array([drill.at])))
    notes = []
    for split in piece.splits:
        if split.line is None:
            continue
        start, end = np.array(split.line)
        x, y = unit(end - start)
        for what, half, points in marks:
            off = (points - start) @ np.array([-y, x])
            if off.min() - half < CLEAR and off.max() + half > -CLEAR:
                notes.append(f"the join runs through {what}: move the split's line, or the mark")
    return list(dict.fromkeys(notes))


def _at(point: FloatArray) -> str:
    return f"at x {point[0]:.0f} mm, y {point[1]:.0f} mm"


def fits(outline: FloatArray, window: Window, *, upright: bool = False) -> bool:
    """Return whether the outline fits the window, upright or turned by 90 degrees."""
    wide, tall = _size(outline)
    if upright:
        return wide <= window[0] + 1e-6 and tall <= window[1] + 1e-6
    return min(wide, tall) <= min(window) + 1e-6 and max(wide, tall) <= max(window) + 1e-6


def _size(outline: FloatArray) -> tuple[float, float]:
    low_x, low_y, high_x, high_y = bounds(outline)
    return high_x - low_x, high_y - low_y


def _given(
    bare_cards: list[BareCard], split: Split, count: int, notes: list[str]
) -> tuple[list[BareCard], int]:
    """Divide every bare card that the user's line crosses."""
    assert split.line is not None
    start, end = np.array(split.line[0]), np.array(split.line[1])
    found: list[BareCard] = []
    crossed = 0
    if not any(_is_divided(bare, start, end) for bare in bare_cards):
        raise UserError(
            "a split line does not cross the piece",
            fix="Give two points on either side of the piece, or in it.",
            place=Place(piece=bare_cards[0].piece, at=drawn(start, bare_cards[0])),
        )
    for bare in bare_cards:
        if not _crosses(bare, start, end):
            found.append(bare)
            continue
        try:
            found += divided(bare, start, end, split.underlap, count + crossed)
        except ValueError as fault:
            raise UserError(
                f"it can't be split there: {fault}",
                fix="Move the split line, or leave it out and let plotout choose.",
                place=Place(piece=bare.piece, at=drawn(start, bare)),
            ) from fault
        notes.append(f"divided along the line {from_to(start, end, bare)}, as the set file asks")
        crossed += 1
    return found, count + crossed


def _is_divided(bare: BareCard, start: FloatArray, end: FloatArray) -> bool:
    """Return whether a line, as it is drawn, reaches the card: beside it it is a slip."""
    reaches = Polygon(bare.outline).intersects(LineString([start, end]))
    return bool(reaches) and _crosses(bare, start, end)


def _crosses(bare: BareCard, start: FloatArray, end: FloatArray) -> bool:
    """Return whether a line, lengthened both ways, has some of the card on either side."""
    side = (bare.outline - start) @ np.array([start[1] - end[1], end[0] - start[0]])
    return bool(side.min() < -1e-6 and side.max() > 1e-6)


def _fitted(
    bare: BareCard, window: Window, lap: float, count: int, upright: bool, notes: list[str]
) -> tuple[list[BareCard], int]:
    """Divide the bare card into the fewest parts that fit."""
    if fits(bare.outline, window, upright=upright):
        return [bare], count
    if min(window) <= 2.0 * lap:
        raise UserError(
            f"the stock holds {window[0]:.0f} x {window[1]:.0f} mm: too small for a "
            f"{lap:.0f} mm underlap",
            fix="Use larger stock or a smaller underlap.",
            place=Place(piece=bare.piece),
        )
    rooms = (window,) if upright else (window, window[::-1])
    across, along = min(rooms, key=lambda room: _needed(_size(bare.outline), room, lap))
    try:
        return _in_rows(bare, across, along, lap, count, notes)
    except NoPlaceError:
        halves = _halved(bare, lap, count, notes)
        if halves is None:
            raise
    found: list[BareCard] = []
    count += 1
    for half in halves:
        made, count = _fitted(half, window, lap, count, upright, notes)
        found += made
    return found, count


def _in_rows(
    bare: BareCard, across: float, along: float, lap: float, count: int, notes: list[str]
) -> tuple[list[BareCard], int]:
    """Divide the bare card into rows, and these into columns, of at most that width and height."""
    said: list[str] = []
    rows, count = _rows(bare, along, lap, count, said, upright=False)
    found: list[BareCard] = []
    for row in rows:
        columns, count = _rows(row, across, lap, count, said, upright=True)
        found += columns
    notes += said
    return found, count


def _halved(
    bare: BareCard, lap: float, count: int, notes: list[str]
) -> tuple[BareCard, BareCard] | None:
    """Divide a bare card near its middle, as a horseshoe through its bridge; None if that can't be.

    A line across its legs would make three parts; each half can be divided further.
    """
    low, high = np.reshape(bounds(bare.outline), (2, 2))
    for axis in np.argsort(high - low).tolist() if count < _MOST else ():
        even, quarter = (low[axis] + high[axis]) / 2.0, (high[axis] - low[axis]) / 4.0
        try:
            at, warning = best_place(bare, axis, even - quarter, even + quarter, even, lap)
        except NoPlaceError:
            continue
        line = _line(axis, at)
        notes.append(f"divided {where(bare, line)}: no line the other way divides it in two")
        off, rest = divided(bare, line[0], line[1], lap, count)
        return replace(off, warnings=(*off.warnings, *warning)), rest
    return None


def _needed(size: tuple[float, float], window: Window, lap: float) -> tuple[int, int, float]:
    """Return how good a room is, the best least: of as many parts, those that fit most easily."""
    counts = [_count(size[i], window[i], lap) for i in range(2)]
    tightest = max(size[i] / (counts[i] * window[i]) for i in range(2))
    return counts[0] * counts[1], abs(counts[0] - counts[1]), tightest


def _count(size: float, most: float, lap: float) -> int:
    return max(1, int(np.ceil((size - lap - 1e-6) / (most - lap)))) if size > most else 1


def _rows(
    bare: BareCard, most: float, lap: float, count: int, notes: list[str], *, upright: bool
) -> tuple[list[BareCard], int]:
    """Cut strips off the bare card until all are at most `most` mm along y (x where upright)."""
    axis = 0 if upright else 1
    rest = bare
    found: list[BareCard] = []
    while True:
        low, high = bounds(rest.outline)[axis], bounds(rest.outline)[axis + 2]
        need = _count(high - low, most, lap)
        if need == 1:
            return [*found, rest], count
        if count >= _MOST:
            raise UserError(
                f"it would take more than {_MOST} cards",
                fix="Use larger stock.",
                place=Place(piece=bare.piece),
            )
        # the part cut off is high - at + lap long; what is left must fit need - 1 strips
        least = max(high - most + lap, low + 1.0)
        greatest = min(low + most + (need - 2) * (most - lap), high - 1.0)
        at, warning = best_place(rest, axis, least, greatest, high - (high - low) / need, lap)
        line = _line(axis, at)
        notes.append(too_long(rest, line, upright, most))
        off, rest = divided(rest, line[0], line[1], lap, count)
        count += 1
        found.append(replace(off, warnings=(*off.warnings, *warning)))


def _line(axis: int, at: float) -> FloatArray:
    """Return two places, (2, 2), on the upright line at x (axis 0) or the level one at y."""
    ends = np.zeros((2, 2))
    ends[:, axis] = at
    ends[1, 1 - axis] = 1.0
    return ends


def _named(bare: BareCard, index: int, every: list[BareCard], say: Tongue) -> BareCard:
    """Number the part, word its edges as they are there, and name on its joins its neighbours."""
    joins = []
    for join in bare.joins:
        others = [
            say("part {number}", number=k + 1)
            for k, other in enumerate(every)
            if k != index and any(_meets(join, its) for its in other.joins)
        ]
        join_words = (
            say("join to {parts} - this laps under", parts=and_so_on(others, say))
            if join.laps_under
            else say("join to {parts} - this laps over", parts=and_so_on(others, say))
        )
        joins.append(replace(join, words=join_words))
    labels = tuple(of_part(label, bare.outline, say) for label in bare.labels)
    return replace(bare, part=index + 1, parts=len(every), joins=tuple(joins), labels=labels)


def _meets(one: Join, other: Join) -> bool:
    """Return whether two parts share a stretch of a join."""
    if one.number != other.number or one.laps_under == other.laps_under:
        return False
    direction = one.line[1] - one.line[0]
    a, b = (
        sorted((one.line - one.line[0]) @ direction),
        sorted((other.line - one.line[0]) @ direction),
    )
    return bool(min(a[1], b[1]) - max(a[0], b[0]) > 1e-3 * (direction @ direction))
