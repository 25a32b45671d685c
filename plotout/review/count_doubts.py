"""Finds pieces of which more are cut than the garment takes: noted, never corrected.

Collars, cuffs and yokes are cut in layers, each with its own seams. That a piece with a hem isn't,
or its neighbour is too, and that a tube such as a sleeve is sewn in by all that are cut of it, is
common practice, from memory. So is it that a pocket bag has two sides.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence, Set

from plotout.errors import quoted
from plotout.pattern.chain import Chain
from plotout.pattern.cloths import halves, is_fusing, most_of_a_cloth, sewn_cuts
from plotout.pattern.model import PatternSet, Piece, Seam
from plotout.pattern.number_cut import Sides, are
from plotout.pattern.sides import chains
from plotout.review.doubled import sewn_onto_their_twins, single_layers
from plotout.review.hems_met import hems_met
from plotout.review.joined_tubes import joined_tubes
from plotout.review.layers import Layers, layers_of, with_linings
from plotout.review.panel_counts import panel_counts
from plotout.review.strip_counts import strip_counts
from plotout.review.tubes import rings, tubes

_BAG = {"pocket", "bag"}


def count_doubts(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[str]:
    """Yield the pieces of which a whole layer too many may be cut, and single pocket bags.

    seams: those that can be walked.
    """
    say = pattern_set.say
    sides = {seam.name: chains(seam, pattern_set.piece) for seam in seams}
    layers = layers_of(sides, say)
    by_hem = dict(_more_than_their_hem(seams, pattern_set, layers))
    yield from by_hem.values()
    asked = set(by_hem)
    yield from _tubes_left_over(seams, pattern_set, layers, asked)
    yield from _joined_left_over(seams, pattern_set, layers, asked)
    yield from panel_counts(sides, pattern_set, layers, asked)
    yield from strip_counts(sides, pattern_set, layers, asked)
    yield from _fused_in_part(seams, pattern_set, layers)
    yield from single_layers(seams, sides, pattern_set)
    yield from _joined_too_often(seams, pattern_set, layers)
    yield from _too_few_rings(seams, pattern_set, sides, layers)
    for piece in pattern_set.pieces:
        cut = sum(cut.pieces for cut in sewn_cuts(piece, say))
        named = set(re.findall(r"\w+", piece.name.casefold())) >= _BAG
        if named and cut == 1 and piece.fold is None:
            yield f"{piece.name}: one is cut of it: a bag has two sides; is its count right?"


def _fused_in_part(seams: Sequence[Seam], pattern_set: PatternSet, layers: Layers) -> Iterator[str]:
    """Yield the pieces of which fewer are fused than are cut, though all are sewn in one layer: one
    of two cuffs. Of a left and a right the one with the buttons may be fused alone, of a collar in
    two layers one, also if a seam joins these.
    """
    doubled = sewn_onto_their_twins(seams, pattern_set)
    for piece in pattern_set.pieces:
        times, sewn = layers.get(piece.name, {}), most_of_a_cloth(piece, pattern_set.say)
        fused = sum(cut.pieces for cut in piece.cuts if is_fusing(cut.cloth, pattern_set.say))
        if piece.turned_over or (piece.name in doubled and sewn == 2 * fused):
            continue
        if 0 < fused < sewn and set(times.values()) == {1}:
            yield (
                f"{piece.name}: {fused} {are(fused)} cut of fusing, but {sewn} of cloth, each sewn "
                "by itself: is its count right?"
            )


def _more_than_their_hem(
    seams: Sequence[Seam], pattern_set: PatternSet, layers: Layers
) -> Iterator[tuple[str, str]]:
    """Yield the pieces cut in more layers than that into which their hem goes on, with a note."""
    asked: set[str] = set()
    centre = {seam.name for seam in seams if seam.first.edges == seam.second.edges}
    for _, *both in hems_met(seams, pattern_set):
        times = [_least(side.piece, layers, centre) for side in both]
        more, fewer = max(times), min(times)
        one, other = both if times[0] == more else both[::-1]
        lined = with_linings(other.piece, one.piece, pattern_set)
        if more > fewer * lined > 0 and one.piece.name not in asked:
            asked.add(one.piece.name)
            yield (
                one.piece.name,
                f"{one.piece.name}: it is cut {more} times as often as '{other.piece.name}' takes, "
                f"which its '{one.edge.name}' goes on into: is its count right?",
            )


def _least(piece: Piece, layers: Layers, centre: Set[str]) -> int:
    """Return how often a piece would go into its seams but for centre seams, which sew all."""
    found = layers.get(piece.name, {})
    return min((times for name, times in found.items() if name not in centre), default=0)


def _tubes_left_over(
    seams: Sequence[Seam], pattern_set: PatternSet, layers: Layers, asked: set[str]
) -> Iterator[str]:
    """Yield the pieces that a seam closes to a tube, of which another takes only a part.

    asked: the pieces that are asked about already, to which are added those asked about here.
    """
    for piece, closing in _closed(seams, pattern_set):
        others = {name: n for name, n in layers.get(piece.name, {}).items() if name != closing}
        if not others or (halves(piece) > 1 and min(others.values()) == 1):
            continue  # of a piece on the fold, a seam may take but one half
        name = max(others, key=lambda seam: others[seam])
        if others[name] > 1:
            asked.add(piece.name)
            many = most_of_a_cloth(piece, pattern_set.say)
            yield (
                f"{piece.name}: seam '{closing}' closes {many} of it, but seam '{name}' takes "
                f"only {many // others[name]}: is its count right, or that of what it is sewn to?"
            )


def _closed(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[tuple[Piece, str]]:
    """Yield the pieces that one seam closes to a tube, also from one edge on the fold to itself."""
    for tube in tubes(seams, pattern_set):
        yield tube.piece, tube.seam
    for joined in joined_tubes(seams, pattern_set):
        if len(joined.parts) == len(joined.seams) == 1 and joined.deep:
            yield joined.parts[0].piece, joined.seams[0]


def _joined_left_over(
    seams: Sequence[Seam], pattern_set: PatternSet, layers: Layers, asked: set[str]
) -> Iterator[str]:
    """Yield the pieces of a tube of which the others take only a part: a sleeve in two.

    asked: the pieces that are asked about already.
    """
    for tube in joined_tubes(seams, pattern_set):
        for part in tube.parts if tube.deep else ():
            name, others = part.piece.name, tube.names - {part.piece.name}
            own = _times(name, tube.seams, layers)
            theirs = [_times(other, tube.seams, layers) for other in others]
            lined = min((with_linings(pattern_set.piece(other), part.piece, pattern_set)
                         for other in others), default=1)  # fmt: skip
            if not theirs or name in asked or own <= lined or set(theirs) != {1}:
                continue
            asked.add(name)
            many = most_of_a_cloth(part.piece, pattern_set.say)
            of_others = quoted(sorted(others))
            yield (
                f"{name}: seams make a tube of it and {of_others}, but of {many} cut of it they "
                f"take only {many // own}: is its count right?"
            )


def _joined_too_often(
    seams: Sequence[Seam], pattern_set: PatternSet, layers: Layers
) -> Iterator[str]:
    """Yield the tubes of several pieces, all cut as often, of which another seam takes only a part.

    A body's tube has a fold or a seam of left to right, and may be lined with its own cloth.
    """
    of_one_edge = {seam.name for seam in seams if seam.of_one_edge}
    for tube in joined_tubes(seams, pattern_set):
        pieces = [part.piece for part in tube.parts]
        within = {name for piece in pieces for name in layers.get(piece.name, {})}
        if not tube.deep or len(pieces) == 1 or within & of_one_edge or any(p.fold for p in pieces):
            continue
        taken = {name: {layers[p.name][name] for p in pieces if name in layers.get(p.name, {})}
                 for name in sorted(within - {*tube.seams})}  # fmt: skip
        short = [name for name, times in taken.items() if min(times) > 1]
        if short and len({most_of_a_cloth(p, pattern_set.say) for p in pieces}) == 1:
            many, (first, *others) = most_of_a_cloth(pieces[0], pattern_set.say), pieces
            of_others = quoted(sorted(piece.name for piece in others))
            yield (
                f"{first.name}: seams make {many} tubes of it and {of_others}, but seam "
                f"'{short[0]}' takes only {many // min(taken[short[0]])}: are their counts right?"
            )


def _times(piece: str, seams: Sequence[str], layers: Layers) -> int:
    """Return how often what is cut of a piece would go into those of the seams that it is in."""
    found = layers.get(piece, {})
    return min((found[name] for name in seams if name in found), default=0)


def _too_few_rings(
    seams: Sequence[Seam], pattern_set: PatternSet, sides: Mapping[str, Sides], layers: Layers
) -> Iterator[str]:
    """Yield the tubes that go round several of a piece, but not round all that are sewn together.

    A mitten's two hands are sewn to each other and to one cuff, so no hand is a layer. Beside a
    band only a seam with another piece shows that: what is sewn to itself may be layers in it.
    """
    for tube in rings(seams, pattern_set):
        for name, pair in sides.items():
            for ring, within in (pair, pair[::-1]):
                if within.laps == 1 or _pieces(ring) != {tube.piece.name}:
                    continue
                (sewn,) = _pieces(within) if len(_pieces(within)) == 1 else ("",)
                times = layers.get(sewn, {})
                own = {sewn} if tube.is_band else set()
                all_of_it = next(
                    (
                        other
                        for other, often in times.items()
                        if often == 1 and set().union(*map(_pieces, sides[other])) != own
                    ),
                    "",
                )
                if all_of_it and times.get(name, 1) > 1:
                    many = most_of_a_cloth(pattern_set.piece(sewn), pattern_set.say)
                    yield (
                        f"{tube.piece.name}: seam '{name}' takes only {many // times[name]} of "
                        f"{many} '{sewn}', but seam '{all_of_it}' all of them: is its count right?"
                    )


def _pieces(side: Chain) -> set[str]:
    return {link.piece.name for link in side.links}
