"""Sheets side by side, so that it is quickly found which of them a card may fit."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.free_cells import Bits, first_with_a_place
from plotout.layout.nesting.filling import Filling, Ground, Rule, Turned
from plotout.layout.nesting.shape import Shape

Kind = TypeVar("Kind", bound=np.generic)

_MANY = 32
"""Sheets whose bits lie in one piece of memory."""


class Shelf:
    """Sheets being filled by a rule, of any kinds, in the order in which they were begun."""

    def __init__(self, rule: Rule) -> None:
        self.sheets: list[Filling] = []
        self._rule = rule
        self._rows: dict[int, _Row] = {}
        self._where: list[tuple[_Row, int]] = []

    def add(self, sheet: Filling) -> None:
        """Add a sheet."""
        row = self._rows.setdefault(id(sheet.ground), _Row(sheet.ground, self._rule))
        self._where.append((row, row.add(sheet, len(self.sheets))))
        self.sheets.append(sheet)

    def lay(self, turned: Turned) -> bool:
        """Lay a card on the first sheet that holds it. Returns False if none does."""
        after = -1
        while True:
            may = [row.may_hold(turned, after) for row in self._rows.values()]
            after = min((sheet for sheet in may if sheet is not None), default=-1)
            if after < 0:
                return False
            if self.sheets[after].lay(turned, self._rule):
                row, place = self._where[after]
                row.renew(place)
                return True


class _Row:
    """The sheets of one kind.

    _numbers: (sheets,) theirs on the shelf. _blocked: their bits, in pieces for some sheets each.
    _free: (sheets, columns + 1) their tallest free blocks. _left: (sheets,) area not taken up, mm2.
    _refused: of a shape, (sheets,) on which it did not fit, and so won't with more cards on them.
    """

    def __init__(self, ground: Ground, rule: Rule) -> None:
        self._ground = ground
        self._by_rows = rule is Rule.ROWS
        self._sheets: list[Filling] = []
        self._numbers = np.zeros(0, dtype=np.int64)
        self._blocked: list[Bits] = []
        self._free = np.zeros((0, ground.raster.cells[0] + 1), dtype=np.int64)
        self._left = np.zeros(0)
        self._refused: dict[bytes, NDArray[np.bool_]] = {}

    def add(self, sheet: Filling, number: int) -> int:
        """Add a sheet; return its place in the row."""
        place = len(self._sheets)
        if place % _MANY == 0:
            one = sheet.cells.blocked(by_rows=self._by_rows)
            self._blocked.append(np.zeros((_MANY, *one.shape), dtype=np.uint64))
            self._free = _longer(self._free)
            self._left, self._numbers = _longer(self._left), _longer(self._numbers)
            self._refused = {key: _longer(places) for key, places in self._refused.items()}
        self._sheets.append(sheet)
        self._numbers[place] = number
        self.renew(place)
        return place

    def renew(self, place: int) -> None:
        """Look at a sheet anew, on which a card was laid."""
        sheet = self._sheets[place]
        sheet.cells.keep_in(self._blocked[place // _MANY][place % _MANY], by_rows=self._by_rows)
        self._free[place] = sheet.cells.free
        self._left[place] = self._ground.area - sheet.area

    def may_hold(self, turned: Turned, after: int) -> int | None:
        """Return the number of the first sheet beyond `after` that may hold a card, if any."""
        gap = self._ground.gap
        open_ = (self._left >= turned[0].with_gap(gap)) & (self._numbers > after)
        open_[len(self._sheets) :] = False
        best = len(self._sheets)
        for shape in turned:
            if shape.angle in self._ground.angles:
                best = min(best, self._first(shape, open_[:best]))
        return int(self._numbers[best]) if best < len(self._sheets) else None

    def _first(self, shape: Shape, open_: NDArray[np.bool_]) -> int:
        """Return the place of the first open sheet that may hold the shape; else their number."""
        raster, end = self._ground.raster, len(open_)
        refused = self._refused.setdefault(shape.key, np.zeros(len(self._left), dtype=bool))
        tried = np.flatnonzero(open_ & ~refused[:end])
        if self._ground.sheet.outline is None:
            wide, tall = raster.bounds(shape)
            beside = tried[self._free[tried, wide] >= tall]
            end = min([end, *beside[:1].tolist()])
        counts = raster.counts(shape)[::-1] if self._by_rows else raster.counts(shape)
        tried = tried[tried < end]
        if min(counts) < 1 or not len(tried):
            return end
        asked = raster.asked(shape)
        spans = asked.by_rows if self._by_rows else asked.by_columns
        some = tried[(self._free[np.ix_(tried, asked.wide)] >= asked.tall).all(axis=1)]
        for part in range(0, end, _MANY):
            places = some[(some >= part) & (some < part + _MANY)]
            blocked = self._blocked[part // _MANY]
            found = first_with_a_place(blocked, places - part, spans, np.array(counts), raster.work)
            if found < len(places):
                end = int(places[found])
                break
        refused[tried[tried < end]] = True
        return end


def _longer(array: NDArray[Kind]) -> NDArray[Kind]:
    """Return an array with room for some sheets more."""
    return np.concatenate([array, np.zeros((_MANY, *array.shape[1:]), dtype=array.dtype)])
