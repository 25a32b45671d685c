"""The notches that a seam has on both its sides: where they lie on their pieces."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import combinations

from plotout.errors import UserError
from plotout.pattern.chain import Chain
from plotout.pattern.grade_places import Walked
from plotout.pattern.model import Notch, Piece, Seam
from plotout.pattern.part_spec import SeamNotchSpec
from plotout.pattern.piece_marks import edge_named
from plotout.pattern.settings import Defaults, NotchStyle
from plotout.pattern.sides import chains
from plotout.pattern.spec import SeamSpec
from plotout.pattern.written_half import (
    as_walked,
    as_written,
    on_both_halves,
    with_both_halves,
    written_length,
)

_SAME = 0.05  # mm: a notch that near to another is that one
_UNLIKE = 5.0  # mm: sides that differ by more than that beyond their ease aren't one seam
_DOUBLED = 0.5  # mm: nobody means two notches so near to each other (common practice)

OnPieces = Mapping[str, Walked]
"""By piece: the seams' notches that are grade points, where they have come to lie."""


def add_seam_notches(
    seam: Seam, spec: SeamSpec, by_name: dict[str, Piece], defaults: Defaults, graded: OnPieces
) -> tuple[tuple[tuple[float, float], ...], list[str]]:
    """Draw a seam's own notches on both sides; a derived piece has its parent's.

    A notch that is a grade point on one side only is followed by the other side. One that lies
    beyond the seam is a fault of the piece on which it does. Returns where they lie, mm along both
    sides; and in words those that aren't drawn, since there is one already that is unlike them, or
    from the seam itself.
    """
    _check_edges(seam, spec, by_name)
    if not spec.notches:
        return (), []
    try:
        sides = with_both_halves(chains(seam, by_name.__getitem__))
    except UserError as fault:
        _refuse(fault, by_name)
        return (), []
    places = [_places(sides, asked, graded) for asked in spec.notches]
    beyond = [_beyond(sides, at) for at in places]
    for asked, wrong in zip(spec.notches, beyond, strict=True):
        if wrong:
            _refuse(_beyond_fault(sides, wrong[0], asked, seam.ease), by_name)
    within = [at for at, wrong in zip(places, beyond, strict=True) if not wrong]
    notes = [*_doubled(seam, spec, places), *_uneven(seam, spec, sides, defaults.tolerance)]
    given = {name: piece.notches for name, piece in by_name.items()}
    for index in (0, 1):
        for number, asked in enumerate(spec.notches):
            if beyond[number]:
                continue
            for at in on_both_halves(sides, places[number], within):
                mirrored = at != places[number]
                if mirrored and _noted(sides[index], at[index], by_name):
                    continue
                from_end = asked.from_end != mirrored
                name, notch = _notch(
                    sides[index], asked, defaults.notch, at[index], from_end=from_end
                )
                piece = by_name[name]
                if not _stands(notch, piece.notches):  # both halves on a fold share one place
                    by_name[name] = replace(piece, notches=(*piece.notches, notch))
                elif (other := _stands(notch, given[name])) and not _alike(notch, other):
                    notes.append(
                        f"seam '{seam.name}': its notch {number + 1} is {_told(notch)}, but "
                        f"'{notch.edge}' of '{name}' has {_told(other)} there, which is kept: "
                        "leave out one"
                    )
    marked = tuple(place for at in within for place in on_both_halves(sides, at, within))
    return marked, list(dict.fromkeys(notes))


def _check_edges(seam: Seam, spec: SeamSpec, by_name: Mapping[str, Piece]) -> None:
    """Raise UserError for edges that drawn pieces lack, and for notches on derived pieces."""
    for side in (*spec.first, *spec.second):
        for ref, _ in side.edges:
            if by_name[side.piece.name].edges:
                edge_named(by_name[side.piece.name].edges, ref)
            elif spec.notches:
                raise UserError(
                    f"seam '{seam.name}' has a notch, but one of its pieces is derived",
                    fix="A derived piece takes its parent's notches: declare them on the parent's "
                    "edge.",
                    place=spec.place,
                )


def _refuse(fault: UserError, by_name: dict[str, Piece]) -> None:
    """Make a fault of a seam one of the piece that it names: the rest of the set can be checked."""
    piece = by_name[fault.place.piece or ""]
    by_name[piece.name] = replace(piece, faults=(*piece.faults, fault))


def _beyond(sides: tuple[Chain, Chain], places: tuple[float, float]) -> list[int]:
    """Return the sides, 0 and 1, beyond which a notch lies at these places along them, mm."""
    return [
        index
        for index, (side, along) in enumerate(zip(sides, places, strict=True))
        if not -1e-6 <= as_written(side, along) <= written_length(side) + 1e-6
    ]


def _beyond_fault(
    sides: tuple[Chain, Chain], index: int, spec: SeamNotchSpec, ease: tuple[float, float]
) -> UserError:
    """Return what is wrong with a notch beyond a side: the notch, or the edges of either side."""
    side, other = sides[index], sides[1 - index]
    half = "one half of " if side.halved else ""
    long, fix = f"{half}'{side.name}' is {written_length(side):.1f} mm long there", ""
    off = sides[0].walked - sides[1].walked
    if not ease[0] - _UNLIKE <= off <= ease[1] + _UNLIKE:
        long += f", but the other side, of '{other.name}', {written_length(other):.1f} mm"
        fix = "Look whether the seam names the right edges. Or place the notch within it."
    return UserError(
        f"the notch lies beyond the seam: {long}",
        fix=fix
        or f"Place it within the seam ('at' is measured along its second side, of "
        f"{half}'{sides[1].name}'), or give it in per cent.",
        place=replace(spec.place, piece=side.links[0].piece.name),
    )


def _doubled(seam: Seam, spec: SeamSpec, places: Sequence[tuple[float, float]]) -> Iterator[str]:
    """Yield the notches of a seam that are in one place on both its sides."""
    numbered = list(enumerate(zip(places, spec.notches, strict=True), start=1))
    for (low, (one, first)), (high, (other, second)) in combinations(numbered, 2):
        if max(abs(a - b) for a, b in zip(one, other, strict=True)) < _DOUBLED:
            counts = (first.count, second.count)
            of = "" if counts[0] == counts[1] else f", of count {counts[0]} and {counts[1]},"
            yield (
                f"seam '{seam.name}': its notches {low} and {high}{of} are in one place: leave out "
                "one"
            )


def named_notches(
    seams: Sequence[Seam], specs: Sequence[SeamSpec], pieces: Mapping[str, Piece]
) -> dict[str, dict[tuple[str, str], float]]:
    """Return where the notches lie that have a name, by piece: by their name and edge, mm along it.

    pieces: as drawn, of which the derived ones have no edges; their seams have no notches.
    """
    found: dict[str, dict[tuple[str, str], float]] = {name: {} for name in pieces}
    for seam, spec in zip(seams, specs, strict=True):
        asked = [notch for notch in spec.notches if notch.name]
        ends = [name for side in (seam.first, seam.second) for name, _, _ in side.edges]
        if not asked or not all(pieces[name].edges for name in ends):
            continue
        try:
            sides = with_both_halves(chains(seam, pieces.__getitem__))
        except UserError:  # reported where its notches are drawn
            continue
        for index, side in enumerate(sides):
            for notch in asked:
                piece, edge, here = side.on_edge(_asked(sides, notch, index))
                found[piece][notch.name, edge] = here
    return found


def _places(
    sides: tuple[Chain, Chain], spec: SeamNotchSpec, graded: OnPieces
) -> tuple[float, float]:
    """Return how far along both sides the notch lies, mm."""
    asked = [_asked(sides, spec, index) for index in (0, 1)]
    own = [_graded(side, spec, graded, near) for side, near in zip(sides, asked, strict=True)]
    for index, other in ((0, 1), (1, 0)):
        on_other = own[other]
        if own[index] is None and on_other is not None:
            asked[index] = _across(sides, spec, other, on_other)
    first, second = (at if mine is None else mine for at, mine in zip(asked, own, strict=True))
    return first, second


def _asked(sides: tuple[Chain, Chain], spec: SeamNotchSpec, index: int) -> float:
    """Return how far along a side the set file has the notch, mm. index: 0 for the first side.

    It is placed along the second side, and has its `ease` more of the first up to it. Without
    `ease`, it is placed alike along both: in per cent, the ease is even.
    """
    side = sides[index]
    if index == 0 and spec.ease is not None:
        along = spec.at.on(written_length(sides[1])) + spec.ease
    else:
        along = spec.at.on(written_length(side))
    return as_walked(side, written_length(side) - along if spec.from_end else along)


def _uneven(
    seam: Seam, spec: SeamSpec, sides: tuple[Chain, Chain], tolerance: float
) -> Iterator[str]:
    """Yield the notches in per cent whose ease takes them to another per cent of the first side."""
    for number, notch in enumerate(spec.notches, start=1):
        if notch.at.share is None or notch.ease is None:
            continue
        even, second = (notch.at.on(written_length(side)) for side in sides)
        first = second + notch.ease
        if abs(first - even) > tolerance:
            yield (
                f"seam '{seam.name}': its notch {number}, at {second:.1f} mm of "
                f"'{sides[1].name}', is by its ease at {first:.1f} mm of '{sides[0].name}', not at "
                f"{even:.1f} mm, which is the same per cent: leave out one of both, 'ease' or the "
                "per cent, if that isn't meant"
            )


def _graded(side: Chain, spec: SeamNotchSpec, graded: OnPieces, near: float) -> float | None:
    """Return how far along a side the notch lies as a grade point of it, mm; None if it is none."""
    for link in side.links:
        here = graded.get(link.piece.name, {}).get((spec.name, link.edge.name))
        if spec.name and here is not None:
            return side.along(link.piece.name, link.edge.name, here, near)
    return None


def _across(sides: tuple[Chain, Chain], spec: SeamNotchSpec, known: int, along: float) -> float:
    """Return the place on the other side that meets `along` mm of the side `known`."""
    own, other = sides[known], sides[1 - known]
    size, its_size = written_length(own), written_length(other)
    far = as_written(own, along)
    far = size - far if spec.from_end else far
    if spec.ease is not None:
        far += spec.ease if known == 1 else -spec.ease
    elif spec.at.share is not None:
        far *= its_size / size
    return as_walked(other, its_size - far if spec.from_end else far)


def _notch(
    side: Chain, spec: SeamNotchSpec, style: NotchStyle, along: float, *, from_end: bool
) -> tuple[str, Notch]:
    """Return a seam's notch on one side, and its piece. from_end: whether it, or what it mirrors,
    is measured from the seam's end.
    """
    piece, edge, here = side.on_edge(along)
    measured = _measured_from(side, spec, edge, from_end=from_end)
    return piece, Notch(edge, here, spec.count, replace(style, **spec.style), measured)


def _measured_from(side: Chain, spec: SeamNotchSpec, edge: str, *, from_end: bool) -> str:
    """Return the end of its edge from which a length gives a seam's notch; "" if none does."""
    if spec.at.share is not None or side.halved or side.twinned or (side.folds and side.laps > 1):
        return ""
    link = side.links[-1 if from_end else 0]
    if link.edge.name != edge:
        return ""
    return "end" if link.turned != from_end else "start"


def _noted(side: Chain, along: float, by_name: Mapping[str, Piece]) -> bool:
    """Return whether a notch is there already, maybe of the other piece at a joint."""
    start = 0.0
    for link in side.row:
        places = (n.along for n in by_name[link.piece.name].notches if n.edge == link.edge.name)
        here = (link.size - at if link.turned else at for at in places)
        if any(abs(start + at - along) < _SAME for at in here):
            return True
        start += link.size
    return False


def _stands(notch: Notch, notches: Sequence[Notch]) -> Notch | None:
    """Return the notch that is there already, from its piece's drawing or from a seam."""
    return next(
        (
            other
            for other in notches
            if other.edge == notch.edge and abs(other.along - notch.along) < _SAME
        ),
        None,
    )


def _alike(one: Notch, other: Notch) -> bool:
    return (one.count, one.style.kind) == (other.count, other.style.kind)


def _told(notch: Notch) -> str:
    many = {1: "a single", 2: "a double", 3: "a triple"}[notch.count]
    return f"{many} {notch.style.kind}"
