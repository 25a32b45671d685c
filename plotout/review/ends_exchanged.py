"""Seams whose ends are exchanged, by the edges beside them: asked about.

A hem goes on as a hem over a side seam, an armhole as an armhole: edges called alike meet where
they are sewn together (common practice, from memory). Names alone are weak, so both ends must fit
the other way round, and none as walked.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence, Set

from plotout.finish.handed import may_have_no_hand
from plotout.finish.prepare import upright
from plotout.pattern.meetings import Member, Sewn
from plotout.pattern.model import PatternSet, Piece
from plotout.pattern.sides import sewn_edges
from plotout.review.faces import faces_in, words_of
from plotout.review.joined_words import as_turned

_HANDS = {"left", "right", "links", "rechts", "gauche", "droite", "izquierda", "derecha"}
"""Words that change places when a piece is seen from its other side."""
Words = set[str]
Key = tuple[str, str]


def ends_exchanged(seams: Sequence[Sewn], pattern_set: PatternSet) -> Iterator[tuple[str, str]]:
    """Yield the names of the seams with a side that may run the wrong way, and what to ask.

    Either what is called alike would meet if it ran the other way: at both ends, or at one where
    edges of one name are in no seam, as hems, while those at the other end are; or at the fold of
    one, where the other has a fold at both ends. Or it is sewn to another edge of its own piece,
    both walked alike: a ring of it then has half a twist in it.
    """
    sewn = sewn_edges(pattern_set.seams)
    for seam in seams:
        if not seam.together or any(seam.twinned):
            continue
        if _twisted(seam):
            yield seam.name, _asked(seam, "as walked, it twists that piece")
        elif _at_another_fold(seam) or (
            _crossed(seam, sewn) and not _of_one_hand(seam, pattern_set)
        ):
            yield seam.name, _asked(seam, "walked the other way, what is called alike would meet")


def _crossed(seam: Sewn, sewn: Set[Key]) -> bool:
    """Return whether what is beside both ends of two sides is alike only the other way round.

    sewn: the edges that are in seams.
    """

    def go_on(one: Key, other: Key) -> bool:
        return one[1].casefold() == other[1].casefold() and sewn.isdisjoint((one, other))

    walked = _walked(seam)
    (start, end), (its_start, its_end) = (_telling(side, walked) for side in seam.sides)
    if start & its_start or end & its_end:
        return False
    if start & its_end and end & its_start:
        return True
    (here, there), (its_here, its_there) = (
        [_beside(side, last=last) for last in (False, True)] for side in seam.sides
    )
    return bool(
        (start & its_end and go_on(here, its_there) and {there, its_here} <= sewn)
        or (end & its_start and go_on(there, its_here) and {here, its_there} <= sewn)
    )


def _at_another_fold(seam: Sewn) -> bool:
    """Return whether a fold of one side meets the wrong one of two folds of the other side."""
    for own, its in (seam.sides, seam.sides[::-1]):
        mine, (start, end) = ([_fold_at(side, last=last) for last in (False, True)]
                              for side in (own, its))  # fmt: skip
        if not start or not end:
            continue
        met = (mine[0] & start) | (mine[1] & end)
        elsewhere = (mine[0] & (end - start)) | (mine[1] & (start - end))
        if elsewhere and not met & (start ^ end):
            return True
    return False


def _fold_at(side: Sequence[Member], *, last: bool) -> Words:
    """Return the words of the fold at an end of a side, and which face its piece is of."""
    member = side[-last]
    if not member.folds(last=last):
        return set()
    return _words(member.fold or "") | faces_in(member.piece)


def _beside(side: Sequence[Member], *, last: bool) -> Key:
    """Return the edge beside an end of a side, with its piece."""
    return side[-last].piece, side[-last].beside(last=last)


def _telling(side: Sequence[Member], walked: Set[Key]) -> tuple[Words, Words]:
    """Return the words at both ends of a side that tell one from the other.

    walked: the edges that the seam sews, beside which another one has nothing to meet.
    """
    first, last = (_words_at(side, last=last, walked=walked) for last in (False, True))
    return first - last, last - first


def _words_at(side: Sequence[Member], *, last: bool, walked: Set[Key]) -> Words:
    """Return the words of the edge beside an end, and which face the edge that ends there is of.

    A cap begins at its 'head front' where an armhole begins with the piece called Front. No other
    words of the piece's name count, nor of the sewn edge's: a cuff's top end needn't go to the top
    sleeve.
    """
    member = side[-last]
    beside = _beside(side, last=last)
    faces = faces_in(member.walked[-last]) | (faces_in(member.piece) if len(side) > 1 else set())
    return (_words(beside[1]) if beside not in walked else set()) | faces


def _words(name: str) -> Words:
    """Return a name's words and faces, without letters and figures that only count edges."""
    words = words_of(name) - _HANDS
    return {word for word in words if len(word) > 1 or not word.isascii()} | faces_in(name)


def _twisted(seam: Sewn) -> bool:
    """Return whether two edges of one piece are sewn to each other, both walked alike round it."""
    (one, *more), (other, *others) = seam.sides
    if more or others or one.piece != other.piece or one.fold:
        return False
    if set(one.walked) & set(other.walked):
        return False
    return len({back for _, back in (*one.steps, *other.steps)}) == 1


def _of_one_hand(seam: Sewn, pattern_set: PatternSet) -> bool:
    """Return whether both sides, cut the same way round, could not be sewn walked otherwise.

    So it is where they are walked in opposite senses: two triangles make a rectangle.
    """
    for at in (0, -1):
        if len({side[at].steps[at][1] for side in seam.sides}) == 1:
            return False
    names = {member.piece for side in seam.sides for member in side}
    return all(_handed(pattern_set.piece(name)) for name in names)


def _handed(piece: Piece) -> bool:
    """Return whether all that are cut of a piece have the same hand."""
    if piece.fold or piece.turned_over:
        return False
    return not may_have_no_hand(upright(piece))


def _walked(seam: Sewn) -> set[Key]:
    """Return the edges that a seam sews, with their pieces."""
    return {(member.piece, edge) for side in seam.sides for member in side
            for edge in member.walked}  # fmt: skip


def _asked(seam: Sewn, why: str) -> str:
    (one, its_one), (last, its_last) = (
        [side[at].beside(last=at < 0) for side in seam.sides] for at in (0, -1)
    )
    first, second = (side[0].piece for side in seam.sides)
    broken = any(len({m.piece for m in side}) < len(side) for side in seam.sides)
    how = "is a side walked the wrong way, or in the wrong order" if broken else as_turned(seam)
    return (
        f"seam '{seam.name}': '{first}' starts beside its '{one}' and '{second}' beside its "
        f"'{its_one}', and they end beside '{last}' and '{its_last}'; {why}: "
        f"{how}, or is it right?"
    )
