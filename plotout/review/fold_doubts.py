"""Finds what a piece says of its fold that may not be meant: common practice, from memory."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence

import numpy as np

from plotout.geometry.end_heading import end_heading
from plotout.geometry.polyline import length
from plotout.pattern.grown_corners import BENT
from plotout.pattern.model import Edge, Piece
from plotout.pattern.true_measure import askew, bow, inward
from plotout.review.faces import faces_in
from plotout.review.hems_met import called_hem

SLANT = 1.5  # degrees by which a fold may lie off the grain
NEARLY = 0.3, 4.0  # degrees by which an edge is off square to a fold to which it was meant to be
STRAIGHT = 1.0  # mm by which a fold may bow
_STRIP = 3.0  # times its width that a strip is long: a tie, a bow, a belt
TRUE_IT = "[[piece.true]] makes it so"
FOLD = re.compile(
    "fold|(stoff)?bruch(kante|linie)?|pliure|pli|doblez|piega|piegatura|ripiegatura|(stof)?vouw|"
    "brett(en)?|dobra|zgięci[ea]|złożeni[ea]|(kangas)?taite|přehyb|ohyb|"
    "hajtás|katlama|kat|сгиба?|згину?|.*わ|輪|折线|对折线?|双折|골선?|"
    "(tyg)?vik(ning)?(kant)?|(stof)?fold(en|e)?|taitereuna|plec|doblec|lomo|dobladura|prehyb|"
    "pregib|prepogib|prijelom|prijegib|prevoj|превој|сгъвк[аи]|прегъвк[аи]|îndoitur[ăa]|pliu|"
    "τσάκιση|τσάκισης|δίπλωμα|murdejoon|murre|locījum[sa]|lenkim[oa]s?|접는선?"
)
"""The word for it in the languages in which sets are written."""
BESIDE = {
    "line",
    "edge",
    "place",
    "on",
    "the",
    "of",
    "linie",
    "linia",
    "линия",
    "лінія",
    "de",
    "au",
    "yeri",
    "linje",
    "linija",
    "joon",
}
"""Words that may stand beside it: of others, as in a fold allowance, it is no fold's name."""
CENTRE = {"centre", "center", "middle", "mitte", "milieu", "centro"}


def fold_doubts(piece: Piece) -> Iterator[str]:
    """Yield a fold off the grain, or at a hem, edges nearly square to it, and one only named."""
    fold = next((edge for edge in piece.edges if edge.name == piece.fold), None)
    if fold is not None:
        yield from _off_the_grain(piece, fold)
        yield from _nearly_square(piece, fold)
        yield from _hem_for_centre(piece, fold)
    if piece.derive is None:
        yield from _only_named(piece, fold)


def _off_the_grain(piece: Piece, fold: Edge) -> Iterator[str]:
    """Yield a fold that is surely neither along the grain nor square to it, as the threads are."""
    if piece.grain is None or piece.bias:
        return
    off = askew(piece.grain, fold.points)
    if off - max(fold.headings_to) > SLANT:
        yield (
            f"its grain line is {off:.0f} degrees off its fold '{piece.fold}': cloth is folded "
            "along its grain, or across it; is the grain line right?"
        )


def _nearly_square(piece: Piece, fold: Edge) -> Iterator[str]:
    """Yield an edge that opens to a peak or a dip at the fold, but nearly runs straight over it. A
    derived piece has its parent's; what growth has turned is asked about for itself. It must be
    off square by more than its pricks may be.
    """
    if piece.derive is not None:
        return
    at = next(index for index, edge in enumerate(piece.edges) if edge is fold)
    least = BENT if any(edge.grows for edge in piece.edges) else NEARLY[0]
    beside = piece.edges[at - 1], piece.edges[(at + 1) % len(piece.edges)]
    met = [
        (edge, *_angles(edge, fold, last=last), _known_to(edge, fold, last=last))
        for edge, last in zip(beside, (False, True), strict=True)
    ]
    if _tapers(fold, beside, [angle for _, angle, _, _ in met], math.hypot(*(m[-1] for m in met))):
        return
    for edge, angle, exact, known_to in met:
        asked = any(f"'{edge.name}' meets '{fold.name}' square" in note for note in piece.notes)
        if asked or abs(exact - 90.0) < NEARLY[0]:
            continue  # a curve that tightens there is square to it, though less so on average
        if least + known_to <= abs(angle - 90.0) <= NEARLY[1]:
            yield (
                f"'{edge.name}' meets the fold '{fold.name}' at {angle:.1f} degrees, so that it "
                f"has a {'peak' if angle < 90.0 else 'dip'} there when it is opened: is it to be "
                f"square? {TRUE_IT}"
            )


def _angles(edge: Edge, fold: Edge, *, last: bool) -> tuple[float, float]:
    """Return at how many degrees an edge meets the fold: on average near it, and exactly there.

    last: whether it does at the fold's end.
    """
    one, _ = inward(fold.points, last=last)
    other, _ = inward(edge.points, last=not last)
    tangent = end_heading(edge.points, last=not last).direction
    into = tangent if last else -tangent
    angle, exact = (
        float(np.degrees(np.arccos(np.clip(one @ way, -1.0, 1.0)))) for way in (other, into)
    )
    return angle, exact


def _known_to(edge: Edge, fold: Edge, *, last: bool) -> float:
    """Return to how many degrees (two sigma) it is known how an edge meets the fold."""
    return math.hypot(edge.headings_to[not last], fold.headings_to[last])


def _tapers(fold: Edge, beside: Sequence[Edge], angles: Sequence[float], known_to: float) -> bool:
    """Return whether a strip tapers evenly on both its sides, from its fold on: a tie, a bow.

    known_to: degrees to which the difference of both angles is known.
    """
    one, other = angles
    lengthy = all(length(edge.points) > _STRIP * length(fold.points) for edge in beside)
    return lengthy and abs(one - other) < NEARLY[0] + known_to


def _hem_for_centre(piece: Piece, fold: Edge) -> Iterator[str]:
    """Yield a hem on the fold, of a piece with an edge at its centre, where a fold would be."""
    centre = next((edge.name for edge in piece.edges if CENTRE & _words(edge.name)), None)
    if centre and called_hem(fold) and piece.derive is None:
        yield (
            f"'{fold.name}' lies on the fold, and '{centre}' is cut as any other edge: "
            "is fold right?"
        )


def _words(name: str) -> set[str]:
    return set(re.findall(r"[^\W\d_]+", name.casefold()))


def _only_named(piece: Piece, fold: Edge | None) -> Iterator[str]:
    """Yield an edge that is called a fold, of a piece that has none, or another one."""
    named = [edge.name for edge in piece.edges if _is_called_fold(edge.name)]
    for edge in piece.edges:
        if edge.name not in named or bow(edge.points) >= STRAIGHT:
            continue
        if fold is None:
            yield (
                f"its edge '{edge.name}' is called a fold, but is cut as any other edge: if it "
                f'lies on the fold, write fold = "{edge.name}"'
            )
        elif fold.name not in named:
            yield (
                f"its edge '{edge.name}' is called a fold, but '{fold.name}' lies on the fold: "
                f'is fold = "{fold.name}" right?'
            )


def _is_called_fold(name: str) -> bool:
    """Return whether a name says that there is a fold: the word alone, or with where it is."""
    words = {word for word in _words(name) if not FOLD.fullmatch(word)}
    rest = words - BESIDE - CENTRE
    return len(words) < len(_words(name)) and not any(not faces_in(word) for word in rest)
