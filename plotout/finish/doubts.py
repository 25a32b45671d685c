"""Finds what a set says that may not have been meant: noted, never corrected.

What is told, and its figures, is common practice in pattern rooms, from memory.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from shapely import LinearRing, LineString, Point, hausdorff_distance

from plotout.finish.drills import drill_doubts
from plotout.finish.edge_words import turned_over
from plotout.finish.prepare import upright
from plotout.geometry.polyline import direction_at, length, point_at
from plotout.pattern.cloths import is_fusing
from plotout.pattern.model import Cut, Edge, PatternSet, Piece, Seam
from plotout.pattern.piece_marks import within
from plotout.pattern.settings import Corner
from plotout.pattern.sides import Chain, chains
from plotout.pattern.true_measure import bow

WIDE = 80.0  # mm: a wider allowance is queried; common practice ends at deep hems
NARROW = 2.0  # mm: a narrower allowance holds no stitch; it may be inches or centimetres
HANDED = 8.0  # mm by which a piece turned over differs: left and right are told apart
GRADED = 3.0  # mm: by as much the layers of a seam are made narrower, to lie flat
THIN = 5.0  # mm: a narrower piece is queried
LONG = 8000.0  # mm: a longer piece is queried
EASED = 50.0  # mm by which a lining is wider than its piece at each side: more is queried
STRAIGHT = 1.0  # mm by which a stripe line may bow
_TOGETHER = 5.0  # mm: edges sewn together for less only meet at a notch or a corner
_SWAPPED = 4  # letters that a word has at least, for two swapped to be seen as a slip
_SPELT = 5  # letters that a word has at least, for one wrong letter in it to be seen as such


def doubts(piece: Piece) -> Iterator[str]:
    """Yield what a piece lacks, and what it says that may not be meant."""
    if piece.grain is None:
        yield "it has no grain line: write grain = { along = EDGE }, or give two points"
    elif (inside := within(piece.grain, piece.outline)) < length(piece.grain) / 2.0:
        whole = length(piece.grain)
        yield f"of its grain line's {whole:.0f} mm only {inside:.0f} lie in the piece: is it right?"
    yield from (*_sized(piece), *drill_doubts(piece), *_bent_stripes(piece))
    if not piece.cuts:
        yield "nothing is cut with it: write cut = [{ cloth = ..., count = ... }]"
    for edge in piece.edges:
        widest = max(edge.allowance)
        if widest > WIDE or 0.0 < widest < NARROW:
            yield f"the allowance of '{edge.name}' is {widest:g} mm: is its unit right?"
    for cut in piece.cuts:
        if cut.pair and (cut.on_fold or piece.fold):
            yield (
                f"'{cut}': a piece on the fold is its own mirror image; for {cut.pieces} of it "
                f"write count = {cut.pieces}, without pair"
            )
        if _same_hand(cut, piece):
            yield (
                f"the {cut.count} of {cut.cloth} are all cut the same way round: if left and right "
                f"are meant, write pair = true and count = {cut.count // 2}"
            )


def _sized(piece: Piece) -> Iterator[str]:
    """Yield sizes that may have a wrong unit: a piece as a whole, what it is eased by, a facing."""
    thin, long = sorted(np.ptp(piece.outline, axis=0).tolist())
    if thin < THIN:
        yield f"it is only {thin:.3g} mm wide: is its unit right?"
    if long > LONG:
        yield f"it is {long / 1000.0:.1f} m long: is its unit right?"
    if piece.derive is not None and piece.derive.ease > EASED:
        yield f"its ease is {piece.derive.ease:g} mm at every side: is its unit right?"
    for edge in piece.edges:
        wide, depth = max(edge.allowance), _depth(edge, piece)
        if edge.corner is Corner.TURNED and wide > depth:
            yield (
                f"folded over, the {wide:g} mm of '{edge.name}' reach past the piece, which is "
                f"{depth:.0f} mm deep there"
            )


def _depth(edge: Edge, piece: Piece) -> float:
    """Return how far the piece reaches, mm, square to the middle of an edge; endless to a fold."""
    middle = length(edge.points) / 2.0
    at, way = point_at(edge.points, middle), direction_at(edge.points, middle)
    inward = np.array([-way[1], way[0]])
    ray = LineString([at + inward * 0.1, at + inward * 1e4])
    hits = {
        other.name: LineString(other.points).intersection(ray).distance(Point(at))
        for other in piece.edges
        if LineString(other.points).intersects(ray)
    }
    nearest = min(hits, key=lambda name: hits[name], default="")
    return float(hits[nearest]) if nearest and nearest != piece.fold else np.inf


def _bent_stripes(piece: Piece) -> Iterator[str]:
    for line in piece.lines:
        if line.kind in ("stripe", "plaid") and (bowed := bow(line.points)) > STRAIGHT:
            yield f"its {line.kind} line '{line.name}' is not straight: it bows {bowed:.1f} mm"


def _same_hand(cut: Cut, piece: Piece) -> bool:
    """Return whether an even number is cut as drawn of a piece that is not the same turned over."""
    if cut.pair or cut.on_fold or piece.fold or cut.count % 2:
        return False
    turned = any(other is not cut and other.reversed != cut.reversed for other in piece.cuts)
    piece = upright(piece)
    own = LinearRing(piece.outline)
    return not turned and all(
        hausdorff_distance(own, other.exterior, 0.2) > HANDED for other in turned_over(piece)
    )


def seam_doubts(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[str]:
    """Yield the seams whose two sides have different allowances where they are sewn together."""
    for seam in seams:
        first, second = (_widths(side) for side in chains(seam, pattern_set.piece))
        told: set[tuple[str, str]] = set()
        for one in first:
            for other in second:
                low, high = max(one.start, other.start), min(one.end, other.end)
                at = (low + high) / 2.0
                pair = one.piece, other.piece
                if high - low < _TOGETHER or abs(one.at(at) - other.at(at)) <= GRADED:
                    continue
                if pair not in told:
                    yield (
                        f"seam '{seam.name}': its allowance is {one.at(at):.4g} mm on "
                        f"'{one.piece}', but {other.at(at):.4g} mm on '{other.piece}'"
                    )
                told.add(pair)


@dataclass(frozen=True, slots=True)
class _Width:
    """The allowance of an edge from `start` to `end` mm along a seam, linear between."""

    piece: str
    start: float
    end: float
    first: float
    last: float

    def at(self, along: float) -> float:
        return self.first + (self.last - self.first) * (along - self.start) / (
            self.end - self.start
        )


def _widths(side: Chain) -> list[_Width]:
    """Return the allowances along one side of a seam, as walked."""
    found, start = [], 0.0
    for link in side.links:
        first, last = link.edge.allowance[::-1] if link.turned else link.edge.allowance
        found.append(_Width(link.piece.name, start, start + link.size, first, last))
        start += link.size
    if not side.twinned:
        return found
    mirrored = [
        _Width(w.piece, 2.0 * start - w.end, 2.0 * start - w.start, w.last, w.first) for w in found
    ]
    if side.folds == "end":
        return found + mirrored[::-1]
    shifted = [replace(w, start=w.start + start, end=w.end + start) for w in found]
    return [replace(w, start=w.start - start, end=w.end - start) for w in mirrored[::-1]] + shifted


def same_edges(seams: Sequence[Seam]) -> Iterator[str]:
    """Yield the seams that sew the same edges to each other as one before them."""
    first: dict[frozenset[frozenset[tuple[str, str]]], str] = {}
    for seam in seams:
        sides = frozenset(
            frozenset((piece, edge) for piece, edge, _ in side.edges)
            for side in (seam.first, seam.second)
        )
        if sides in first:
            yield f"seam '{seam.name}': it sews the same edges as seam '{first[sides]}'"
        first.setdefault(sides, seam.name)


def cloth_doubts(pattern_set: PatternSet) -> Iterator[str]:
    """Yield cloths whose names differ only in capitals, in spaces or by one letter.

    An area called fusing counts as the cloth that it is cut from.
    """
    pieces, say = pattern_set.pieces, pattern_set.say
    names = dict.fromkeys(cut.cloth for piece in pieces for cut in piece.cuts)
    if any(is_fusing(area.name, say) for piece in pieces for area in piece.areas):
        names[say("fusing")] = None
    alike: dict[str, list[str]] = {}
    for name in names:
        alike.setdefault(" ".join(name.split()).casefold(), []).append(name)
    for same in alike.values():
        if len(same) > 1:
            every = " and ".join(f"'{name}'" for name in same)
            yield f"{every} are treated as different cloths: use one spelling"
    for one, other in combinations(alike, 2):
        if _one_letter_apart(one, other):
            yield (
                f"'{alike[one][0]}' and '{alike[other][0]}' are treated as different cloths: "
                "if they are one, use one spelling"
            )


def _one_letter_apart(one: str, other: str) -> bool:
    """Return whether two names differ by one letter more, less or else, in one long word.

    Two letters swapped count too, in shorter words.

    Numbers and short words tell cloths apart: cotton 1 and cotton 2, wool A and wool B.
    """
    words, others = re.split(r"[\s\-_/]+", one), re.split(r"[\s\-_/]+", other)
    if len(words) != len(others):
        return False
    unlike = [pair for pair in zip(words, others, strict=True) if pair[0] != pair[1]]
    if len(unlike) != 1:
        return False
    short, long = sorted(unlike[0], key=len)
    if _swapped(short, long):
        return True
    if len(short) < _SPELT or len(long) - len(short) > 1 or not (short + long).isalpha():
        return False
    at = next((k for k, letter in enumerate(short) if letter != long[k]), len(short))
    return short[at + (len(short) == len(long)) :] == long[at + 1 :]


def _swapped(one: str, other: str) -> bool:
    """Return whether two words differ by the order of two letters side by side."""
    if len(one) != len(other) or len(one) < _SWAPPED or not (one + other).isalpha():
        return False
    unlike = [k for k, letter in enumerate(one) if letter != other[k]]
    if len(unlike) != 2 or unlike[1] != unlike[0] + 1:
        return False
    first, second = unlike
    return (one[first], one[second]) == (other[second], other[first])
