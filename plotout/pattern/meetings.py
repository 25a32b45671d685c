"""Where corners of pieces meet in a set that is sewn as its seams are walked.

A right set says much twice: sewn at the shoulder, front and back also meet there in the armhole
and in the neck. A side that is walked the wrong way makes corners meet that lie apart everywhere
else, so that the corners of the whole set fall together in fewer places. That is counted here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise

from plotout.errors import UserError
from plotout.pattern.model import Piece, Seam, Side
from plotout.pattern.sides import chains

Corner = tuple[str, int]
Step = tuple[int, bool]


@dataclass(frozen=True, slots=True)
class Member:
    """Adjacent edges of one piece in a side.

    edges: the names of all its edges, in order. fold, front: those on its fold, at its front end.
    half: whether its other half, or its twin, is its mirror image. single: whether it is a whole,
    cut once. steps: number of each edge, walked backwards?
    """

    piece: str
    edges: tuple[str, ...]
    fold: str | None
    front: str | None
    half: bool
    single: bool
    steps: tuple[Step, ...]

    @property
    def turned(self) -> Member:
        """The same, walked the other way."""
        return replace(self, steps=tuple((edge, not back) for edge, back in self.steps[::-1]))

    @property
    def over_fold(self) -> Member | None:
        """The same with its other half, from where it ends to its fold and back; None if it doesn't
        reach its fold, or does at both ends.
        """
        back = self.turned.steps
        ends = self.folds(last=False), self.folds(last=True)
        if ends[0] == ends[1]:
            return None
        return replace(self, steps=(*self.steps, *back) if ends[1] else (*back, *self.steps))

    @property
    def walked(self) -> tuple[str, ...]:
        """The names of its edges that are walked."""
        return tuple(self.edges[edge] for edge, _ in self.steps)

    def corner(self, *, last: bool) -> Corner:
        """Return the corner at which it begins or ends, by the edge that starts there."""
        edge, back = self.steps[-1 if last else 0]
        return self.piece, (edge + (last != back)) % len(self.edges)

    def beside(self, *, last: bool) -> str:
        """Return the name of the piece's next edge past that corner."""
        edge, back = self.steps[-1 if last else 0]
        return self.edges[(edge + (1 if last != back else -1)) % len(self.edges)]

    def folds(self, *, last: bool) -> bool:
        """Return whether it begins or ends at its piece's fold."""
        return self._meets(self.fold, last=last)

    def fronts(self, *, last: bool) -> bool:
        """Return whether it begins or ends at its piece's front."""
        return self._meets(self.front, last=last)

    def _meets(self, name: str | None, *, last: bool) -> bool:
        if name not in self.edges:
            return False
        edge = self.edges.index(name)
        return self.corner(last=last)[1] in (edge, (edge + 1) % len(self.edges))


@dataclass(frozen=True, slots=True)
class Sewn:
    """A seam as walked. twinned: of each side, whether its mirrored half is walked too.

    together: whether both sides end at the same place. returns: the side whose left follows its
    right, so that the seam ends where that side began, on its mirror image; None: neither.
    """

    name: str
    sides: tuple[tuple[Member, ...], tuple[Member, ...]]
    twinned: tuple[bool, bool] = (False, False)
    together: bool = True
    returns: int | None = None

    def with_side(self, index: int, members: Sequence[Member]) -> Sewn:
        """Return the seam with another first (0) or second (1) side."""
        sides = list(self.sides)
        sides[index] = tuple(members)
        return replace(self, sides=(sides[0], sides[1]))

    @property
    def turned(self) -> Sewn:
        """The same, its second side walked the other way, or that whose ends both meet alike."""
        index = 1 if self.returns is None else self.returns
        return self.with_side(index, whole_turned(self.sides[index]))

    def folded(self, index: int) -> tuple[str, ...]:
        """Return at which ends a side meets a fold: "start", "end", both or neither."""
        side = self.sides[index]
        met = (("start", side[0].folds(last=False)), ("end", side[-1].folds(last=True)))
        return tuple(end for end, folds in met if folds)

    def fronted(self, index: int) -> tuple[str, ...]:
        """Return at which ends a side meets its pieces' front: "start", "end", both or neither."""
        side = self.sides[index]
        met = (("start", side[0].fronts(last=False)), ("end", side[-1].fronts(last=True)))
        return tuple(end for end, fronts in met if fronts)

    @property
    def crossed(self) -> bool:
        """Whether each side has a fold, but none of one meets one of the other."""
        return self._apart(self.folded(0), self.folded(1))

    @property
    def fronts_crossed(self) -> bool:
        """Whether each side has a front, but none of one meets one of the other."""
        return self._apart(self.fronted(0), self.fronted(1))

    def _apart(self, one: Sequence[str], other: Sequence[str]) -> bool:
        return bool(one and other) and not {*one} & {*other} and not any(self.twinned)

    @property
    def over_folds(self) -> int:
        """How often a side runs over a fold."""
        return sum(
            before.folds(last=True) or after.folds(last=False)
            for side in self.sides
            for before, after in pairwise(side)
        )

    def meetings(self) -> Iterator[tuple[Corner, Corner]]:
        """Yield the corners that it brings together: within its sides, then at its ends."""
        for side in self.sides:
            for before, after in pairwise(side):
                yield before.corner(last=True), after.corner(last=False)
        for last in (False, True) if self.together else (False,):
            one, other = (self._end(index, last=last) for index in (0, 1))
            yield one, other
        if self.returns is not None:
            yield self._end(self.returns, last=False), self._end(1 - self.returns, last=True)

    def ending(self, index: int, *, last: bool) -> tuple[Member, bool]:
        """Return a side's member at an end of the seam, and whether it is the end of that side.

        A twinned side begins and ends away from its fold.
        """
        if self.twinned[index]:
            last = "start" in self.folded(index)
        return self.sides[index][-1 if last else 0], last

    def _end(self, index: int, *, last: bool) -> Corner:
        member, at_end = self.ending(index, last=last)
        return member.corner(last=at_end)


def whole_turned(side: Sequence[Member]) -> list[Member]:
    """Return a side walked the other way."""
    return [member.turned for member in side[::-1]]


def of_one_piece(side: Sequence[Member]) -> list[tuple[Member, ...]]:
    """Return a side's members in groups: those of one piece along which it goes on in one
    direction, as over a dart.
    """
    groups: list[tuple[Member, ...]] = []
    for member in side:
        last = groups[-1] if groups else ()
        if last and _goes_on(last[-1], member):
            groups[-1] = (*last, member)
        else:
            groups.append((member,))
    return groups


def _goes_on(one: Member, other: Member) -> bool:
    """Return whether a member begins further round its piece than another, the shorter way."""
    (before, back), (after, also_back) = one.steps[-1], other.steps[0]
    if one.piece != other.piece or back != also_back:
        return False
    far = (before - after if back else after - before) % len(one.edges)
    return 0 < far <= len(one.edges) - far


def sewn_of(seams: Sequence[Seam], piece_of: Callable[[str], Piece]) -> list[Sewn]:
    """Return the seams whose edges are all known."""
    found = []
    for seam in seams:
        try:
            sides = tuple(_members(side, piece_of) for side in (seam.first, seam.second))
        except (KeyError, ValueError):
            continue
        sewn = Sewn(seam.name, (sides[0], sides[1]))
        try:
            walked = chains(seam, piece_of)
        except UserError:
            found.append(sewn)
            continue
        folded = [side.laps if side.folds else 1 for side in walked]
        copies = [
            side.times // (2 if side.twinned else laps)
            for side, laps in zip(walked, folded, strict=True)
        ]
        first, second = (
            side.twinned or laps % 2 == 0 for side, laps in zip(walked, folded, strict=True)
        )
        twinned = first, second
        returns = next((index for index, side in enumerate(walked) if side.mirrored), None)
        together = copies[0] == copies[1]
        found.append(replace(sewn, twinned=twinned, together=together, returns=returns))
    return found


def _members(side: Side, piece_of: Callable[[str], Piece]) -> tuple[Member, ...]:
    found: list[Member] = []
    for name, steps in groupby(side.edges, key=lambda edge: edge[0]):
        piece = piece_of(name)
        order = tuple(edge.name for edge in piece.edges)
        half = piece.fold is not None or piece.paired
        single = not half and all(cut.count == 1 for cut in piece.cuts)
        for _, edge, back in steps:
            step = (order.index(edge), back)
            one = Member(piece.name, order, piece.fold, piece.front, half, single, (step,))
            last = found[-1] if found and found[-1].piece == piece.name else None
            if last and last.corner(last=True) == one.corner(last=False):
                found[-1] = replace(last, steps=(*last.steps, *one.steps))
            else:
                found.append(one)
    return tuple(found)


def cost(seams: Sequence[Sewn]) -> int:
    """Return how many corners fall together, and folds and fronts that don't meet: 1 each."""
    return cost_of([walked(seam) for seam in seams])


@dataclass(frozen=True, slots=True)
class Walked:
    """What a seam adds to the cost. apart: folds and fronts that don't meet. meetings: corners."""

    apart: int
    meetings: tuple[tuple[Corner, Corner], ...]


def walked(seam: Sewn) -> Walked:
    """Return what a seam adds to the cost."""
    apart = seam.crossed + seam.fronts_crossed + seam.over_folds
    return Walked(apart, tuple(seam.meetings()))


def cost_of(seams: Sequence[Walked]) -> int:
    """Return the cost of seams, as `cost` does."""
    above: dict[Corner, Corner] = {}
    total = sum(seam.apart for seam in seams)
    return total + sum(_join(above, seam.meetings) for seam in seams)


def meet(one: Corner, other: Corner, seams: Sequence[Sewn]) -> bool:
    """Return whether seams bring two corners together."""
    above: dict[Corner, Corner] = {}
    for seam in seams:
        _join(above, seam.meetings())
    return _root(above, one) == _root(above, other)


def _join(above: dict[Corner, Corner], meetings: Iterable[tuple[Corner, Corner]]) -> int:
    """Bring corners together; return how often two came together that were apart."""
    joined = 0
    for one, other in meetings:
        low, high = _root(above, one), _root(above, other)
        if low != high:
            above[low] = high
            joined += 1
    return joined


def _root(above: Mapping[Corner, Corner], corner: Corner) -> Corner:
    while corner in above:
        corner = above[corner]
    return corner
