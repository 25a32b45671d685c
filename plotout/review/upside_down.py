"""Finds pieces of a cloth that lies one way of which one is upside down.

Noted, never corrected. That nap and print run the same way on all pieces that hang beside or below
each other, sleeves included, is common practice, from memory.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from plotout.geometry.polyline import unit
from plotout.pattern.chain import Chain
from plotout.pattern.cloths import share_a_cloth
from plotout.pattern.model import Edge, PatternSet, Piece, Seam
from plotout.pattern.sides import chains
from plotout.pattern.true_measure import slant
from plotout.review.faces import words_of
from plotout.review.grain_doubts import bent, goes_on, lie
from plotout.review.hems_met import called_hem, hems_met
from plotout.review.hood_doubts import across_necks
from plotout.review.side_doubts import OneSide, are_panels, one_side

_TOP = re.compile(
    r"top|upper|waist|waistline|neck|neckline|shoulder|head|cap|crown|heading|oben|ober\w*|taille|"
    r"hals\w*|schulter\w*|\w*kugel|haut|encolure|épaule|tête|cintura|talle|escote|hombro|copa|arriba|"
    r"vita|scollo|spalla|colmo|cintura|decote|ombro|.*ウエスト|.*胴囲|.*襟ぐり|.*衿ぐり|.*肩|.*袖山"
)
_FOOT = re.compile(
    r"leg|ankle|foot|bottom|base|lower|wrist|unten|unter\w*|fuss|fuß|\w*beinabschluss|handgelenk|"
    r"cheville|poignet|jambe|tobillo|puño|abajo|pierna|caviglia|polso|tornozelo|punho|.*足口|.*袖口"
)
"""Words for edges at the top and at the foot of a piece as it is worn; from memory."""
_APART = 0.5  # of the piece's length: how far the top is from the foot, along the grain
_LEVEL = 45.0  # degrees off the grain that a hem has at least
_ACROSS = 45.0  # degrees: of a fold that lies further off the grain, both halves hang unlike

Pair = frozenset[str]


@dataclass(frozen=True, slots=True)
class Compared:
    """Two pieces that hang the same way up where they are compared. alike: so do their arrows.

    words: what to ask if they don't.
    """

    pair: Pair
    alike: bool
    words: str


def upside_down(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[str]:
    """Yield the pieces whose arrow points the other way than those of their neighbours, each once.

    seams: those that can be walked.
    """
    names = [piece.name for piece in pattern_set.pieces]
    unlike = _unlike(compared(seams, pattern_set))
    while unlike:
        many = Counter(name for pair in unlike for name in pair)
        odd = max(many, key=lambda name: (many[name], -names.index(name)))
        yield next(words for pair, words in unlike.items() if odd in pair)
        unlike = {pair: words for pair, words in unlike.items() if odd not in pair}


def compared(seams: Sequence[Seam], pattern_set: PatternSet) -> list[Compared]:
    """Return the comparisons of pieces of one cloth that lies one way."""
    return [
        *_at_hems(seams, pattern_set),
        *_along_seams(seams, pattern_set),
        *_at_necks(seams, pattern_set),
        *_by_names(pattern_set),
    ]


def _unlike(compared: Sequence[Compared]) -> dict[Pair, str]:
    """Return the pairs that every comparison shows to be unlike, with the first one's words.

    A strip goes down at one side of a bag and up at the other: that shows nothing.
    """
    alike = {one.pair for one in compared if one.alike}
    found: dict[Pair, str] = {}
    for one in compared:
        if one.pair not in alike:
            found.setdefault(one.pair, one.words)
    return found


def uncompared(seams: Sequence[Seam], pattern_set: PatternSet) -> list[str]:
    """Return the names of the pieces that lie one way, as others of their cloth, though nothing
    shows which end is up. One that is folded across its grain has none, and a derived one has its
    parent's.
    """
    shown = {name for one in compared(seams, pattern_set) for name in one.pair}
    return [
        piece.name
        for piece in pattern_set.pieces
        if piece.name not in shown and piece.derive is None and piece.grain is not None
        if any(_comparable(piece, other, pattern_set) for other in pattern_set.pieces)
    ]


def _at_hems(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[Compared]:
    """Yield pieces whose hems meet: both arrows point to the hem, or away from it."""
    for seam, one, other in hems_met(seams, pattern_set):
        own, its = lie(one), lie(other)
        if own is None or its is None or not (own.across and its.across):
            continue
        hang_alike = goes_on(one, other) and not bent(chains(seam, pattern_set.piece))
        if hang_alike and _comparable(one.piece, other.piece, pattern_set):
            yield Compared(
                frozenset((one.piece.name, other.piece.name)),
                own.up == its.up,
                f"seam '{seam.name}': the grain lines of '{one.piece.name}' and "
                f"'{other.piece.name}' point one to the hem and one away from it, but both lie "
                "one way in the cloth: is one upside down?",
            )


def _along_seams(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[Compared]:
    """Yield panels side by side: walked along their seam, both arrows point forwards, or back."""
    for seam in seams:
        both = chains(seam, pattern_set.piece)
        one, other = map(one_side, both)
        if one is None or other is None or not are_panels(one, other):
            continue
        if not bent(both) and _comparable(one.piece, other.piece, pattern_set):
            yield Compared(
                frozenset((one.piece.name, other.piece.name)),
                _points_forward(one) == _points_forward(other),
                f"seam '{seam.name}': the grain lines of '{one.piece.name}' and "
                f"'{other.piece.name}' point in opposite directions along it, but both lie one way "
                "in the cloth: is one upside down?",
            )


def _at_necks(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[Compared]:
    """Yield hoods and what they rise from: across their seam one arrow goes on in the other."""
    for name, own, other in across_necks(seams, pattern_set):
        piece, its = own.links[0].piece, other.links[0].piece
        if _comparable(piece, its, pattern_set):
            yield Compared(
                frozenset((piece.name, its.name)),
                _points_out(own) != _points_out(other),
                f"seam '{name}': the grain lines of '{piece.name}' and '{its.name}' point in "
                "opposite directions across it, but both lie one way in the cloth: is one upside "
                "down?",
            )


def _points_out(run: Chain) -> bool:
    """Return whether a piece's arrow points to its edges in a seam, and out of the piece there."""
    grain = run.links[0].piece.grain
    assert grain is not None
    across, up = sum(link.edge.points[-1] - link.edge.points[0] for link in run.links)
    outward = np.array([up, -across])  # the piece is on its edges' left
    return bool((grain[-1] - grain[0]) @ outward > 0.0)


def _by_names(pattern_set: PatternSet) -> Iterator[Compared]:
    """Yield the pieces of which the names of edges show which end is up."""
    for one, other in combinations(pattern_set.pieces, 2):
        if not _comparable(one, other, pattern_set):
            continue
        up, its = _to_top(one), _to_top(other)
        if up is None or its is None:
            continue
        yield Compared(
            frozenset((one.name, other.name)),
            up.points_up == its.points_up,
            f"the grain line of '{one.name}' points to its '{up.edge.name}', but that of "
            f"'{other.name}' to its '{its.edge.name}', and both lie one way in the cloth: is one "
            "upside down?",
        )


def _comparable(one: Piece, other: Piece, pattern_set: PatternSet) -> bool:
    both = one.one_way and other.one_way and one.name != other.name
    hangs = not (_folded_across(one) or _folded_across(other))
    return both and hangs and share_a_cloth(one, other, pattern_set.say)


def _folded_across(piece: Piece) -> bool:
    if piece.fold is None or piece.grain is None:
        return False
    return abs(slant(piece.edge(piece.fold).points[[0, -1]], piece.grain)) > _ACROSS


def _points_forward(side: OneSide) -> bool:
    """Return whether a piece's arrow points the way in which its side is walked."""
    assert side.piece.grain is not None
    with_edges = (side.piece.grain[-1] - side.piece.grain[0]) @ (side.ends[1] - side.ends[0]) > 0.0
    return bool(with_edges) != side.chain.links[0].turned


@dataclass(frozen=True, slots=True)
class _Arrow:
    """Where a piece's arrow points: to its top, or to its foot; the edge there."""

    points_up: bool
    edge: Edge


def _to_top(piece: Piece) -> _Arrow | None:
    """Return where a piece's arrow points; None if the names of its edges don't show it."""
    if piece.grain is None or piece.bias or piece.derive is not None:
        return None
    axis = unit(piece.grain[-1] - piece.grain[0])
    tops = [edge for edge in piece.edges if _called(_TOP, edge)]
    feet = [edge for edge in piece.edges if called_hem(edge) or _called(_FOOT, edge)]
    if not tops or not feet or any(edge in tops for edge in feet):
        return None
    if any(abs(slant(edge.points[[0, -1]], piece.grain)) < _LEVEL for edge in feet):
        return None
    places = [[float((edge.points @ axis).mean()) for edge in edges] for edges in (tops, feet)]
    if min(places[0]) <= max(places[1]) and min(places[1]) <= max(places[0]):
        return None
    by = float(np.mean(places[0]) - np.mean(places[1]))
    if abs(by) < _APART * float(np.ptp(piece.outline @ axis)):
        return None
    return _Arrow(by > 0.0, (tops if by > 0.0 else feet)[0])


def _called(words: re.Pattern[str], edge: Edge) -> bool:
    return any(words.fullmatch(word) for word in words_of(edge.name))
