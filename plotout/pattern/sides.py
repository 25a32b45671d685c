"""The sides of a seam: chains of edges, and how many of them make up the whole seam."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from math import gcd

from plotout.errors import UserError, nearest
from plotout.pattern.chain import Chain, Link
from plotout.pattern.model import Piece, Seam, Side

Ease = tuple[float, float]


def summed(eases: Sequence[Ease]) -> Ease:
    """Return the least and greatest ease of stretches together."""
    return sum(least for least, _ in eases), sum(most for _, most in eases)


def beyond(apart: float, ease: Ease) -> float:
    """Return by how much a difference exceeds its ease, mm."""
    least, most = ease
    return apart - most if apart > most else min(apart - least, 0.0)


def edge_hint(wrong: str, parts: Mapping[str, Sequence[str]], none: str = "") -> str:
    """Return what to write for an edge that a piece lacks. parts: its edges' names, and of what
    each was divided off.
    """
    divided = [f"'{name}'" for name, whole in parts.items() if wrong in whole]
    if divided:
        return f"'{wrong}' was divided into {' and '.join(divided)}: name one of them, or both."
    return nearest(wrong, parts, none) if none else nearest(wrong, parts)


def chains(seam: Seam, piece_of: Callable[[str], Piece]) -> tuple[Chain, Chain]:
    """Return both sides of a seam.

    Raises UserError for a missing edge, and for a side that leaves a piece at its fold.
    """
    sides = (seam.first, seam.second)
    links = [_links(side, seam, piece_of) for side in sides]
    folds = [_folds(chain, seam) for chain in links]
    times = [side.times or _times(index, links, folds, seam) for index, side in enumerate(sides)]
    if seam.of_one_edge and folds[0] and not sides[0].times and not sides[1].times:
        times = [_layers(links[0], folds[0])] * 2
    if all(folds) and not any(side.times for side in sides) and _sewn_once(links):
        times = [1, 1]
    laps = [number // gcd(*times) for number in times]
    twinned = [bool(fold) and more == 2 for fold, more in zip(folds, laps, strict=True)]
    hands = [any(link.mirrored for link in chain) for chain in links]
    if any(fold and more > 2 for fold, more in zip(folds, laps, strict=True)) and not all(hands):
        laps = list(times)  # lengths cut alike lie otherwise along the other half: walk the whole
        twinned = [False, False]
    lengths = [1 if twin else number for twin, number in zip(twinned, laps, strict=True)]
    over = [twinned[k] and not folds[1 - k] and lengths[1 - k] > 1 for k in (0, 1)]
    halved = next((folds[k] for k in (0, 1) if over[k]), "")
    apart = not any(folds)
    first, second = (
        Chain(own, fold, number, twin, many, halved, apart and hand and many == 2)
        for own, fold, number, twin, many, hand in zip(
            links, folds, times, twinned, lengths, hands, strict=True
        )
    )
    return first, second


def _links(side: Side, seam: Seam, piece_of: Callable[[str], Piece]) -> tuple[Link, ...]:
    links = []
    for name, edge, turned in side.edges:
        piece = piece_of(name)
        names = [other.name for other in piece.edges]
        if edge not in names:
            raise UserError(
                f"seam '{seam.name}': there is no edge '{edge}'",
                fix=edge_hint(edge, {other.name: other.part_of for other in piece.edges}),
                place=replace(seam.place, piece=name),
            )
        links.append(Link(piece, piece.edge(edge), turned))
    return tuple(links)


def _folds(links: Sequence[Link], seam: Seam) -> str:
    """Return the end at which the chain meets a piece's fold as walked, "" for neither.

    Within it, a chain goes over a fold only from an edge to the same edge of the other half. One
    that begins so and ends with that other half goes all the way round: it meets itself there.
    """
    found = ""
    closed = len(links) > 1 and links[-1] == replace(links[0], turned=not links[0].turned)
    for index, link in enumerate(links):
        for last, following in ((False, index - 1), (True, index + 1)):
            if not link.folds(last=last):
                continue
            if not 0 <= following < len(links):
                found = "" if closed else found or ("end" if last else "start")
            elif links[following] != replace(link, turned=not link.turned):
                raise _over_fold(link, seam, last=last)
    return found


def _over_fold(link: Link, seam: Seam, *, last: bool) -> UserError:
    """Return the fault of a side that goes on to other edges where a link begins or ends at its
    fold.
    """
    edge, back = link.edge.name, f"-{link.edge.name}"
    to_fold = (back, edge) if link.turned == last else (edge, back)
    halves = ", ".join(f'"{name}"' for name in to_fold)
    return UserError(
        f"seam '{seam.name}' runs over the fold of '{link.piece.name}', '{link.piece.fold}'",
        fix="To go on over the fold to its other half, name the edge of both halves: edges = "
        f"[{halves}]. Otherwise end the side at the fold, since the other half is its mirror "
        "image: name its pieces or edges in another order, or walk them the other way. Or name "
        "another edge as the fold.",
        place=replace(seam.place, piece=link.piece.name),
    )


def folds_sewn(sides: Sequence[Chain]) -> list[str]:
    """Return, in words, the edges of a seam that lie on the fold, where there is nothing to sew."""
    found = [link for side in sides for link in side.links if link.edge.name == link.piece.fold]
    return list(
        dict.fromkeys(
            f"'{link.edge.name}' of '{link.piece.name}' lies on the fold, where there is no edge "
            "to sew: name the sewn edge here, or the right one as the fold"
            for link in found
        )
    )


def _times(index: int, links: Sequence[Sequence[Link]], folds: Sequence[str], seam: Seam) -> int:
    """Return how many of this side's chain make up the whole seam.

    A chain that ends on the fold counts with its other half. Sewn to a single piece on the fold, a
    pair's left and right count together (a collar to both fronts). Sewn to one of several, they
    count together (an upper and an under collar) or one at a time (a sleeve to its side): whichever
    is nearer in length, with the ease stated. So do one as drawn and one reversed.
    """
    if folds[index]:
        return 2
    pieces = [link.piece for link in links[index]]
    paired = any(piece.paired for piece in pieces)
    reversed_too = not paired and any(map(_has_its_mirror_image, pieces))
    if not folds[1 - index] or not (paired or reversed_too) or _left_and_right(links[index]):
        return 1
    partner = links[1 - index][0 if folds[1 - index] == "start" else -1].piece
    if paired and sum(cut.count for cut in partner.cuts[:1]) <= 1:
        return 2
    # one reversed: left and right, or a shell and its lining: their length shows which
    one, two = (_nearness(index, links, seam, times) for times in (1, 2))
    return 2 if two < one else 1


def _nearness(
    index: int, links: Sequence[Sequence[Link]], seam: Seam, times: int
) -> tuple[float, float]:
    """Return by how many mm a seam is off its ease if a side counts so often, and the other, on the
    fold, with its other half; then by how many mm its sides differ.
    """
    own, other = (sum(link.size for link in links[k]) for k in (index, 1 - index))
    longer = times * own - 2.0 * other
    difference = -longer if index else longer
    ease = summed([seam.ease] * (times if seam.stretches else 1))  # stretches: of one walk
    return abs(beyond(difference, ease)), abs(difference)


def _has_its_mirror_image(piece: Piece) -> bool:
    """Return whether as many are cut of a piece as drawn as reversed: a left and a right, maybe of
    two cloths.
    """
    drawn, over = (
        sum(cut.count for cut in piece.cuts if cut.reversed == turned) for turned in (False, True)
    )
    return drawn == over > 0


def _left_and_right(links: Sequence[Link]) -> bool:
    """Return whether a side names an edge of a pair twice, its right one and its left one."""
    return len({(link.piece.name, link.edge.name) for link in links}) < len(links)


def _sewn_once(links: Sequence[Sequence[Link]]) -> bool:
    """Return whether a piece of which but one is cut is among halves on the fold: a right front.

    Their other halves are then sewn to another piece, by a seam of its own.
    """
    pieces = [link.piece for chain in links for link in chain if link.piece.fold is None]
    return any(piece.cuts and all(cut.pieces == 1 for cut in piece.cuts) for piece in pieces)


def _layers(links: Sequence[Link], folds: str) -> int:
    """Return how often a chain on the fold is in each side of a seam of its left to its right.

    Cut once, one half is sewn to the other; cut more often, the whole to another whole.
    """
    folded = links[0 if folds == "start" else -1].piece
    return 1 if sum(cut.count for cut in folded.cuts[:1]) <= 1 else 2


def sewn_edges(seams: Sequence[Seam]) -> set[tuple[str, str]]:
    """Return the pieces and edges that the seams name."""
    return {
        (piece, edge)
        for s in seams
        for side in (s.first, s.second)
        for piece, edge, _ in side.edges
    }
