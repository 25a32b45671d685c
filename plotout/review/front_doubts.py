"""Fronts that no seam meets, though it meets that of the piece which is sewn there, and fronts
that are called otherwise: asked about.

Where a stand ends at its front, so does the front that it is sewn to (common practice). A sleeve's
front doesn't meet that of the body: there both go on in a seam, while at a front at least one of
them is open, or sewn to its own twin.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence, Set

from plotout.geometry.polyline import length
from plotout.pattern.meetings import Member, Sewn
from plotout.pattern.model import Piece, Seam
from plotout.review.faces import but_for_faces, faces_in
from plotout.review.fold_doubts import CENTRE
from plotout.review.hems_met import called_hem

_EDGE = {"edge", "end", "kante", "bord", "borde", "bordo", "kant", "rand", "kraj", "край"}
"""Words beside that for a front, in names of a front edge."""
_LAPEL = 0.5  # of the front below it: the longest edge at the top of a lapel
Ending = tuple[Member, bool]
"""The piece at an end of a side, and whether it is the side's last."""


def front_doubts(
    seams: Sequence[Seam], sewn: Sequence[Sewn], pieces: Sequence[Piece]
) -> Iterator[str]:
    """Yield the seams that end at the front of one side's piece, but not at that of the other's.

    sewn: the same seams as walked.
    """
    by_name = {piece.name: piece for piece in pieces}
    joined = {
        (piece, edge)
        for seam in seams
        if not seam.of_one_edge
        for side in (seam.first, seam.second)
        for piece, edge, _ in side.edges
    }
    met = {piece for seam in sewn for piece in _fronts_met(seam)}
    for seam in sewn:
        for last in (False, True) if seam.together else (False,):
            ends = [seam.ending(index, last=last) for index in (0, 1)]
            if all(_beside(end) in joined for end in ends):
                continue
            for index in (0, 1):
                (one, _), (other, _) = ends[index], ends[1 - index]
                if _beside(ends[index])[1] != one.front or other.front is None:
                    continue
                if _beside_lapel(by_name[other.piece], _beside(ends[1 - index])[1]):
                    continue
                if other.piece not in met and _misses(seam, 1 - index, other):
                    yield _asked(seam, one, other, "end" if last else "start")


def _beside(end: Ending) -> tuple[str, str]:
    """Return the edge next to where a side ends, with its piece."""
    member, last = end
    return member.piece, member.beside(last=last)


def _beside_lapel(piece: Piece, edge: str) -> bool:
    """Return whether an edge is a lapel's: next to the piece's front, and short beside it. A collar
    ends there at its own front.
    """
    names = [one.name for one in piece.edges]
    if piece.front not in names:
        return False
    lapel, front = (piece.edges[names.index(name)] for name in (edge, piece.front))
    apart = (names.index(edge) - names.index(piece.front)) % len(names)
    return apart in (1, len(names) - 1) and length(lapel.points) < _LAPEL * length(front.points)


def _misses(seam: Sewn, index: int, member: Member) -> bool:
    """Return whether a side ends nowhere at its front, or goes along it."""
    return not seam.fronted(index) or member.front in member.walked


def _fronts_met(seam: Sewn) -> Iterator[str]:
    """Yield the pieces whose fronts meet those of others in a seam: at its ends, or along it."""
    one, other = seam.sides
    for at, last in ((0, False), (-1, True)):
        pair = one[at], other[at]
        beside = all(member.front == member.beside(last=last) for member in pair)
        along = all(member.front in member.walked for member in pair)
        if (beside or along) and one[at].piece != other[at].piece:
            yield from (member.piece for member in pair)


def _asked(seam: Sewn, one: Member, other: Member, end: str) -> str:
    how = f"meets its own, '{other.front}', at neither end"
    if other.front in other.walked:
        how = f"is sewn along its own, '{other.front}'"
    return (
        f"seam '{seam.name}': '{one.piece}' has its front at the {end} of the seam, but "
        f"'{other.piece}' {how}: is another edge the front of one of them?"
    )


def misnamed_fronts(pieces: Sequence[Piece], sewn: Sequence[Sewn]) -> Iterator[str]:
    """Yield the pieces whose front is called a back, or is another edge than that called a front.

    Beside an edge that is called so, as a lapel is, it may be another one; but a seam ends there:
    that of a collar's neck, beside its 'front end' and not its outer edge.
    """
    at_ends = {
        _beside(seam.ending(index, last=last))
        for seam in sewn
        for index in (0, 1)
        for last in (False, True)
    }
    for piece in pieces:
        names = [edge.name for edge in piece.edges]
        if piece.front not in names or piece.derive is not None:
            continue
        at = names.index(piece.front)
        own, beside = _faces(piece.front), {names[at - 1], names[(at + 1) % len(names)]}
        fronts = [name for name in names if name != piece.fold and _is_called_front(name)]
        if own == {"back"}:
            asked = f"its front is '{piece.front}', which is called a back"
        elif "front" in own or not fronts:
            continue
        elif (
            called_hem(piece.edges[at])
            or not beside & {*fronts}
            or _ends_only_at(fronts, piece, at_ends)
        ):
            asked = f"its front is '{piece.front}', but '{fronts[0]}' is called a front"
        else:
            continue
        yield f'{piece.name}: {asked}: is front = "{piece.front}" right?'


def _ends_only_at(fronts: Sequence[str], piece: Piece, at_ends: Set[tuple[str, str]]) -> bool:
    """Return whether seams end at an edge called a front, but none at the piece's front."""
    met = any((piece.name, name) in at_ends for name in fronts)
    return met and (piece.name, piece.front) not in at_ends


def _faces(name: str) -> set[str]:
    return {face.split()[0] for face in faces_in(name)}


def _is_called_front(name: str) -> bool:
    """Return whether an edge is called a front and nothing else, as a front seam isn't."""
    return _faces(name) == {"front"} and but_for_faces(name) <= CENTRE | _EDGE
