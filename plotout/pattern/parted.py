"""Edges of a piece that follow each other in a side of a seam, but not round the piece.

A seam goes along its pieces' edges as they lie, over a dart or a pleat at most. Where edges that
lie side by side are named in another order, or one is walked the wrong way, the notches come to
lie elsewhere, though the lengths match.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

from plotout.errors import quoted
from plotout.pattern.chain import Chain, Link
from plotout.pattern.meetings import Sewn, meet

Seams = Mapping[str, tuple[Chain, Chain]]
Step = tuple[str, bool]


def parted_edges(seams: Seams, sewn: Sequence[Sewn]) -> dict[str, list[str]]:
    """Return, in words by seam, the edges of its sides that don't follow each other as walked.

    Corners that other seams bring together may follow each other: those of a piece and its twin.
    """
    found: dict[str, list[str]] = {}
    darts = _darts(seams)
    for name, sides in seams.items():
        for run in (run for side in sides for run in _runs(side.links)):
            right = as_they_lie(run, darts.get(run[0].piece.name, set()))
            if right and not _joined_elsewhere(run, [one for one in sewn if one.name != name]):
                found.setdefault(name, []).append(_words(run, right))
    return found


def _runs(links: Sequence[Link]) -> list[list[Link]]:
    """Return the edges that a side goes along on one piece, of two or more, each edge once."""
    runs: list[list[Link]] = []
    for link in links:
        last = runs[-1] if runs else []
        goes_on = last and last[-1].piece.name == link.piece.name
        if goes_on and link.edge.name not in [other.edge.name for other in last]:
            last.append(link)
        else:
            runs.append([link])
    return [run for run in runs if len(run) > 1]


def _darts(seams: Seams) -> dict[str, set[str]]:
    """Return by piece the edges that are sewn to the next one round it: a dart's."""
    found: dict[str, set[str]] = {}
    for first, second in seams.values():
        links = (*first.links, *second.links)
        if len({link.piece.name for link in links}) == 1:
            piece, edges = links[0].piece, {link.edge.name for link in links}
            names = [edge.name for edge in piece.edges]
            if edges in [{names[k - 1], name} for k, name in enumerate(names)]:
                found.setdefault(piece.name, set()).update(edges)
    return found


def as_they_lie(run: Sequence[Link], darts: set[str]) -> list[list[Step]]:
    """Return both ways to walk edges that lie side by side; nothing if they are walked so, or lie
    apart.
    """
    walked = [(link.edge.name, link.turned) for link in run]
    named = [name for name, _ in walked]
    names = [e.name for e in run[0].piece.edges if e.name in named or e.name not in darts]
    if len(named) == len(names):
        starts = list(range(len(names)))
    else:
        starts = [k for k, name in enumerate(names) if name in named and names[k - 1] not in named]
    if len(starts) != 1 and len(named) < len(names):
        return []
    ways = []
    for start in starts:
        order = [names[(start + k) % len(names)] for k in range(len(named))]
        ways += [[(name, False) for name in order], [(name, True) for name in order[::-1]]]
    return [] if walked in ways else ways[:2]


def _joined_elsewhere(run: Sequence[Link], others: Sequence[Sewn]) -> bool:
    """Return whether other seams bring all corners together between which the walk changes over."""
    names = [edge.name for edge in run[0].piece.edges]

    def corner(link: Link, *, last: bool) -> tuple[str, int]:
        return link.piece.name, (names.index(link.edge.name) + (last != link.turned)) % len(names)

    pairs = (
        (corner(before, last=True), corner(after, last=False)) for before, after in pairwise(run)
    )
    return all(one == other or meet(one, other, others) for one, other in pairs)


def _words(run: Sequence[Link], ways: Sequence[Sequence[Step]]) -> str:
    named = quoted(link.edge.name for link in run)
    mirrored = [(link.edge.name, link.turned) for link in run[::-1]] in ways
    first, second = way_words(ways)
    return (
        f"{named} of '{run[0].piece.name}' don't follow each other round it as they are walked: "
        f"walk edges = [{first}], or the other way, [{second}]"
        f"{', or is its drawing mirrored?' if mirrored else ''}"
    )


def way_words(ways: Sequence[Sequence[Step]]) -> tuple[str, str]:
    """Return both ways to walk edges, as a set file has them."""
    first, second = (
        ", ".join(f'"-{name}"' if back else f'"{name}"' for name, back in way) for way in ways
    )
    return first, second
