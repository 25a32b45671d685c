"""The notches that a seam has on both its sides: where they lie on their pieces."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import combinations

from plotout.errors import UserError
from plotout.pattern.grade_places import Walked
from plotout.pattern.model import Notch, Piece, Seam
from plotout.pattern.part_spec import SeamNotchSpec
from plotout.pattern.piece_marks import edge_named
from plotout.pattern.settings import Defaults, NotchStyle
from plotout.pattern.sides import Chain, chains
from plotout.pattern.spec import SeamSpec

_SAME = 0.05  # mm: a notch that near to another is that one
_DOUBLED = 0.5  # mm: nobody means two notches so near to each other (common practice)

OnPieces = Mapping[str, Walked]
"""By piece: the seams' notches that are grade points, where they have come to lie."""


def add_seam_notches(
    seam: Seam, spec: SeamSpec, by_name: dict[str, Piece], defaults: Defaults, graded: OnPieces
) -> list[str]:
    """Draw a seam's own notches on both sides; a derived piece has its parent's.

    A notch that is a grade point on one side only is followed by the other side. Returned, in
    words: those that aren't drawn, since there is one already that is unlike them, or from the seam
    itself.
    """
    for side_spec in (*spec.first, *spec.second):
        for ref, _ in side_spec.edges:
            if by_name[side_spec.piece.name].edges:
                edge_named(by_name[side_spec.piece.name].edges, ref)
    if not spec.notches:
        return []
    named = [name for side in (seam.first, seam.second) for name, _, _ in side.edges]
    if not all(by_name[name].edges for name in named):
        raise UserError(
            f"seam '{seam.name}' has a notch, but one of its pieces is derived",
            fix="A derived piece takes its parent's notches: declare them on the parent's edge.",
            place=spec.place,
        )
    sides = chains(seam, by_name.__getitem__)
    places = [_places(sides, asked, graded) for asked in spec.notches]
    notes = list(_doubled(seam, spec, places))
    given = {name: piece.notches for name, piece in by_name.items()}
    for index in (0, 1):
        for number, asked in enumerate(spec.notches):
            name, notch = _notch(sides[index], asked, defaults.notch, places[number][index])
            piece = by_name[name]
            if not _stands(notch, piece.notches):  # both halves of a folded piece share one place
                by_name[name] = replace(piece, notches=(*piece.notches, notch))
            elif (other := _stands(notch, given[name])) and not _alike(notch, other):
                notes.append(
                    f"seam '{seam.name}': its notch {number + 1} is {_told(notch)}, but "
                    f"'{notch.edge}' of '{name}' has {_told(other)} there, which is kept: leave "
                    "out one"
                )
    return notes


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
        for index, side in enumerate(chains(seam, pieces.__getitem__)):
            for notch in asked:
                piece, edge, here = side.on_edge(_asked(side, notch, index))
                found[piece][notch.name, edge] = here
    return found


def _places(
    sides: tuple[Chain, Chain], spec: SeamNotchSpec, graded: OnPieces
) -> tuple[float, float]:
    """Return how far along both sides the notch lies, mm."""
    asked = [_asked(side, spec, index) for index, side in enumerate(sides)]
    own = [_graded(side, spec, graded, near) for side, near in zip(sides, asked, strict=True)]
    for index, other in ((0, 1), (1, 0)):
        on_other = own[other]
        if own[index] is None and on_other is not None:
            asked[index] = _across(sides, spec, other, on_other)
    first, second = (at if mine is None else mine for at, mine in zip(asked, own, strict=True))
    return first, second


def _asked(side: Chain, spec: SeamNotchSpec, index: int) -> float:
    """Return how far along a side the set file has the notch, mm. index: 0 for the first side."""
    along = spec.at.on(side.walked) + (spec.ease if index == 0 else 0.0)
    return side.walked - along if spec.from_end else along


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
    far = own.walked - along if spec.from_end else along
    far -= spec.ease if known == 0 else 0.0
    if spec.at.share is not None:
        far *= other.walked / own.walked
    far += spec.ease if known == 1 else 0.0
    return other.walked - far if spec.from_end else far


def _notch(side: Chain, spec: SeamNotchSpec, style: NotchStyle, along: float) -> tuple[str, Notch]:
    """Return a seam's notch on one side, and its piece. UserError when it lies beyond the seam."""
    if not -1e-6 <= along <= side.walked + 1e-6:
        raise UserError(
            f"the notch lies beyond the seam: '{side.name}' is {side.walked:.1f} mm long there",
            fix="Place it within the seam, or give it in per cent.",
            place=spec.place,
        )
    piece, edge, here = side.on_edge(along)
    return piece, Notch(
        edge, here, spec.count, replace(style, **spec.style), _measured_from(side, spec, edge)
    )


def _measured_from(side: Chain, spec: SeamNotchSpec, edge: str) -> str:
    """Return the end of its edge from which a length gives a seam's notch; "" if none does."""
    if spec.at.share is not None or side.twinned:
        return ""
    link = side.links[-1 if spec.from_end else 0]
    if link.edge.name != edge:
        return ""
    return "end" if link.turned != spec.from_end else "start"


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
