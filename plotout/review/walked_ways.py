"""Seams of which one side may be walked in the wrong direction, judged by what joins their ends."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from plotout.pattern.chain import Chain, Link
from plotout.pattern.meetings import Sewn
from plotout.pattern.model import Edge, PatternSet, Seam
from plotout.pattern.settings import Corner
from plotout.pattern.sides import chains
from plotout.review.crossed_names import crossed_names
from plotout.review.derived_ways import derived_ways
from plotout.review.ends_exchanged import ends_exchanged

_HEM = 20.0  # mm: a turned-back allowance at least as wide is a hem
_ALIKE = 3.0  # mm by which the allowances of edges that meet at a seam's end may differ
_NEAR = 20.0  # mm along the seam within which two hems meet

_Place = tuple[float, float]
"""A place of a side of a seam: mm from its start, and from its end."""


def wrong_ways(
    seams: Sequence[Seam], sewn: Sequence[Sewn], pattern_set: PatternSet
) -> Iterator[str]:
    """Yield what to ask of the seams of which a side may run the wrong way, each once.

    sewn: the same seams as walked.
    """
    found = dict(derived_ways(sewn, pattern_set))
    found = {**dict(ends_exchanged(sewn, pattern_set)), **found}
    found = {**dict(crossed_names(seams, pattern_set)), **found}
    yield from found.values()
    yield from _unlike((seam for seam in seams if seam.name not in found), pattern_set)


def _unlike(seams: Iterable[Seam], pattern_set: PatternSet) -> Iterator[str]:
    """Yield the seams whose sides' ends would be alike if one side were walked the other way.

    Edges beside a seam run on into each other once it is sewn: a hem into a hem. Both sides must
    contradict each other, for where only one has a hem the other may be faced.
    """
    for seam in seams:
        first, second = chains(seam, pattern_set.piece)
        if first.folds or second.folds:
            continue
        if _crossed(first, second) or _hems_apart(first, second):
            yield (
                f"seam '{seam.name}': what lies beside its ends on '{first.name}' and on "
                f"'{second.name}' would meet if one side were walked the other way: is it right?"
            )


def _crossed(first: Chain, second: Chain) -> bool:
    """Return whether the allowances beside both ends fit only the other way round."""
    one, other = (
        (_width(side.links[0], last=False), _width(side.links[-1], last=True))
        for side in (first, second)
    )
    as_walked = [abs(a - b) for a, b in zip(one, other, strict=True)]
    turned = [abs(a - b) for a, b in zip(one, other[::-1], strict=True)]
    return min(as_walked) > _ALIKE >= max(turned)


def _hems_apart(first: Chain, second: Chain) -> bool:
    """Return whether both sides have a hem where the other has none."""
    one, other = _hems(first), _hems(second)
    return _unmet(one, other) and _unmet(other, one)


def _unmet(places: Sequence[_Place], others: Sequence[_Place]) -> bool:
    """Return whether a place is far from all others, counted from either end: ease lies between."""
    return any(
        all(min(abs(own - its) for own, its in zip(at, other, strict=True)) > _NEAR
            for other in others)
        for at in places
    )  # fmt: skip


def _hems(side: Chain) -> list[_Place]:
    """Return where along the side its edges end at a hem."""
    names = {(link.piece.name, link.edge.name) for link in side.links}
    found: list[_Place] = []
    start = 0.0
    for link in side.links:
        for last, at in ((False, start), (True, start + link.size)):
            edge = _beside(link, last=last)
            hem = edge.corner is Corner.TURNED and max(edge.allowance) >= _HEM
            if hem and (link.piece.name, edge.name) not in names:
                found.append((at, side.own - at))
        start += link.size
    return found


def _width(link: Link, *, last: bool) -> float:
    """Return the allowance of the edge beside a link's end, mm, at their corner."""
    return _beside(link, last=last).allowance[0 if last != link.turned else 1]


def _beside(link: Link, *, last: bool) -> Edge:
    """Return the next edge round the piece, at a link's end as walked."""
    edges = link.piece.edges
    index = [edge.name for edge in edges].index(link.edge.name)
    return edges[(index + (1 if last != link.turned else -1)) % len(edges)]
