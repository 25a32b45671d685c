"""Walking the seams: is what is sewn together as long as it must be, and do its notches meet?

All on the stitching line. A chain that ends on its piece's fold counts with its mirrored half.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from plotout.errors import Place, UserError, nearest
from plotout.geometry.polyline import length
from plotout.pattern.model import Edge, Notch, PatternSet, Piece, Seam, Side

_NEAR = 30.0  # mm: notches further apart than this were not meant for each other


@dataclass(frozen=True, slots=True)
class NotchResult:
    """Two notches that should meet. first, second: mm along each side as walked.

    off: how far the second's lies from where it should be, beyond what the ease allows, in mm.
    """

    first: float
    second: float
    off: float
    fault: str = ""


@dataclass(frozen=True, slots=True)
class SeamResult:
    """One seam, walked. first, second: mm, each the whole that is sewn; ease: least and most.

    first_times, second_times: how many of the piece's own make up the whole.
    faults: what doesn't match, in words with its size; notes: what may be meant.
    """

    name: str
    first_piece: str
    second_piece: str
    first: float
    second: float
    first_times: int
    second_times: int
    ease: tuple[float, float]
    tolerance: float
    notches: tuple[NotchResult, ...]
    faults: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def difference(self) -> float:
        """First less second, in mm."""
        return self.first - self.second


@dataclass(frozen=True, slots=True)
class _Walked:
    """One side, walked. own: mm of the chain itself; folds: "start", "end" or "" (no fold).

    times: how many such chains the whole seam takes. notches: (mm along the chain, notch).
    """

    piece: Piece
    own: float
    folds: str
    times: int
    notches: tuple[tuple[float, Notch], ...]

    @property
    def whole(self) -> float:
        return self.own * self.times


def walk(pattern_set: PatternSet) -> tuple[SeamResult, ...]:
    """Walk every seam of the set. Its derived pieces must have been made where a seam names one.

    Raises UserError for an edge that there isn't.
    """
    return tuple(_walk(seam, pattern_set) for seam in pattern_set.seams)


def _walk(seam: Seam, pattern_set: PatternSet) -> SeamResult:
    chains = [_chain(side, seam, pattern_set) for side in (seam.first, seam.second)]
    pieces = [pattern_set.piece(side.piece) for side in (seam.first, seam.second)]
    folds = [_folds(*each) for each in zip(pieces, chains, strict=True)]
    sides = [
        _Walked(
            pieces[nth],
            sum(length(edge.points) for edge, _ in chains[nth]),
            folds[nth],
            side.times or _times(nth, pieces, folds),
            _notches(pieces[nth], chains[nth]),
        )
        for nth, side in enumerate((seam.first, seam.second))
    ]
    first, second = sides
    tolerance = pattern_set.defaults.tolerance
    met, lone = _meet(first, second, seam.ease, tolerance)
    faults = _length_fault(first.whole - second.whole, seam.ease, tolerance)
    faults += [each.fault for each in met if each.fault]
    return SeamResult(
        name=seam.name,
        first_piece=first.piece.name,
        second_piece=second.piece.name,
        first=first.whole,
        second=second.whole,
        first_times=first.times,
        second_times=second.times,
        ease=seam.ease,
        tolerance=tolerance,
        notches=met,
        faults=tuple(faults),
        notes=lone,
    )


def _chain(side: Side, seam: Seam, pattern_set: PatternSet) -> list[tuple[Edge, bool]]:
    piece = pattern_set.piece(side.piece)
    names = [edge.name for edge in piece.edges]
    for name, _ in side.edges:
        if name not in names:
            raise UserError(
                f"seam '{seam.name}': there is no edge '{name}'",
                fix=nearest(name, names),
                place=Place(file=pattern_set.file, piece=piece.name),
            )
    return [(piece.edge(name), turned) for name, turned in side.edges]


def _folds(piece: Piece, chain: Sequence[tuple[Edge, bool]]) -> str:
    """Return at which end of the walk the chain meets the piece's fold, "" where at neither."""
    if piece.fold is None:
        return ""
    fold = piece.edge(piece.fold).points
    ends = {"start": _end(chain[0], last=False), "end": _end(chain[-1], last=True)}
    for name, at in ends.items():
        if (at == fold[0]).all() or (at == fold[-1]).all():
            return name
    return ""


def _end(link: tuple[Edge, bool], *, last: bool) -> object:
    edge, turned = link
    return edge.points[-1 if last != turned else 0]


def _times(nth: int, pieces: Sequence[Piece], folds: Sequence[str]) -> int:
    """Return how many of this side's chain make up the whole seam.

    A chain that ends on the fold: its two halves. Sewn to a single piece on the fold, a pair's
    left and right together (a collar to both fronts); to several, one each (a sleeve to its side).
    """
    if folds[nth]:
        return 2
    partner = pieces[1 - nth]
    if not folds[1 - nth] or not any(cut.pair for cut in pieces[nth].cuts):
        return 1
    return 2 if sum(cut.count for cut in partner.cuts[:1]) <= 1 else 1


def _notches(piece: Piece, chain: Sequence[tuple[Edge, bool]]) -> tuple[tuple[float, Notch], ...]:
    found, walked = [], 0.0
    for edge, turned in chain:
        whole = length(edge.points)
        for notch in piece.notches:
            if notch.edge == edge.name:
                found.append((walked + (whole - notch.along if turned else notch.along), notch))
        walked += whole
    return tuple(sorted(found, key=lambda each: each[0]))


def _spread(side: _Walked, other: _Walked) -> list[tuple[float, Notch]]:
    """Return the notches as they lie along what is sewn: with their twins, if only this side folds."""
    if side.times == other.times or not side.folds:
        return list(side.notches)
    twins = [(side.whole - along, notch) for along, notch in side.notches]
    here = list(side.notches)
    if side.folds == "start":  # the walk begins at the fold: the middle of the whole
        here = [(side.own + along, notch) for along, notch in side.notches]
        twins = [(side.own - along, notch) for along, notch in side.notches]
    return sorted(here + twins, key=lambda each: each[0])


def _meet(
    first: _Walked, second: _Walked, ease: tuple[float, float], tolerance: float
) -> tuple[tuple[NotchResult, ...], tuple[str, ...]]:
    """Pair each notch with the nearest of the other side; those with no partner are told."""
    ones, others = _spread(first, second), _spread(second, first)
    pairs = sorted(
        (abs(one[0] - other[0]), i, j)
        for i, one in enumerate(ones)
        for j, other in enumerate(others)
    )
    taken: dict[int, int] = {}
    for far, i, j in pairs:
        if far <= _NEAR and i not in taken and j not in taken.values():
            taken[i] = j
    met = tuple(
        _met(ones[i], others[j], (first.piece.name, second.piece.name), ease, tolerance)
        for i, j in sorted(taken.items())
    )
    lone = [(first.piece, one[0]) for i, one in enumerate(ones) if i not in taken]
    lone += [(second.piece, other[0]) for j, other in enumerate(others) if j not in taken.values()]
    if not ones or not others:  # a notch that another seam or part needs
        lone = []
    return met, tuple(f"notch at {along:.1f} mm of '{p.name}' has no partner" for p, along in lone)


def _met(
    one: tuple[float, Notch],
    other: tuple[float, Notch],
    names: tuple[str, str],
    ease: tuple[float, float],
    tolerance: float,
) -> NotchResult:
    apart = one[0] - other[0]
    least, most = min(0.0, ease[0]), max(0.0, ease[1])
    off = apart - most if apart > most else min(apart - least, 0.0)
    fault = ""
    if abs(off) > tolerance + 1e-9:
        fault = (
            f"notch {abs(apart):.1f} mm off: at {one[0]:.1f} mm of '{names[0]}', "
            f"at {other[0]:.1f} mm of '{names[1]}'"
        )
    elif one[1].count != other[1].count:
        fault = (
            f"notch at {one[0]:.1f} mm: {one[1].count} on '{names[0]}', "
            f"{other[1].count} on '{names[1]}'"
        )
    return NotchResult(one[0], other[0], off, fault)


def _length_fault(difference: float, ease: tuple[float, float], tolerance: float) -> list[str]:
    least, most = ease
    if difference > most + tolerance + 1e-9:
        return [f"first side {difference - most:.1f} mm too long (ease at most {most:g} mm)"]
    if difference < least - tolerance - 1e-9:
        return [f"first side {least - difference:.1f} mm too short (ease at least {least:g} mm)"]
    return []
