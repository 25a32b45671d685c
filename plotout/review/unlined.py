"""Finds panels without a lining between panels that are lined.

Noted, never corrected. That a garment may be lined only in front, only in its body or only above,
but not on both sides of a panel, nor at its back alone if that has a shoulder, is common practice,
from memory. So is it that a godet, which doesn't reach to the top, has no lining, and that both
parts of a sleeve have one, or neither.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass
from itertools import permutations

from plotout.errors import quoted
from plotout.geometry.polyline import signed_area
from plotout.pattern.cloths import (
    cut_by_cloth,
    halves,
    is_lining,
    is_stiffening,
    share_a_cloth,
)
from plotout.pattern.model import Derive, PatternSet, Piece, Seam
from plotout.pattern.number_cut import Key, Sides, sewn_to_themselves, uses
from plotout.pattern.sides import chains, sewn_edges
from plotout.pattern.true_measure import slant
from plotout.review.edges_met import edges_met
from plotout.review.ends_alike import end_alike
from plotout.review.faces import faces_in
from plotout.review.grain_doubts import bent
from plotout.review.hems_met import joined_twice
from plotout.review.layers import layers_of, made_from
from plotout.review.side_doubts import OneSide, are_panels, one_side
from plotout.tongue import Tongue

_FEW_CM = 60.0  # mm by which a lining is shorter than its piece, if it isn't half a one
_ALONG, _LONG = 30.0, 2.0  # degrees between a gusset's edge and its grain; times as long as wide
_ALL_ROUND = 3  # edges of a piece that has others all round it, at least
_ACROSS = 45.0  # degrees between a shoulder and the grain, at least
_AS_LARGE = 0.7  # times a panel's area: a piece of lining so large may be drawn for it (estimated)


@dataclass(frozen=True, slots=True)
class _Joint:
    """A seam of a panel with another, along the grain of both, or of a gusset round it.

    edge: its name, of several of the first; the fold's for a piece's other half. its_edges: those
    of the other. goes_on: whether what
    is past both ends is sewn on both sides, or on neither: a bag's back may have a flap there.
    """

    seam: str
    edge: str
    other: str
    its_edges: frozenset[str]
    goes_on: bool


def unlined(seams: Sequence[Seam], pattern_set: PatternSet) -> list[str]:
    """Return what to ask of the panels that may lack a lining, or a second cloth, since those
    beside them have one.

    seams: those that can be walked.
    """
    sides = {seam.name: chains(seam, pattern_set.piece) for seam in seams}
    layers = layers_of(sides, pattern_set.say)
    of_left_and_right = {name for name, _ in sewn_to_themselves(sides)}
    found = []
    for name, every in _joints(sides, pattern_set).items():
        twins = _lies_between_twins(every)
        joints = [joint for joint in every if twins or joint.goes_on]
        piece, others = pattern_set.piece(name), sorted({joint.other for joint in joints})
        part_of_sleeve = piece.paired and name not in of_left_and_right
        held = len(others) > 1 or part_of_sleeve or twins
        if not (held and _lies_between(piece, joints)) or any(
            layers[name].get(joint.seam) != 1 for joint in joints
        ):
            continue
        inside = [_more_cloths(pattern_set.piece(other), piece, pattern_set) for other in others]
        cloths = {cloth for more in inside for cloth in more}
        if all(inside) and not _may_be_lined(piece, cloths, pattern_set):
            beside = f"{quoted(others)} on both sides of it {'are' if others[1:] else 'is'}"
            found.append(f"{name}: {beside} {_words(inside)} missing?")
    found += _unlined_within(sides, pattern_set, {words.partition(":")[0] for words in found})
    return [*found, *_unlined_fronts(seams, pattern_set), *_unpadded_fronts(seams, pattern_set)]


def _unlined_within(
    sides: Mapping[str, Sides], pattern_set: PatternSet, asked: Set[str]
) -> Iterator[str]:
    """Yield the pieces without a lining that are sewn to lined ones at all their edges: a bag's
    base. asked: the pieces that are asked about already.
    """
    met = edges_met(pattern_set.seams)
    for piece in pattern_set.pieces:
        keys = [(piece.name, edge.name) for edge in piece.edges]
        own = piece.derive is None and piece.fold is None and piece.name not in asked
        if not own or len(keys) < _ALL_ROUND or not all(key in met for key in keys):
            continue
        others = sorted({of for key in keys for of, _ in met[key]})
        inside = [_more_cloths(pattern_set.piece(of), piece, pattern_set) for of in others]
        cloths = {cloth for more in inside for cloth in more}
        if piece.name in others or not all(inside) or not any(map(is_lining, cloths)):
            continue
        if not _may_be_lined(piece, cloths, pattern_set):
            yield (
                f"{piece.name}: {quoted(others)} at all its edges "
                f"{'are' if others[1:] else 'is'} lined, but it is not: is its lining missing?"
            )


def _unlined_fronts(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[str]:
    """Yield the fronts without a lining that are sewn at two edges, as a side and a shoulder, to a
    back with one of its whole length. A skirt may be lined at its back alone.
    """
    for front, back in _fronts_and_backs(seams, pattern_set):
        own, its = (cut_by_cloth(piece, pattern_set.say).keys() for piece in (front, back))
        linings = [
            *(f"lined by '{piece.name}'" for piece in pattern_set.pieces
              if _lines_whole(piece, back)),
            *(f"cut of {cloth} as well" for cloth in its - own if is_lining(cloth)),
        ]  # fmt: skip
        cloths = _more_cloths(back, front, pattern_set)
        if linings and cloths and own <= its and not _has_a_lining(front, cloths, pattern_set):
            yield (
                f"{front.name}: '{back.name}', to which it is sewn at two edges, is {linings[0]}, "
                "but it is not: is its lining missing?"
            )


def _unpadded_fronts(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[str]:
    """Yield the fronts that lack the padding alone which their back has: wadding, or the like.

    A front may be stiffened or padded by itself, but hardly a back is.
    """
    say = pattern_set.say
    for front, back in _fronts_and_backs(seams, pattern_set):
        own, its = (cut_by_cloth(piece, say).keys() for piece in (front, back))
        more = sorted(its - own)
        if not own or not own < its or not all(map(is_stiffening, more)):
            continue
        others = (cut_by_cloth(piece, say).keys() for piece in pattern_set.pieces
                  if piece is not back and piece.parent != back.name)  # fmt: skip
        if not any(cloths and cloths <= set(more) for cloths in others):
            yield (
                f"{front.name}: '{back.name}', to which it is sewn at two edges, is cut of "
                f"{' and '.join(more)} as well, but it is not: is that missing?"
            )


def _fronts_and_backs(
    seams: Sequence[Seam], pattern_set: PatternSet
) -> Iterator[tuple[Piece, Piece]]:
    """Yield the fronts that are sewn to a back at two edges, with it; by their names.

    The left and the right side of a skirt that is drawn whole are but one of a half.
    """
    for names in sorted(map(sorted, joined_twice(seams))):
        pieces = [pattern_set.piece(name) for name in names]
        faces = [{face.split()[0] for face in faces_in(piece.name)} for piece in pieces]
        if faces in ([{"front"}, {"back"}], [{"back"}, {"front"}]):
            front, back = pieces if faces[0] == {"front"} else pieces[::-1]
            if not _is_whole(front) or _joined_across(front, back, seams):
                yield front, back


def _is_whole(piece: Piece) -> bool:
    return halves(piece) == 1 and not piece.paired


def _joined_across(one: Piece, other: Piece, seams: Sequence[Seam]) -> bool:
    """Return whether a seam sews a piece to another across its grain, as one at a shoulder does."""
    sides = ((a.edges, b.edges) for s in seams for a, b in permutations((s.first, s.second)))
    edges = {edge for own, its in sides for piece, edge, _ in own if piece == one.name
             if any(name == other.name for name, _, _ in its)}  # fmt: skip
    grain = one.grain
    return grain is not None and any(
        abs(slant(one.edge(edge).points[[0, -1]], grain)) > _ACROSS for edge in edges
    )


def _lines_whole(piece: Piece, parent: Piece) -> bool:
    """Return whether a piece is a lining of another one, to its hem but for a few cm."""
    plan = piece.derive
    if plan is None or plan.how is not Derive.LINING or piece.parent != parent.name:
        return False
    return plan.hem is None or plan.hem[1] <= _FEW_CM


def _words(inside: Sequence[set[str]]) -> str:
    """Return how the pieces beside one that lacks something are cut. inside: see `_more_cloths`."""
    common = sorted(inside[0].intersection(*inside))
    if common and not any(map(is_lining, common)):
        return f"cut of {common[0]} as well, but it is not: is that"
    return "lined, but it is not: is its lining"


def _joints(sides: Mapping[str, Sides], pattern_set: PatternSet) -> dict[str, list[_Joint]]:
    """Return by drawn piece its seams with panels of the same cloth, which it goes on beside."""
    found: dict[str, list[_Joint]] = {}
    sewn, closed = sewn_edges(pattern_set.seams), sewn_to_themselves(sides)
    for name, both in sides.items():
        one, other = (one_side(side) for side in both)
        if one is None or other is None or one.piece.name == other.piece.name:
            continue
        cloth = share_a_cloth(one.piece, other.piece, pattern_set.say)
        if not cloth or not end_alike(*both, set()):
            continue
        goes_on = end_alike(*both, sewn)
        for own, its in ((one, other), (other, one)):
            round_it = _goes_round(own, its)
            halved = round_it and _lies_open(own, both, closed, pattern_set.say)
            own_edges = [own.chain.links[0].edge.name]
            own_edges += [own.piece.fold] if halved and own.piece.fold else []
            its_edges = frozenset(link.edge.name for link in its.chain.links)
            for edge in own_edges if round_it or are_panels(one, other) else ():
                joint = _Joint(name, edge, its.piece.name, its_edges, goes_on)
                found.setdefault(own.piece.name, []).append(joint)
    return found


def _goes_round(strip: OneSide, other: OneSide) -> bool:
    """Return whether one edge of a piece, along its grain, goes round several of another, or a bend
    of one: a bag's gusset, the strip of a hood.
    """
    lone = len(strip.chain.links) == 1
    round_it = len(other.chain.links) > 1 or bent((strip.chain, other.chain))
    return lone and round_it and strip.off <= _ALONG and strip.extent[0] > _LONG * strip.extent[1]


def _lies_open(strip: OneSide, both: Sides, closed: Set[Key], say: Tongue) -> bool:
    """Return whether a piece on the fold lies open in its seam, so that another one is sewn to its
    other half, too. A band that is folded over the seam does not. closed: see `sewn_to_themselves`.
    """
    found = uses(both, closed, say)
    return all(use.each > 1 for use in found if use.piece.name == strip.piece.name)


def _lies_between(piece: Piece, joints: Sequence[_Joint]) -> bool:
    """Return whether a piece has panels at two edges that are apart; those of a godet meet."""
    at = {[edge.name for edge in piece.edges].index(joint.edge) for joint in joints}
    return len(at) > 1 and not any((index + 1) % len(piece.edges) in at for index in at)


def _lies_between_twins(joints: Sequence[_Joint]) -> bool:
    """Return whether two edges of a piece go to one edge of another, of its left and its right or
    of two: a strip between a hood's sides, a bag's gusset. Of a front and a back in one piece each
    one may be lined alone.
    """
    own: dict[tuple[str, frozenset[str]], set[str]] = {}
    for joint in joints:
        own.setdefault((joint.other, joint.its_edges), set()).add(joint.edge)
    return any(len(edges) > 1 for edges in own.values())


def _more_cloths(piece: Piece, beside: Piece, pattern_set: PatternSet) -> set[str]:
    """Return of what else a piece is cut than one beside it: of linings made from it, and of other
    cloths than stiffenings, if its left and its right aren't of two.
    """
    say = pattern_set.say
    own, its = cut_by_cloth(piece, say), cut_by_cloth(beside, say)
    found = {
        cloth
        for other in made_from(piece, pattern_set)
        if other.derive is not None and other.derive.how is Derive.LINING
        for cloth in cut_by_cloth(other, say)
    }
    shell = own.keys() & its.keys()
    if all(own[cloth] * halves(piece) >= its[cloth] * halves(beside) for cloth in shell):
        found |= {cloth for cloth in own if cloth not in its and not is_stiffening(cloth)}
    return found


def _may_be_lined(piece: Piece, cloths: Set[str], pattern_set: PatternSet) -> bool:
    """Return whether a piece may have a lining: of a second cloth, or a piece of its own."""
    several = len(cut_by_cloth(piece, pattern_set.say)) > 1
    return several or _has_a_lining(piece, cloths, pattern_set)


def _has_a_lining(piece: Piece, cloths: Set[str], pattern_set: PatternSet) -> bool:
    """Return whether a piece may have a lining made from it, a copy, or one that is drawn by itself
    and cut only of one of those cloths.
    """
    say, least = pattern_set.say, _AS_LARGE * abs(signed_area(piece.outline))
    drawn = (
        other
        for other in pattern_set.pieces
        if other.derive is None and abs(signed_area(other.outline)) >= least
    )
    made = bool(made_from(piece, pattern_set))
    return made or any({*cut_by_cloth(other, say)} <= cloths for other in drawn)
