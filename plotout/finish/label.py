"""The block of lettering: set, style, size, piece, what to cut, card n of m."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import chain, pairwise, product
from typing import NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from plotout.finish.card_marks import free_area, readable
from plotout.geometry.cells import inside, near, summed
from plotout.geometry.lettering import text_lines, text_width, wrapped
from plotout.geometry.strokes import FloatArray, Mark, Stroke, Work

HEIGHTS = (20.0, 14.0, 10.0, 7.0, 5.0, 3.5, 2.5)  # ISO 3098-1, nominal sizes in mm
LEADING = 1.7  # baseline to baseline, in letter heights (ISO 3098: at least 1.4)
TITLE = 1.4  # a title is one ISO 3098 size larger
_EDGE = 3.0  # mm from letters to the card's edge
_LEAST_EDGE = 0.8  # mm, on a card too small for more
_CLEAR = 2.0  # mm from letters to any mark, at least
_AIR = 6.0  # mm, where there is room
_DROP = 0.35  # descenders and brackets below the baseline, in letter heights
_SLENDER = 3.0  # times as long as wide: a strip
_OBLIQUE = np.cos(np.radians(15.0))
SMALL = 2.5  # mm: the smallest easily read (ISO 3098-1)
LEGIBLE = 3.5  # mm: smaller letters are a makeshift; common practice
_FEWEST = 20.0  # cells of a grid across a narrow area
_JOINER = " - "
_BROKEN = (0.75, 0.6, 0.5), (0.4, 0.33, 0.25)
"""Widths of lines that are broken, as parts of the widest: the better, and the worse."""
_CUT = ((0.3, 0.2, 0.1, 0.05),)
"""The same where words are cut."""
_UNBROKEN = 2  # of the ranks of arrangements: lines that are whole, or broken but little


@dataclass(frozen=True, slots=True)
class Lettering:
    """Lettering as strokes, the area it takes, its height in mm (0: none), a warning or "".

    cut: with breaks inside words, which is hard to read.
    """

    strokes: tuple[Stroke, ...] = ()
    zones: tuple[Polygon, ...] = ()
    size: float = 0.0
    warning: str = ""
    cut: bool = False

    def fits(self, size: float) -> bool:
        """Return whether it has words as high as that, and whole."""
        return self.size >= size and not self.cut


class Block(NamedTuple):
    """Lines of lettering, of which the `first` ones are the first of those given."""

    lines: Sequence[str]
    first: int


def lettered(
    lines: Sequence[str],
    card: BaseGeometry,
    taken: Sequence[BaseGeometry],
    height: float,
    grain: FloatArray | None,
    near: FloatArray | None = None,
    *,
    titled: bool = False,
) -> Lettering:
    """Letter the card with `lines`.

    The block lies along the grain (else level), square to it, or along a strip that is oblique to
    both. It is read from the bottom or the right, has letters at most `height` mm high and keeps
    clear of what is `taken` and of the card's edge. To fit, it shrinks through the ISO 3098
    heights, and its lines are joined or broken.
    near: the place, (2,), to which it is laid closest; the card's centre of area by default.
    titled: the first line is a size larger, all of it if it is broken.
    """
    wanted = np.asarray(near if near is not None else card.centroid.coords[0])
    directions = _directions(card, _along(grain))
    sizes = [height] + [smaller for smaller in HEIGHTS if smaller < height - 0.01]
    for air in (_AIR, _CLEAR):
        free = free_area(card, max(air, _EDGE), taken, air)
        grids = [Grid(free, direction, wanted) for direction in directions]
        for size in sizes:
            if air > _CLEAR and size < min(height, LEGIBLE):
                break  # closer to the marks is better than smaller
            if found := _fitting(arrangements(lines, size), grids, size, titled=titled):
                return found
    for size in sizes:  # cut words are better than none
        cut_up = arrangements(lines, size, cut_words=True)
        if found := _fitting(cut_up, grids, size, titled=titled):
            return replace(found, cut=True)
    return Lettering(warning="it has no room for its lettering; write on it by hand")


def lettered_level(
    lines: Sequence[str],
    card: BaseGeometry,
    taken: Sequence[BaseGeometry],
    height: float,
    grain: FloatArray | None,
) -> Lettering | None:
    """Letter the card as `lettered` does, but level and as high as asked, or not at all.

    Its first line is a title; its lines are broken into a few parts at most.
    """
    level = _directions(card, _along(grain))[0]
    grid = Grid(free_area(card, _AIR, taken, _AIR), level, np.asarray(card.centroid.coords[0]))
    return _fitting(arrangements(lines, height)[:_UNBROKEN], [grid], height, titled=True)


def squeezed(
    tiers: Sequence[Sequence[str]],
    number: str,
    card: BaseGeometry,
    taken: Sequence[BaseGeometry],
) -> tuple[Lettering, tuple[str, ...]]:
    """Letter a card too small for a block of lettering with the first of `tiers` that fits.

    It may come close to the edge and to marks. If that fails, the card shows its `number`, which
    the contents card explains; if need be over marks and smaller than `SMALL`. Returns the
    lettering and its lines.
    """
    wanted = np.asarray(card.centroid.coords[0])
    directions = _directions(card, np.array([1.0, 0.0]))
    alone = (number,)
    tries: list[tuple[tuple[str, ...], tuple[float, ...], Sequence[BaseGeometry]]]
    tries = [(tuple(tier), (SMALL,), taken) for tier in tiers]
    tries += [(alone, (LEGIBLE, SMALL), others) for others in (taken, ())]
    tries += [(alone, (1.8, 1.2, 0.8), ())]
    for lines, sizes, others in tries:
        free = free_area(card, _LEAST_EDGE, others, _LEAST_EDGE)
        grids = [Grid(free, direction, wanted) for direction in directions]
        for size in sizes:
            if found := _fitting(arrangements(lines, size), grids, size, titled=False):
                return found, lines
    return Lettering(warning="it is too small for any lettering; write on it by hand"), ()


def _directions(card: BaseGeometry, first: FloatArray) -> list[FloatArray]:
    """Return the directions that lettering may take: this, square to it, and an oblique strip's.

    The more level one comes first: a card hangs with its grain upright.
    """
    square = readable(np.array([-first[1], first[0]]))
    directions = sorted((first, square), key=lambda one: abs(float(one[1])))
    corners = shapely.get_coordinates(card.minimum_rotated_rectangle)
    if len(corners) < 4:
        return directions
    sides = np.diff(corners[:3], axis=0)
    short, long = sorted(sides, key=lambda side: float(np.hypot(*side)))
    axis = long / np.hypot(*long)
    slender = np.hypot(*long) > _SLENDER * np.hypot(*short)
    if slender and max(abs(axis @ known) for known in directions) < _OBLIQUE:
        directions.append(readable(axis))
    return directions


def _along(grain: FloatArray | None) -> FloatArray:
    if grain is None:
        return np.array([1.0, 0.0])
    step = grain[1] - grain[0]
    return readable(step / np.hypot(*step))


def _fitting(
    ranks: Sequence[Sequence[Block]], grids: Sequence[Grid], size: float, *, titled: bool
) -> Lettering | None:
    """Return the first lettering that fits, the better arrangements in all directions first."""
    tries = (_placed(blocks, grid, size, titled=titled) for blocks, grid in product(ranks, grids))
    return next((found for found in tries if found is not None), None)


def _placed(blocks: Iterable[Block], grid: Grid, size: float, *, titled: bool) -> Lettering | None:
    for block, first in blocks:
        large = first if titled else 0
        heights = [size * TITLE] * large + [size] * (len(block) - large)
        wide = max(text_width(*pair) for pair in zip(block, heights, strict=True))
        feet = -np.cumsum([heights[0], *(LEADING * height for height in heights[1:])])
        tall = float(-feet[-1] + _DROP * size)
        corner = grid.place(wide, tall)
        if corner is None:
            continue
        strokes = []
        for line, height, foot in zip(block, heights, feet, strict=True):
            at = corner + np.array([0.0, tall + foot])
            strokes += [
                Stroke((letter + at) @ grid.turn, Work.DRAW, Mark.LETTERING)
                for letter in text_lines(line, height)
            ]
        corners = np.array([[0.0, 0.0], [wide, 0.0], [wide, tall], [0.0, tall]])
        small = f"its lettering had to be {size:g} mm high" if size < 2.5 else ""
        zone = Polygon((corner + corners) @ grid.turn)
        return Lettering(tuple(strokes), (zone,), size, small)
    return None


def arrangements(
    lines: Sequence[str], size: float, *, cut_words: bool = False
) -> list[list[Block]]:
    """Return arrangements of the lines, the best first: whole lines, as given or joined into fewer;
    lines broken between words, into a few parts, and into many.

    cut_words: only broken ones, with breaks inside words too.
    """
    given = [line for line in lines if line.strip()]
    if not given:
        return []
    whole = [] if cut_words else [Block(block, 1) for block in (given, *_joined_up(given, size))]
    ranks = [] if cut_words else [whole]
    widest = max(text_width(line, size) for line in given)
    seen = {tuple(block.lines) for block in whole}
    for shares in _CUT if cut_words else _BROKEN:
        ranks.append([])
        for share in shares:
            parts = [wrapped(line, widest * share, size, cut_words) for line in given]
            block = Block([*chain.from_iterable(parts)], len(parts[0]))
            if tuple(block.lines) not in seen:
                seen.add(tuple(block.lines))
                ranks[-1].append(block)
    return ranks


def _joined_up(block: Sequence[str], size: float) -> Iterator[list[str]]:
    """Yield the lines joined into ever fewer."""
    joined = [*block]
    while len(joined) > 1:
        joined = _joined(joined, size)
        yield joined


def _joined(block: Sequence[str], size: float) -> list[str]:
    """Join the two neighbours that are shortest together; the first line is joined last."""
    first = 1 if len(block) > 2 else 0
    pairs = [text_width(a + _JOINER + b, size) for a, b in pairwise(block[first:])]
    index = first + int(np.argmin(pairs))
    return [*block[:index], block[index] + _JOINER + block[index + 1], *block[index + 2 :]]


class Grid:
    """A free area as a grid of square cells, with a sum table to test any rectangle quickly."""

    def __init__(
        self,
        within: BaseGeometry,
        direction: FloatArray,
        wanted: FloatArray,
        least: float = 1.0,
        *,
        off: FloatArray | None = None,
        reach: float = 0.0,
    ) -> None:
        """least: mm, the side of the smallest cell. off: places, (n, 2), to keep clear of.

        reach: mm that is kept clear round these, in squares along the cells.
        """
        self.turn = np.vstack([direction, [-direction[1], direction[0]]])
        self.wanted = wanted @ self.turn.T
        self.least = least
        self.off = None if off is None else off @ self.turn.T
        self.reach = reach
        angle = float(np.degrees(np.arctan2(direction[1], direction[0])))
        self.free = affinity.rotate(within, -angle, origin=(0.0, 0.0))

    @cached_property
    def table(self) -> tuple[FloatArray, FloatArray, NDArray[np.int32]]:
        """Return the cells' x and y, and the sum table of the free ones."""
        low_x, low_y, high_x, high_y = self.free.bounds
        wide, tall = high_x - low_x, high_y - low_y
        cell = max(min(self.least, min(wide, tall) / _FEWEST), max(wide, tall) / 400.0)
        x, y = np.arange(low_x, high_x + cell, cell), np.arange(low_y, high_y + cell, cell)
        shapely.prepare(self.free)
        free = inside(self.free, x, y).T
        if self.off is not None:
            free &= ~near(self.off, self.reach, x, y).T
        return x, y, summed(free)

    def place(self, wide: float, tall: float) -> FloatArray | None:
        """Return the lower left corner of the free rectangle nearest to the wanted centre."""
        if self.free.is_empty:
            return None
        x, y, sums = self.table
        cell = x[1] - x[0] if len(x) > 1 else 1.0
        across = int(np.ceil(wide / cell)) + 1
        up = int(np.ceil(tall / cell)) + 1
        if up >= sums.shape[0] or across >= sums.shape[1]:
            return None
        held = sums[up:, across:] - sums[:-up, across:] - sums[up:, :-across] + sums[:-up, :-across]
        rows, columns = np.nonzero(held == up * across)
        if not len(rows):
            return None
        corners = np.column_stack([x[columns], y[rows]])
        middles = corners + np.array([wide / 2.0, tall / 2.0])
        away = np.hypot(*(middles - self.wanted).T)
        nearest = corners[int(np.argmin(away))]
        if self._holds(nearest, wide, tall):  # mostly; then the others need not be sorted
            return np.asarray(nearest)
        order = np.argsort(away, kind="stable")
        for corner in corners[order[:: max(1, len(order) // 200)]]:
            if self._holds(corner, wide, tall):
                return np.asarray(corner)
        return None

    def _holds(self, corner: FloatArray, wide: float, tall: float) -> bool:
        left, foot = corner.tolist()
        return bool(self.free.contains(box(left, foot, left + wide, foot + tall)))
