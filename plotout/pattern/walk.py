"""Walking the seams: is what is sewn together as long as it must be, and do its notches meet?

All on the stitching line. A chain that ends on its piece's fold counts with its mirrored half.
"""

from __future__ import annotations

from dataclasses import dataclass

from plotout.errors import Place, UserError
from plotout.geometry.polyline import length
from plotout.pattern.model import Notch, PatternSet, Piece, Seam
from plotout.pattern.sides import Chain, chains

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


def walk(pattern_set: PatternSet) -> tuple[SeamResult, ...]:
    """Walk every seam of the set. Its derived pieces must have been made where a seam names one.

    Raises UserError for an edge that there isn't.
    """
    return tuple(_walk(seam, pattern_set) for seam in pattern_set.seams)


def _walk(seam: Seam, pattern_set: PatternSet) -> SeamResult:
    def piece_of(name: str) -> Piece:
        try:
            return pattern_set.piece(name)
        except KeyError:
            raise UserError(
                f"seam '{seam.name}': '{name}' has no card of its own to be sewn",
                fix="Name its parent, or leave out 'marked'.",
                place=Place(file=pattern_set.file),
            ) from None

    first, second = chains(seam, piece_of)
    tolerance = pattern_set.defaults.tolerance
    met, notes = _meet(first, second, seam.ease, tolerance)
    faults = _length_fault(first, second, seam.ease, tolerance)
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
        notes=notes,
    )


def _notches(side: Chain) -> list[tuple[float, Notch]]:
    """Return the side's notches and how far along what is sewn they lie, in mm."""
    found, walked = [], 0.0
    for edge, turned in side.edges:
        whole = length(edge.points)
        for notch in side.piece.notches:
            if notch.edge == edge.name:
                found.append((walked + (whole - notch.along if turned else notch.along), notch))
        walked += whole
    if side.twinned and side.folds == "end":
        twins = [(2.0 * side.own - along, notch) for along, notch in found]
        found += [twin for twin in twins if twin[0] > side.own + 0.01]
    elif side.twinned:  # the walk begins at the fold: the middle of the seam
        found = [(side.own + sign * along, notch) for along, notch in found for sign in (1.0, -1.0)]
    return sorted(found, key=lambda each: each[0])


def _meet(
    first: Chain, second: Chain, ease: tuple[float, float], tolerance: float
) -> tuple[tuple[NotchResult, ...], tuple[str, ...]]:
    """Pair each notch with the nearest of the other side; those with no partner are told."""
    ones, others = _notches(first), _notches(second)
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
    used = {id(ones[i][1]) for i in taken} | {id(others[j][1]) for j in taken.values()}
    notes = dict.fromkeys(
        f"notch {notch.along:.1f} mm along '{notch.edge}' of '{side.piece.name}' has no partner"
        for side, places in ((first, ones), (second, others))
        for _, notch in places
        if id(notch) not in used
    )
    return met, tuple(notes)


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


def _length_fault(
    first: Chain, second: Chain, ease: tuple[float, float], tolerance: float
) -> list[str]:
    (least, most), difference = ease, first.whole - second.whole
    sizes = (
        f"{first.whole:.1f} mm of '{first.piece.name}' "
        f"to {second.whole:.1f} mm of '{second.piece.name}'"
    )
    if difference > most + tolerance + 1e-9:
        return [f"{difference - most:.1f} mm too long: {sizes}, ease at most {most:g} mm"]
    if difference < least - tolerance - 1e-9:
        return [f"{least - difference:.1f} mm too short: {sizes}, ease at least {least:g} mm"]
    return []
