"""Finds seams that may be meant for an edge that is in no seam: by counts, and by names.

Several layers may be sewn to one edge, so that it is in more seams than are cut of it only shows a
slip where another edge of that name and length lacks a seam. By topology and common practice.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from plotout.errors import quoted
from plotout.pattern.by_cloth import together_and_by_cloth
from plotout.pattern.cloths import share_a_cloth
from plotout.pattern.model import PatternSet, Seam
from plotout.pattern.number_cut import Key
from plotout.pattern.sides import chains
from plotout.review.edge_lengths import as_long
from plotout.review.edges_met import Free, free_edges
from plotout.review.hems_met import called_hem
from plotout.review.name_words import is_within, plain_words
from plotout.review.taken_twice import counted


def another_edge(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[str]:
    """Yield the edges of which seams take more than are cut, if one like them is in no seam, or one
    that is sewn to itself on another piece, as they are; and the seams that are called after such
    an edge of a piece that they sew, and not after the piece.

    seams: those that can be walked.
    """
    free = [(piece, edge) for piece, edge in free_edges(pattern_set) if not called_hem(edge)]
    yield from _taken_too_often(seams, pattern_set, free)
    for seam in seams:
        steps = [*seam.first.edges, *seam.second.edges]
        pieces = {piece for piece, _, _ in steps}
        words = plain_words(seam.name)
        if any(words <= plain_words(piece) for piece in pieces) or any(
            _share_a_word(edge, seam.name) for _, edge, _ in steps
        ):
            continue
        called = [(p, e) for p, e in free if p.name in pieces and _is_of(e.name, seam.name, pieces)]
        for piece, edge in called[:1]:
            own = quoted(dict.fromkeys(name for of, name, _ in steps if of == piece.name))
            yield (
                f"seam '{seam.name}': it is called after '{edge.name}' of '{piece.name}', which is "
                f"in no seam, but it sews {own}: is one of its sides wrong?"
            )


def _is_of(edge: str, seam: str, pieces: Iterable[str]) -> bool:
    """Return whether a seam's name says no more than an edge's and its pieces': a seam "below the
    zip" is not that of the zip.
    """
    beyond = plain_words(seam) - plain_words(edge) - set().union(*map(plain_words, pieces))
    return is_within(edge, seam) and not beyond


def _share_a_word(edge: str, seam: str) -> bool:
    return bool({*edge.casefold().split()} & {*seam.casefold().split()})


def _taken_too_often(seams: Sequence[Seam], pattern_set: PatternSet, free: Free) -> Iterator[str]:
    say, tolerance = pattern_set.say, pattern_set.defaults.tolerance
    sides = {seam.name: chains(seam, pattern_set.piece) for seam in seams}
    often: dict[Key, Mapping[str, int]] = {}
    for alone in together_and_by_cloth(sides, say):
        there, taken = counted(alone, say)
        often |= {key: names for key, names in taken.items() if sum(names.values()) > there[key]}
    centres = {step[:2] for seam in seams if seam.of_one_edge for step in seam.first.edges}
    for key, by_seam in often.items():
        own = pattern_set.piece(key[0])
        for piece, edge in free:
            which = ""
            like = as_long(own.edge(key[1]), edge, tolerance)
            alike = _is_alike(edge.name, key[1], same_piece=piece.name == own.name)
            if like and alike and share_a_cloth(own, piece, say):
                which = "as long,"
            elif piece.name == own.name and key in centres:
                others = [name for name, its in centres if name != own.name and its == edge.name]
                which = f"which is sewn to itself on '{min(others)}'," if others else ""
            if which:
                yield (
                    f"{own.name}: seams {quoted(by_seam)} take more of its '{key[1]}' than are "
                    f"cut, but '{edge.name}' of '{piece.name}', {which} is in no seam: does one of "
                    "them belong there?"
                )


def _is_alike(edge: str, other: str, *, same_piece: bool) -> bool:
    """Return whether edges of two pieces have one name; of one piece, but for left and right."""
    if not same_piece:
        return edge.casefold() == other.casefold()
    return edge != other and plain_words(edge) == plain_words(other) != set()
