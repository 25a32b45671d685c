"""Whether stripes can meet across seams that run lengthwise, once every piece's line is matched.

A piece is laid so that its stripe or plaid line lies on a whole repeat. A bar of the cloth then
crosses a seam at one height on both sides only if both seam lines lie equally far from their
pieces' lines, but for whole repeats.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from plotout.errors import UserError
from plotout.finish.derive import cut_pieces
from plotout.finish.prepare import lengthwise
from plotout.geometry.polyline import distances
from plotout.pattern.chain import Chain
from plotout.pattern.model import PatternSet
from plotout.pattern.sides import chains
from plotout.rack.repeats import lines_of

_PLACES = 41  # at which a seam is looked at
_LENGTHWISE = 0.5  # of a seam's length that it rises at least; else bars run along it
_FEWEST = 3  # places on the same two pieces


@dataclass(frozen=True, slots=True)
class Parted:
    """A seam across which stripes can't meet. off: mm by which they miss at the best place."""

    seam: str
    first: str
    second: str
    off: float


def parted(
    pattern_set: PatternSet, cloth: str, repeat: float, grown: float = 1.0
) -> tuple[Parted, ...]:
    """Return the set's seams, both sides of this cloth, along which stripes meet nowhere.

    repeat: lengthwise, mm; 0 for none. grown: by which pieces are cut longer for shrinkage. What
    can't be judged is left out: pieces without a line, seams across the grain or that turn a piece
    upside down, and sides of which several make up the seam.
    """
    cut = {
        piece.name: lengthwise(piece)
        for piece in cut_pieces(pattern_set)
        if not piece.bias and any(one.cloth == cloth for one in piece.cuts)
    }
    found = []
    for seam in pattern_set.seams if repeat else ():
        try:
            first, second = chains(seam, cut.__getitem__)
        except (KeyError, UserError):
            continue  # of another cloth; what can't be walked is reported elsewhere
        if first.times == second.times == 1:
            off = _off(first, second, repeat / grown)
            if off > max(pattern_set.defaults.tolerance, abs(first.whole - second.whole)):
                found.append(Parted(seam.name, first.name, second.name, off * grown))
    return tuple(found)


def _off(first: Chain, second: Chain, repeat: float) -> float:
    """Return by how much stripes miss at the best place of a seam, mm; 0 where it isn't known."""
    shares = np.linspace(0.0, 1.0, _PLACES)
    sides = [[_height(chain, share) for share in shares] for chain in (first, second)]
    pairs: dict[tuple[str, str], list[tuple[float, float]]] = {}
    for one, other in zip(*sides, strict=True):
        if one is not None and other is not None:
            pairs.setdefault((one[0], other[0]), []).append((one[1], other[1]))
    best = np.inf
    for heights in pairs.values():
        rises = np.ptp(np.array(heights), axis=0)
        long = np.array([first.own, second.own]) * (len(heights) - 1) / (_PLACES - 1)
        slopes = np.diff(np.array(heights), axis=0)
        if len(heights) < _FEWEST or (rises < _LENGTHWISE * long).any():
            continue
        if (slopes[:, 0] * slopes[:, 1] < 0.0).any():
            continue
        away = [one - other for one, other in heights]
        best = min([best, *(_least(a, b, repeat) for a, b in pairwise(away))])
    return 0.0 if np.isinf(best) else float(best)


def _least(one: float, other: float, repeat: float) -> float:
    """Return the distance from a whole repeat that is least between two values, mm."""
    low, high = sorted((one, other))
    if np.floor(high / repeat) > np.floor(low / repeat):
        return 0.0
    return min(abs(value - round(value / repeat) * repeat) for value in (low, high))


def _height(chain: Chain, share: float) -> tuple[str, float] | None:
    """Return the piece at a share of a side, and how far above its stripe line, mm."""
    at = share * chain.own
    for link in chain.links:
        if at <= link.size + 1e-6 or link is chain.links[-1]:
            along = lines_of(link.piece).along
            points = link.edge.points[::-1] if link.turned else link.edge.points
            reached = distances(points)
            up = float(np.interp(at, reached, points[:, 1]))
            return None if along is None else (link.piece.name, up - along)
        at -= link.size
    return None
