"""Edges that go into more seams than pieces with them are cut: held in a folded band, or too few.

Both edges of a band go to one edge that it is folded over. Both edges of a gusset go to two edges
of pieces that are alike. A set file says both in the same words; only the number cut differs.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from plotout.errors import quoted
from plotout.pattern.by_cloth import by_cloth
from plotout.pattern.chain import Chain
from plotout.pattern.number_cut import Key, Sides, Use, sewn_to_themselves, taken_by, uses
from plotout.tongue import Tongue

_TIE = 3.0  # times as long as its end that a tie is at least


@dataclass(frozen=True, slots=True)
class Held:
    """An edge that both edges of one other piece, the band, are sewn to, in two seams.

    cut: how many of its piece are cut, too few for one to each seam. folds: whether the band can
    be folded over it: its ends are free, or sewn to bands. cloth: that of which too few are cut,
    while of another cloth there are enough, so that nothing is folded; or "".
    """

    piece: str
    edge: str
    band: str
    band_edges: tuple[str, str]
    seams: tuple[str, str]
    cut: int
    folds: bool
    cloth: str = ""


def held(seams: Mapping[str, Sides], say: Tongue) -> list[Held]:
    """Return the edges that two seams take from fewer pieces than both need."""
    unlike = list(_unlike(seams, say))
    told = {_where(one) for one in unlike}
    found = [one for one in _held(seams, say) if _where(one) not in told]
    bands = {one.band: {edge for o in found if o.band == one.band for edge in o.band_edges}
             for one in found}  # fmt: skip
    beside = _beside(seams)
    folded = set(bands)
    while unfolded := {name for name in folded if not _free(name, bands[name], beside, folded)}:
        folded -= unfolded
    return [*(replace(one, folds=one.band in folded) for one in found), *unlike]


def _unlike(seams: Mapping[str, Sides], say: Tongue) -> Iterator[Held]:
    """Yield the edges that are held in one cloth, while another has one of them for each seam."""
    cloths = by_cloth(seams, say)
    lacking = {cloth: list(_held(own, say)) for cloth, own in cloths.items()}
    for cloth, found in lacking.items():
        for one in found:
            others = (
                name for name, own in cloths.items() if name != cloth and {*one.seams} <= own.keys()
            )
            if any(_where(one) not in map(_where, lacking[name]) for name in others):
                yield replace(one, cloth=cloth)


def _where(one: Held) -> tuple[str, str, tuple[str, str]]:
    return one.piece, one.edge, one.seams


def _held(seams: Mapping[str, Sides], say: Tongue) -> Iterator[Held]:
    takes: dict[Key, dict[str, int]] = defaultdict(dict)
    there: dict[Key, Use] = {}
    closed = sewn_to_themselves(seams)
    for name, sides in seams.items():
        found = uses(sides, closed, say)
        for use in found:
            key = use.piece.name, use.edge
            takes[key][name], there[key] = taken_by(use, found), use
    for key, by_seam in takes.items():
        for pair in combinations(by_seam, 2):
            if sum(by_seam[name] for name in pair) <= there[key].there:
                continue
            one, other = (_across(seams[name], key) for name in pair)
            for band in one.keys() & other.keys():
                if one[band] == other[band] or band == key[0]:
                    continue
                ends = {pair[0]: (band, one[band]), pair[1]: (band, other[band])}
                left = (there[end].there - _but_for(takes[end], name)
                        for name, end in ends.items() if end in there)  # fmt: skip
                if _between_layers(key, ends, takes, seams):
                    continue
                halved = all(many <= there[key].there // 2 for many in left)
                if not (halved and _by_hands(key, ends, seams)):
                    edges = one[band], other[band]
                    yield Held(*key, band, edges, (pair[0], pair[1]), there[key].cut, folds=False)


def _between_layers(
    key: Key,
    ends: Mapping[str, Key],
    takes: Mapping[Key, Mapping[str, int]],
    seams: Mapping[str, Sides],
) -> bool:
    """Return whether an edge may be one end of a tie, sewn in between two layers of a band at both
    its ends: nothing else of its piece is sewn, and enough are cut for one to each seam.

    ends: by seam the edge of the band.
    """
    alone = [edge for piece, edge in takes if piece == key[0]] == [key[1]]
    links = {(link.piece.name, link.edge.name): link
             for name in ends for side in seams[name] for link in side.links}  # fmt: skip
    tie = links[key].piece
    layered = not any(links[ends[name]].piece.paired for name in ends)
    cut = sum(order.pieces for order in tie.cuts)
    long = float(np.ptp(tie.outline, axis=0).max()) >= _TIE * links[key].size
    return alone and long and layered and tie.fold is None and cut >= len(ends)


def _but_for(taken: Mapping[str, int], seam: str) -> int:
    """Return how many of an edge other seams take."""
    return sum(many for name, many in taken.items() if name != seam)


def _by_hands(key: Key, ends: Mapping[str, Key], seams: Mapping[str, Sides]) -> bool:
    """Return whether one seam can take only the left ones of a pair, and another only the right
    ones: the doors of a tent, to both edges of walls that are all cut alike.

    ends: by seam the edge of the other piece.
    """
    hands = set()
    for name, end in ends.items():
        links = {(link.piece.name, link.edge.name): link for s in seams[name] for link in s.links}
        own, other = links[key], links[end]
        hands.add(own.turned == other.turned)
        if other.mirrored or own.piece.fold or not all(cut.pair for cut in own.piece.cuts):
            return False
    return len(hands) > 1


def _across(sides: Sides, key: Key) -> dict[str, str]:
    """Return the pieces, with the last of their edges, on the side of a seam that lacks an edge."""
    without = [side for side in sides if key not in _keys(side)]
    return dict(_keys(without[0])) if len(without) == 1 else {}


def _keys(side: Chain) -> list[Key]:
    return [(link.piece.name, link.edge.name) for link in side.links]


def _beside(seams: Mapping[str, Sides]) -> dict[Key, set[str]]:
    """Return to which pieces each edge is sewn."""
    found: dict[Key, set[str]] = defaultdict(set)
    for first, second in seams.values():
        for one, other in ((first, second), (second, first)):
            for key in _keys(one):
                found[key] |= {piece for piece, _ in _keys(other)}
    return found


def _free(band: str, edges: set[str], beside: Mapping[Key, set[str]], folded: set[str]) -> bool:
    """Return whether a band's other edges are sewn to nothing, or to folded bands only."""
    ends = [pieces for (name, edge), pieces in beside.items() if name == band and edge not in edges]
    return all(pieces <= folded for pieces in ends)


def too_few_to_hold(seams: Mapping[str, Sides], say: Tongue) -> dict[str, list[str]]:
    """Return by seam, in words, the edges that it needs from a piece that another seam takes."""
    words: dict[str, list[str]] = defaultdict(list)
    edges: dict[Held, list[str]] = defaultdict(list)
    for one in held(seams, say):
        if not one.folds:
            edges[replace(one, edge="", band="", band_edges=("", ""))].append(one.edge)
    for one, names in edges.items():
        both = dict.fromkeys(names)
        of_it = f" of {one.cloth}" if one.cloth else ""
        words[one.seams[1]].append(
            f"{quoted(both)} of '{one.piece}' {'is' if len(both) == 1 else 'are'} in seam "
            f"'{one.seams[0]}' too, and only {one.cut} {'is' if one.cut == 1 else 'are'} "
            f"cut{of_it}: does each seam need its own?"
        )
    return dict(words)
