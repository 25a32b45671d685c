"""What a patternmaker letters on a card by hand: along its edges, and what is to be known of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

import numpy as np
from shapely.geometry import Polygon

from plotout.finish.bare_card import Label
from plotout.finish.unfold import OTHER
from plotout.geometry.offset import parallel
from plotout.geometry.polyline import length
from plotout.pattern.model import Cut, Edge, OnCards, Piece, Seam

_CLOSE = 3.5  # mm inside the card's edge that letters along it begin, where it has no allowance
_SAME = 0.998  # of its area that a piece must share with its mirror image to be called the same
LEAST = 25.0  # mm: a shorter edge is not lettered


def edge_labels(piece: Piece, seams: Sequence[Seam], wanted: OnCards) -> tuple[Label, ...]:
    """Return what is lettered along each edge, the fullest first, to be cut short for want of room.

    seams: of the set, which say what each edge is sewn to.
    """
    usual = usual_allowance(piece)
    found = []
    for edge in piece.edges:
        if edge.name == piece.fold or length(edge.points) < LEAST:
            continue
        name = edge.name.removesuffix(OTHER)
        texts = list(_texts(edge, name, piece, seams, wanted, usual))
        if texts:
            inside = max(0.0, _CLOSE - min(edge.allowance))
            line = parallel(edge.points, -inside, -inside) if inside else edge.points
            found.append(Label(line, tuple(dict.fromkeys(texts)), inward=True))
    return tuple(found)


def _texts(
    edge: Edge,
    name: str,
    piece: Piece,
    seams: Sequence[Seam],
    wanted: OnCards,
    usual: tuple[float, float] | None,
) -> Iterator[str]:
    named = name if wanted.edges and not name.isdigit() else ""
    if wanted.front and piece.front == name and "front" not in named.casefold().split():
        named = f"front: {named}" if named else "front"
    to = f"to {sewn_to(name, piece, seams)}" if wanted.sewn_to and edge.allowance else ""
    to = "" if to == "to " else to
    wide = f"{figure(edge.allowance)} mm" if wanted.allowance and edge.allowance != usual else ""
    if edge.facing and wanted.facing:
        wide = f"facing {wide}".strip()
    for parts in ((named, to, wide), (named, wide), (named, to), (named,), (to,), (wide,)):
        text = ", ".join(part for part in parts if part)
        if text:
            yield text


def sewn_to(edge: str, piece: Piece, seams: Sequence[Seam]) -> str:
    """Return what the edge is sewn to: pieces, or edges of its own piece; "" where no seam says."""
    names = (piece.name, piece.parent or piece.name)
    found: list[str] = []
    for seam in seams:
        for side, other in ((seam.first, seam.second), (seam.second, seam.first)):
            if any(of in names and name == edge for of, name, _ in side.edges):
                found += [name if of in names else of for of, name, _ in other.edges]
    return " and ".join(dict.fromkeys(found))


def usual_allowance(piece: Piece) -> tuple[float, float] | None:
    """Return the allowance that most of the piece's sewn edge has, mm; None where it has none."""
    wide: Counter[tuple[float, float]] = Counter()
    for edge in piece.edges:
        if edge.name != piece.fold and max(edge.allowance) > 0.0:
            wide[edge.allowance] += round(length(edge.points), 3)  # type: ignore[assignment]
    return wide.most_common(1)[0][0] if wide else None


def figure(allowance: tuple[float, float]) -> str:
    """Return an allowance in figures, mm."""
    return " to ".join(dict.fromkeys(f"{value:g}" for value in allowance))


def order(cut: Cut, piece: Piece, wanted: OnCards) -> str:
    """Return a cutting order in words; of a single piece that has two sides, which way up."""
    told = str(cut)
    single = not (cut.pair or cut.on_fold or piece.fold)
    if cut.reversed:
        return f"{told}, reversed"
    if wanted.as_drawn and single and not is_symmetric(piece):
        return f"{told}, as drawn"
    return told


def is_symmetric(piece: Piece) -> bool:
    """True where the piece is the same turned over, so that it can't be cut the wrong way."""
    own = Polygon(piece.outline)
    centre = np.array(own.centroid.coords[0])
    for way in ([-1.0, 1.0], [1.0, -1.0]):
        other = Polygon((piece.outline - centre) * way + centre).buffer(0.0)
        if own.buffer(0.0).intersection(other).area >= _SAME * own.area:
            return True
    return False


def facts(piece: Piece, wanted: OnCards) -> tuple[str, ...]:
    """Return lines for the card's block, the most needed first."""
    usual = usual_allowance(piece)
    allowance = f"allowance {figure(usual)} mm" if usual else "no allowance"
    told = (
        (piece.bias, "cut on the bias"),
        (piece.one_way and wanted.one_way, "lay one way"),
        (wanted.right_side, "right side up"),
        (wanted.allowance, allowance),
    )
    return tuple(text for true, text in told if true)
