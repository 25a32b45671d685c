"""A side of a seam as it is walked: edges that follow each other, of one piece or of several."""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import accumulate
from math import isfinite

import numpy as np

from plotout.geometry.polyline import length
from plotout.geometry.strokes import FloatArray
from plotout.geometry.sureness import Known, Otherwise, known_together, taken_together
from plotout.pattern.model import Edge, Piece


@dataclass(frozen=True)  # no slots: what is walked often is kept
class Link:
    """An edge of a piece as a seam walks it; turned: from its end to its start."""

    piece: Piece
    edge: Edge
    turned: bool

    @cached_property
    def size(self) -> float:
        """Length in mm."""
        return length(self.edge.points)

    @property
    def mirrored(self) -> bool:
        """Whether its twin on a fold's other half is its mirror image, not one more like it."""
        return self.piece.fold is not None or self.piece.turned_over

    @property
    def on_other_half(self) -> Link:
        """What a seam that goes on over a fold walks there in the place of this one."""
        return replace(self, turned=not self.turned) if self.mirrored else self

    def end(self, *, last: bool) -> FloatArray:
        """Return where it begins or ends as walked, (2,)."""
        return np.asarray(self.edge.points[-1 if last != self.turned else 0])

    def folds(self, *, last: bool) -> bool:
        """Return whether it begins or ends at its piece's fold."""
        if self.piece.fold is None:
            return False
        fold, at = self.piece.edge(self.piece.fold).points, self.end(last=last)
        return bool((at == fold[0]).all() or (at == fold[-1]).all())


@dataclass(frozen=True)
class Chain:
    """One side of a seam as walked.

    folds: the end at which it meets its piece's fold: "start", "end" or "". times: how many such
    chains make up the whole seam. twinned: only this side has a mirrored half along the seam, so
    that a notch on it meets two places of the other side. laps: how many such chains follow each
    other along one of the other side (two panels of a cap along its visor; on the fold, each is the
    mirror image of the one before). halved: the end of a half at which the fold is, if a set file
    describes but one half of what is walked; or "".
    """

    links: tuple[Link, ...]
    folds: str
    times: int
    twinned: bool
    laps: int = 1
    halved: str = ""
    mirrored: bool = False

    @property
    def name(self) -> str:
        """The names of its pieces."""
        return " and ".join(dict.fromkeys(link.piece.name for link in self.links))

    @cached_property
    def own(self) -> float:
        """Its length in mm."""
        return sum(link.size for link in self.links)

    @property
    def known(self) -> Known:
        """To how many mm the length of the whole is known."""
        return self._known(self._counts, self._counts).times(self.times)

    @property
    def otherwise(self) -> tuple[Otherwise, ...]:
        """What the length of the whole is by other explanations of its pricks."""
        return tuple(one.times(self.times) for one in self._otherwise(self._counts))

    @property
    def _counts(self) -> Counter[tuple[str, str]]:
        return Counter((link.piece.name, link.edge.name) for link in self.links)

    def known_between(self, low: float, high: float) -> Known:
        """Return to how many mm the length between two places of the seam is known.

        It is that of all the edges between them, from end to end: a part is known no worse. Both
        halves of an edge that goes over the fold are off alike, and so are all cut of one edge.
        """
        return self._known(self._between(low, high), self._between(low, high, whole=True))

    def otherwise_between(self, low: float, high: float) -> tuple[Otherwise, ...]:
        """Return what that length is by other explanations of its pricks."""
        return tuple(one.in_part for one in self._otherwise(self._between(low, high)))

    def _between(self, low: float, high: float, *, whole: bool = False) -> Counter[tuple[str, str]]:
        """Return how often each edge lies between two places of the seam, if only in part."""
        counts = Counter[tuple[str, str]]()
        end = self.own if self.twinned and self.folds == "start" else 0.0
        for link in self.row:
            start, end = end, end + link.size
            spans = [(start, end)]
            if self.twinned:
                spans.append((2.0 * self.own - end, 2.0 * self.own - start))
            counts[link.piece.name, link.edge.name] += sum(
                low - 1e-6 <= first and last <= high + 1e-6
                if whole
                else first < high - 1e-6 and last > low + 1e-6
                for first, last in spans
            )
        return counts

    def _known(
        self, counts: Mapping[tuple[str, str], int], whole: Mapping[tuple[str, str], int]
    ) -> Known:
        """Return to how many mm edges are known together, each so many times, and so many whole.

        Of two whole ones, the one may be too long by what the other is too short.
        """
        edges = {(link.piece.name, link.edge.name): link.edge for link in self.links}
        known = {
            name: Known(edges[name].known_to, edges[name].unproved).times(count)
            for name, count in counts.items()
            if count
        }
        shared = 0.0
        for (piece, name), one in known.items():
            after, against = edges[piece, name].against
            if against and (other := known.get((piece, after))):
                part = whole[piece, name] / counts[piece, name]
                part *= whole[piece, after] / counts[piece, after]
                both = (one.to - one.unproved) * (other.to - other.unproved)
                shared += 2.0 * against * part * both if isfinite(both) else 0.0
        return known_together(known.values(), shared)

    def _otherwise(self, counts: Mapping[tuple[str, str], int]) -> tuple[Otherwise, ...]:
        """Return what edges, each so many times, are together by other explanations."""
        edges = {(link.piece.name, link.edge.name): link.edge for link in self.links}
        return taken_together(
            one._replace(why=f"{one.why} in '{name[0]}'").times(count)
            for name, count in counts.items()
            if count
            for one in edges[name].otherwise
        )

    @cached_property
    def row(self) -> tuple[Link, ...]:
        """Its edges in the order walked, lap after lap, without a mirrored half on the fold."""
        if self.folds and self.laps > 1:
            return self._folded_laps
        if not self.mirrored:
            return self.links * self.laps
        half = self.links * (self.laps // 2)
        twin = tuple(link.on_other_half for link in half[::-1])
        return (*twin, *half) if self.halved == "start" else (*half, *twin)

    @property
    def symmetric(self) -> bool:
        """Whether it is a half with its mirror image, or a pair, and the other side is whole."""
        return self.twinned or (self.mirrored and not self.halved)

    @property
    def _folded_laps(self) -> tuple[Link, ...]:
        """The edges of half pieces from fold to end and back; an even number of them begins with an
        end, since where two pieces are joined lies in the middle of all.
        """
        back = tuple(replace(link, turned=not link.turned) for link in self.links[::-1])
        begins_back = self.laps % 2 == 0 and self.folds == "start"
        return tuple(
            link
            for lap in range(self.laps)
            for link in (back if (lap % 2 == 1) != begins_back else self.links)
        )

    @property
    def walked(self) -> float:
        """Length in mm walked beside the other side, with its mirrored half or its laps."""
        return self.own * (2 if self.twinned else self.laps)

    @property
    def whole(self) -> float:
        """Length of the whole seam, in mm."""
        return self.own * self.times

    def along(self, piece: str, edge: str, here: float, near: float) -> float | None:
        """Return how far along the seam, mm, a place `here` mm along an edge is; None if off it.

        A place of a twinned side, or of one with laps, is there several times: the one nearest to
        `near` mm is meant.
        """
        found, walked = [], 0.0
        for link in self.row:
            if (link.piece.name, link.edge.name) == (piece, edge):
                found.append(walked + (link.size - here if link.turned else here))
            walked += link.size
        if self.twinned:
            past = [at if self.folds == "start" else self.own - at for at in found]
            found = [self.own + sign * at for at in past for sign in (1.0, -1.0)]
        return min(found, key=lambda at: abs(at - near), default=None)

    def on_edge(self, along: float) -> tuple[str, str, float]:
        """Return piece and edge at `along` mm of the seam, and the distance along that edge.

        The second half of a twinned side lies on the same edges as the first, and so does each lap.
        """
        if self.twinned:
            past = along - self.own
            along = abs(past) if self.folds == "start" else self.own - abs(past)
        index = min(bisect_left(self._ends, along - 1e-6), len(self.row) - 1)
        link = self.row[index]
        here = along - (self._ends[index - 1] if index else 0.0)
        here = min(max(here, 0.0), link.size)
        return link.piece.name, link.edge.name, link.size - here if link.turned else here

    @cached_property
    def _ends(self) -> list[float]:
        """How far along, mm, each edge of its row ends."""
        return list(accumulate(link.size for link in self.row))
