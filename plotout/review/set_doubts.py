"""Finds pieces of which another piece of the set says otherwise: noted, never corrected.

That cloth with a nap is cut one way throughout, that what edges a curve is cut on the bias, that
left and right are faced and lined alike, and that a pocket covers its drill holes is common
practice, from memory.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from unicodedata import normalize

import numpy as np
from shapely.geometry import LineString

from plotout.errors import quoted
from plotout.finish.prepare import upright
from plotout.geometry.polyline import length, rotated
from plotout.geometry.strokes import FloatArray
from plotout.pattern.adjacent import chained
from plotout.pattern.cloths import (
    cut_by_cloth,
    is_fusing,
    is_lining,
    most_of_a_cloth,
    sewn_cuts,
)
from plotout.pattern.model import Derive, Drill, PatternSet, Piece
from plotout.pattern.sides import sewn_edges
from plotout.review.hems_met import Beside, folded_over
from plotout.review.name_words import is_within

_OTHERS_PADDED = 2  # pieces with a padding and a lining, before another stands out
_OTHERS = 3  # pieces of a cloth that lie one way, before another stands out
_BENT = 45.0  # degrees that an edge turns in all, so that cloth on the grain won't follow it
_STRETCHED = 0.04  # of its length that a binding is made longer, if it is a knit (estimated)
_STRIP = 2.5  # times as long as wide: a kerchief, whose legs may lie on the bias, is 2
_OFF = 15.0  # degrees from the bias that still lie on it
_PADDING = re.compile(
    r"wadding|batting|padding|watt\w*|ouat\w*|guata|ovatta|imbottitura|vulling|vadd|vanu|wata|"
    r"ocieplina|vatelín|ватин|синтепон|中綿"
)
"""Words for what is soft and needs cloth on both sides, from memory."""
_COVERS = 0.5  # mm by which drill holes may lie further apart than the piece that covers them
_STRAIGHT, _GOES_ON = 180.0, 10.0  # degrees: a corner that turns less is no end of an edge
_WORD = 4  # letters that a word has at least, by which a hole is called as a piece


def set_doubts(pattern_set: PatternSet) -> Iterator[str]:
    """Yield what a piece is or lacks, if another shows that it may be wrong."""
    yield from _hardly_told_apart(pattern_set)
    yield from _either_way(pattern_set)
    yield from _not_on_the_bias(pattern_set)
    yield from _single(pattern_set)
    yield from _too_few_linings(pattern_set)
    yield from _bare_padding(pattern_set)
    yield from _called_otherwise(pattern_set)
    yield from _along_another_edge(pattern_set)
    yield from _short_of_a_seam(pattern_set)
    yield from _bare_holes(pattern_set)


def _hardly_told_apart(pattern_set: PatternSet) -> Iterator[str]:
    """Yield the pieces whose names differ only in capitals or blanks, or in forms of one sign."""
    alike: dict[str, list[str]] = {}
    for name in (piece.name for piece in pattern_set.pieces):
        plain = "".join(normalize("NFKC", name).casefold().split())
        alike.setdefault(plain, []).append(name)
    for names in alike.values():
        if len(names) > 1:
            yield (f"{quoted(names)} can hardly be told apart by their cards: rename all but one")


def _either_way(pattern_set: PatternSet) -> Iterator[str]:
    """Yield the only piece of a cloth that may lie either way in it."""
    say = pattern_set.say
    cloths = dict.fromkeys(cut.cloth for piece in pattern_set.pieces for cut in piece.cuts)
    for cloth in cloths:
        of_it = [p for p in pattern_set.pieces if cloth in [cut.cloth for cut in p.cuts]]
        free = [piece for piece in of_it if not piece.one_way]
        if len(free) == 1 and len(of_it) > _OTHERS and not is_fusing(cloth, say):
            yield (
                f"{free[0].name}: it may lie either way in '{cloth}', but all other pieces of "
                "that cloth lie one way: does it need one-way too?"
            )


def _not_on_the_bias(pattern_set: PatternSet) -> Iterator[str]:
    """Yield the pieces called bias, and bindings of curves, that lie along the threads; and the
    strips that are said to be on the bias twice, and so lie along them as well.
    """
    bent = _sewn_to_a_curve(pattern_set)
    for piece in pattern_set.pieces:
        words = set(re.findall(r"\w+", piece.name.casefold()))
        if piece.grain is None:
            continue
        slants, longer = _slants(piece)
        if piece.bias and slants and longer > _STRIP and piece.derive is None:
            yield (
                f"{piece.name}: its grain line lies at 45 degrees to its long sides, and bias = "
                "true says that this line is the bias, so they lie along the threads: leave out "
                "bias, or draw the line along the piece"
            )
        if piece.bias or slants:
            continue
        if "bias" in words:
            why = "its name says that it is cut on the bias"
        elif "binding" in words and piece.name in bent:
            why = f"it binds the curved '{bent[piece.name]}'"
        else:
            continue
        yield f"{piece.name}: {why}, but its grain line lies along the threads: write bias = true"


def _sewn_to_a_curve(pattern_set: PatternSet) -> dict[str, str]:
    """Return the pieces that are sewn to a curved edge, and the edge; but for those that are
    stretched to fit, as only cloth is that needs no bias: knits.
    """
    found: dict[str, str] = {}
    lines = {(p.name, edge.name): edge.points for p in pattern_set.pieces for edge in p.edges}
    for seam in pattern_set.seams:
        least, most = seam.ease
        for own, other, short in ((seam.first, seam.second, -most),
                                  (seam.second, seam.first, least)):  # fmt: skip
            size = sum(length(lines[step[:2]]) for step in own.edges if step[:2] in lines)
            if short > _STRETCHED * size:
                continue
            for name, edge, _ in other.edges:
                if (name, edge) in lines and _turns(lines[name, edge]) > _BENT:
                    found |= {of: edge for of, _, _ in own.edges if of != name}
    return found


def _turns(points: FloatArray) -> float:
    """Return how far a line turns in all, degrees."""
    headings = np.unwrap(np.arctan2(*np.diff(points, axis=0).T[::-1]))
    return float(np.degrees(np.abs(np.diff(headings)).sum()))


def _slants(piece: Piece) -> tuple[bool, float]:
    """Return whether the grain line lies at 45 degrees to the longest side of the piece's box, and
    how many times as long as the other side that is.
    """
    assert piece.grain is not None
    box = LineString(piece.outline).minimum_rotated_rectangle
    sides = np.diff(np.asarray(box.exterior.coords), axis=0)
    sizes = np.hypot(*sides.T)
    side = sides[np.argmax(sizes)]
    grain = piece.grain[-1] - piece.grain[0]
    off = np.degrees(np.arctan2(side[1], side[0]) - np.arctan2(grain[1], grain[0])) % 90.0
    return bool(abs(off - 45.0) < _OFF), float(sizes.max() / sizes.min())


def _single(pattern_set: PatternSet) -> Iterator[str]:
    """Yield the derived facings, linings and copies of a pair of which only one is cut.

    They are counted in their parent's first cloth, or in any one if they are of others. A fusing
    may be for the side of the buttons alone.
    """
    by_name = {piece.name: piece for piece in pattern_set.pieces}
    for piece in pattern_set.pieces:
        parent = by_name.get(piece.parent or "")
        if parent is None or piece.derive is None or not piece.cuts or piece.fold:
            continue
        paired = [cut.cloth for cut in sewn_cuts(parent, pattern_set.say) if cut.pair]
        many = cut_by_cloth(piece, pattern_set.say)
        most = most_of_a_cloth(piece, pattern_set.say)
        faced = piece.derive.how is not Derive.FUSING
        if paired and faced and many.get(paired[0], most) == 1:
            yield (
                f"{piece.name}: one is cut of it, but '{parent.name}', from which it is made, is a "
                "pair: do left and right need one each?"
            )


def _too_few_linings(pattern_set: PatternSet) -> Iterator[str]:
    """Yield the linings of most of what is cut of a piece, but not of all: five of six panels, or
    one of two. Half of a row may be lined.
    """
    by_name = {piece.name: piece for piece in pattern_set.pieces}
    for piece in pattern_set.pieces:
        parent = by_name.get(piece.parent or "")
        if parent is None or piece.derive is None or piece.derive.how is not Derive.LINING:
            continue
        own, its = (most_of_a_cloth(one, pattern_set.say) for one in (piece, parent))
        layers = parent.fold is not None or parent.paired
        one_of_two = (own, its) == (1, 2) and not layers
        if own < its < 2 * own or one_of_two:
            yield (
                f"{piece.name}: {own} are cut of it, but {its} of '{parent.name}', from which it "
                "is made: is its count right?"
            )


def _bare_padding(pattern_set: PatternSet) -> Iterator[str]:
    """Yield the pieces with a padding but no lining, if all others with that padding have one."""
    cloths = {piece.name: {cut.cloth for cut in piece.cuts} for piece in pattern_set.pieces}
    every = {cloth for own in cloths.values() for cloth in own}
    paddings = {cloth for cloth in every if any(map(_PADDING.fullmatch, _words(cloth)))}
    for padding in sorted(paddings):
        padded = {name: own for name, own in cloths.items() if padding in own and len(own) > 1}
        bare = [
            name
            for name, own in padded.items()
            if not any(map(is_lining, own)) and not _covers(pattern_set.piece(name), padding)
        ]
        made = {piece.parent for piece in pattern_set.pieces if piece.derive is not None}
        if len(bare) == 1 and len(padded) > _OTHERS_PADDED and bare[0] not in made:
            yield (
                f"{bare[0]}: it is cut of {padding} without a lining, but all other pieces that "
                f"are cut of {padding} have one: is its lining missing?"
            )


def _covers(piece: Piece, padding: str) -> bool:
    """Return whether a cloth lies on both sides of a piece's padding: a collar is doubled."""
    cut: dict[str, int] = {}
    for order in piece.cuts:
        cut[order.cloth] = cut.get(order.cloth, 0) + order.pieces
    return max(cut.values()) >= 2 * cut[padding]


def _called_otherwise(pattern_set: PatternSet) -> Iterator[str]:
    """Yield the derived pieces that are called as another piece than that they are made from, and
    could be made from that.
    """
    edges = {
        piece.name: {edge.name for edge in piece.edges}
        for piece in pattern_set.pieces
        if piece.derive is None
    }
    for piece in pattern_set.pieces:
        if piece.derive is None or any(
            is_within(name, piece.name) for name in _ancestors(piece, pattern_set)
        ):
            continue
        along = set(piece.derive.along)
        called = [
            name
            for name, own in edges.items()
            if name != piece.parent and is_within(name, piece.name) and along <= own
        ]
        if len(called) == 1:
            yield (
                f"{piece.name}: it is made from '{piece.parent}', but it is called as "
                f"'{called[0]}' is: is from right?"
            )


def _ancestors(piece: Piece, pattern_set: PatternSet) -> list[str]:
    """Return the names of what a piece is made from, and of what that is made from."""
    parents = {one.name: one.parent for one in pattern_set.pieces}
    found: list[str] = []
    parent = piece.parent
    while parent is not None and parent not in found:
        found.append(parent)
        parent = parents.get(parent)
    return found


def _along_another_edge(pattern_set: PatternSet) -> Iterator[str]:
    """Yield the facings and fusings that run along another edge than they are called after.

    And the facings of an edge that is folded over already.
    """
    by_name = {piece.name: piece for piece in pattern_set.pieces}
    for piece in pattern_set.pieces:
        parent, plan = by_name.get(piece.parent or ""), piece.derive
        if parent is None or plan is None or not plan.along:
            continue
        named = [edge.name for edge in parent.edges if is_within(edge.name, piece.name)]
        along = quoted(plan.along)
        if named and not set(named) & set(plan.along):
            yield (
                f"{piece.name}: it runs along {along} of '{parent.name}', but it is called after "
                f"'{named[0]}': is along right?"
            )
        elif (
            not named
            and plan.how is Derive.FACING
            and all(folded_over(edge) for edge in parent.edges if edge.name in plan.along)
        ):
            yield (
                f"{piece.name}: it faces {along} of '{parent.name}', which is folded over itself: "
                "is along right?"
            )


def _short_of_a_seam(pattern_set: PatternSet) -> Iterator[str]:
    """Yield the facings that end square beside a sewn edge, which their own edge hardly turns into.

    Where that goes straight on, as past a fly, it needs no end there.
    """
    by_name, sewn = {p.name: p for p in pattern_set.pieces}, sewn_edges(pattern_set.seams)
    for piece in pattern_set.pieces:
        parent, plan = by_name.get(piece.parent or ""), piece.derive
        if parent is None or plan is None or not plan.along or plan.how is not Derive.FACING:
            continue
        chain = chained(parent.edges, plan.along)
        own = {edge.name for edge in piece.edges}
        at, end = (parent.edges.index(edge) for edge in (chain[0], chain[-1]))
        for edge, other, ends in (
            (chain[0], parent.edges[at - 1], False),
            (chain[-1], parent.edges[(end + 1) % len(parent.edges)], True),
        ):
            met = Beside(parent, other, ends).corner
            absent = other.name not in own and (parent.name, other.name) in sewn
            if absent and other.name != parent.fold and _STRAIGHT - met > _GOES_ON:
                yield (
                    f"{piece.name}: it ends square at the corner of '{edge.name}' and "
                    f"'{other.name}' of '{parent.name}', which meet at {met:.0f} degrees, and "
                    f"doesn't reach '{other.name}', which is sewn: if it is to, draw it as a piece "
                    "of its own"
                )


def _bare_holes(pattern_set: PatternSet) -> Iterator[str]:
    """Yield the drill holes called as a piece that can't cover them."""
    sewn = {name for name, _ in sewn_edges(pattern_set.seams)}
    laid_on = [piece for piece in pattern_set.pieces if piece.name not in sewn and piece.edges]
    for piece in pattern_set.pieces:
        for word in dict.fromkeys(word for drill in piece.drills for word in _words(drill.name)):
            covers = [one for one in laid_on if one is not piece and word in _words(one.name)]
            if not covers:
                continue
            drills = [drill for drill in piece.drills if word in _words(drill.name)]
            needed = _extent(_holes(piece, drills))
            rooms = [_extent(upright(other).outline) for other in covers]
            if not any((needed <= room + _COVERS).all() for room in rooms):
                wide, tall = np.max(rooms, axis=0)
                yield (
                    f"{piece.name}: its drill holes '{drills[0].name}' lie {needed[0]:.0f} mm "
                    f"apart across the grain and {needed[1]:.0f} along it: '{covers[0].name}', of "
                    f"{wide:.0f} x {tall:.0f} mm, doesn't cover them"
                )


def _holes(piece: Piece, drills: Sequence[Drill]) -> FloatArray:
    """Return the holes' centres, (n, 2), with the grain upright."""
    at = np.array([drill.at for drill in drills], dtype=float)
    if piece.grain is None:
        return at
    x, y = piece.grain[-1] - piece.grain[0]
    return rotated(at, float(np.degrees(np.arctan2(x, y))))


def _extent(points: FloatArray) -> FloatArray:
    return np.asarray(np.ptp(points, axis=0))


def _words(name: str) -> dict[str, None]:
    found = re.findall(r"\w+", name.casefold())
    return dict.fromkeys(word for word in found if len(word) >= _WORD)
