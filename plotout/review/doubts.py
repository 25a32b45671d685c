"""Finds what a set says that may not have been meant: noted, never corrected.

What is reported, and its figures, are common practice in pattern rooms, from memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from shapely import LinearRing, LineString, Point, Polygon

from plotout.errors import quoted
from plotout.finish.drills import drill_doubts
from plotout.geometry.polyline import direction_at, length, mirrored, point_at, rotated, unit
from plotout.geometry.strokes import FloatArray
from plotout.pattern.model import Edge, Piece
from plotout.pattern.piece_marks import within
from plotout.pattern.settings import Corner, Defaults
from plotout.pattern.true_measure import askew, bow
from plotout.review.contradictions import contradictions
from plotout.review.cut_out_doubts import cut_out_doubts
from plotout.review.fold_doubts import SLANT, fold_doubts
from plotout.review.folded_over import card_of, folded_over
from plotout.review.off_frame import off_frame
from plotout.review.part_doubts import LAPPED, NARROW, NOTCHED, part_doubts

WIDE = 80.0  # mm: a wider allowance is queried; common practice ends at deep hems
THIN = 5.0  # mm: a narrower piece is queried
LONG = 8000.0  # mm: a longer piece is queried
LENGTHY, TIMES = 1500.0, 7.0  # mm; a longer piece, so many times as long as all others, is too
TOLERANT = 5.0  # mm: with a greater tolerance hardly a slip of the pen is a fault
EASED = 20.0  # mm by which a lining is wider than its piece at each side: more is queried
STRAIGHT = 1.0  # mm by which a stripe line may bow
NEARLY = 0.5, 4.0  # degrees by which a grain line is off an edge that it was meant to follow
_SQUARE, _BIAS = 0.5, 42.0  # degrees by which a corner may miss a right angle; that are a bias
_TRUE = 1e-3  # mm by which a grain line that is drawn upright or level may miss that
EDGE = 30.0  # mm: the grain line is compared with longer edges
HOLE = 25.0  # mm: a wider hanging hole fits no hook that is not far thinner
_PLACES, _MIDDLE = 41, 0.5  # where a facing is compared with the piece beneath, as shares of it
_STEP = 5.0  # mm: a shallower area holds no fusing, and nothing that is sewn on


def default_doubts(defaults: Defaults) -> Iterator[str]:
    """Yield what holds for every piece and may not be meant."""
    if not _usual(defaults.allowance):
        yield f"[defaults]: the allowance is {defaults.allowance:g} mm: is its unit right?"
    if defaults.hole > HOLE:
        yield f"[defaults]: the hanging hole is {defaults.hole:g} mm wide: is its unit right?"
    if defaults.underlap > LAPPED:
        yield f"[defaults]: the underlap is {defaults.underlap:g} mm wide: is its unit right?"
    if defaults.notch.width > NOTCHED:
        yield f"[defaults]: a notch is {defaults.notch.width:g} mm wide: is its unit right?"
    if defaults.tolerance > TOLERANT:
        yield (
            f"[defaults]: the tolerance is {defaults.tolerance:g} mm, so that no seam is off that "
            "is less so: is its unit right?"
        )


def out_of_proportion(pieces: Sequence[Piece]) -> Iterator[str]:
    """Yield the piece that is so much longer than any other that its unit may be wrong."""
    sizes = {piece.name: float(np.ptp(piece.outline, axis=0).max()) for piece in pieces}
    if len(sizes) < 2:
        return
    name, *others = sorted(sizes, key=lambda one: -sizes[one])
    times = sizes[name] / max(sizes[others[0]], 1.0)
    if LENGTHY < sizes[name] <= LONG and times > TIMES:
        yield (
            f"{name}: it is {sizes[name] / 1000.0:.1f} m long, {times:.0f} times as long as any "
            "other piece: is its unit right?"
        )


def _usual(allowance: float) -> bool:
    return allowance == 0.0 or NARROW <= allowance <= WIDE


def doubts(piece: Piece, defaults: Defaults) -> Iterator[str]:
    """Yield what a piece lacks, and what it says that may not be meant.

    An allowance of the defaults is not asked about again at every edge.
    """
    if piece.grain is None:
        yield "it has no grain line: write grain = { along = EDGE }, or give two points"
    elif (inside := within(piece.grain, piece.outline)) < length(piece.grain) / 2.0:
        whole = length(piece.grain)
        yield f"of its grain line's {whole:.0f} mm only {inside:.0f} lie in the piece: is it right?"
    yield from (
        *_nearly_along(piece),
        *fold_doubts(piece),
        *_sized(piece),
        *drill_doubts(piece),
        *_bent_stripes(piece),
        *_askew_stripes(piece),
        *contradictions(piece),
        *cut_out_doubts(piece),
        *part_doubts(piece, defaults),
    )
    if not piece.cuts:
        yield "nothing is cut with it: write cut = [{ cloth = ..., count = ... }]"
    for widest, names in _odd_allowances(piece, defaults).items():
        which = quoted(names)
        yield f"the allowance of {which} is {widest:g} mm: is its unit right?"
    for cut in piece.cuts:
        if cut.pair and (cut.on_fold or piece.fold):
            yield (
                f"'{cut}': a piece on the fold is its own mirror image; for {cut.pieces} of it "
                f"write count = {cut.pieces}, without pair"
            )


def _odd_allowances(piece: Piece, defaults: Defaults) -> dict[float, list[str]]:
    """Return the allowances of a piece's own that are seldom meant, with their edges."""
    odd: dict[float, list[str]] = {}
    for edge in piece.edges:
        widest = max(edge.allowance)
        if not _usual(widest) and widest != defaults.allowance:
            odd.setdefault(widest, []).append(edge.name)
    return odd


def _nearly_along(piece: Piece) -> Iterator[str]:
    """Yield the straight edge that the grain line nearly follows, if it is square to no other; or
    that it is off most nearly, if the piece has a right angle; or that the edge that it follows is
    slanted.

    Not one that may follow it, by its pricks.
    A derived piece has its parent's grain line, which follows none of the few edges that it takes.
    A line that is upright or level in a drawing is meant so: a side may slope by a degree or two.
    """
    if piece.grain is None or piece.derive is not None or _is_drawn_true(piece):
        return
    straight = [e for e in piece.edges if bow(e.points) <= STRAIGHT and length(e.points) >= EDGE]
    off = {edge.name: askew(piece.grain, edge.points) for edge in straight}
    if any(off[edge.name] < NEARLY[0] + max(edge.headings_to) for edge in straight) or not off:
        yield from off_frame(piece)
        return
    name = min(off, key=lambda edge: off[edge])
    halved = _halves(piece.grain, piece.outline) or _between(
        piece.grain, piece.edge(name), straight
    )
    if not halved and (off[name] <= NEARLY[1] or _off_its_corner(piece, off)):
        yield (
            f"its grain line is {off[name]:.1f} degrees off '{name}', and true to no edge: "
            "is that meant?"
        )


def _off_its_corner(piece: Piece, off: Mapping[str, float]) -> bool:
    """Return whether a piece has two straight edges that meet at a right angle, and its grain is
    true to neither, nor on the bias to them. Off a fold it is asked about anyway.

    off: by how many degrees the grain is off each straight edge.
    """
    pairs = zip(piece.edges, (*piece.edges[1:], piece.edges[0]), strict=True)
    return not (piece.fold or piece.bias) and any(
        {one.name, other.name} <= off.keys()
        and _meet_square(one.points, other.points)
        and off[one.name] < _BIAS
        for one, other in pairs
    )


def _meet_square(one: FloatArray, other: FloatArray) -> bool:
    (u, v), (x, y) = one[-1] - one[0], other[-1] - other[0]
    return bool(abs(np.degrees(np.arctan2(u * y - v * x, u * x + v * y)) - 90.0) <= _SQUARE)


def _is_drawn_true(piece: Piece) -> bool:
    """Return whether the grain line is upright or level as drawn. How pricks lie says nothing."""
    assert piece.grain is not None
    step = np.abs(rotated(piece.grain[-1] - piece.grain[0], -piece.turn))
    return float(step.min()) < _TRUE and not any(edge.known_to for edge in piece.edges)


def _halves(grain: FloatArray, outline: FloatArray) -> bool:
    """Return whether a piece is its own mirror image in a line along its grain, as a gore is."""
    ring = Polygon(outline)
    middle = np.array(ring.centroid.coords[0])
    twin = mirrored(np.vstack([outline, outline[:1]]), middle, middle + grain[-1] - grain[0])
    return bool(ring.exterior.hausdorff_distance(LinearRing(twin)) <= STRAIGHT)


def _between(grain: FloatArray, edge: Edge, others: Sequence[Edge]) -> bool:
    """Return whether a grain line lies halfway between an edge and another, as in a tie's blade."""
    along = unit(grain[-1] - grain[0])
    one, *rest = (unit(e.points[-1] - e.points[0]) for e in (edge, *others))
    twin = 2.0 * (one @ along) * along - one
    away = (abs(twin[0] * other[1] - twin[1] * other[0]) for other in rest)
    return bool(min(away) < np.sin(np.radians(NEARLY[0])))


def _sized(piece: Piece) -> Iterator[str]:
    """Yield sizes that may have a wrong unit: a piece as a whole, what it is eased by, a facing."""
    thin, long = sorted(np.ptp(piece.outline, axis=0).tolist())
    if thin < THIN:
        yield f"it is only {thin:.3g} mm wide: is its unit right?"
    if long > LONG:
        yield f"it is {long / 1000.0:.1f} m long: is its unit right?"
    if piece.derive is not None and piece.derive.ease > EASED:
        yield f"its ease is {piece.derive.ease:g} mm at every side: is its unit right?"
    for area in piece.areas:
        shallow = 2.0 * Polygon(area.points).area / LinearRing(area.points).length
        if shallow < _STEP:
            yield f"its area '{area.name}' is only {shallow:.2g} mm deep: is its unit right?"
    turned = [
        edge for edge in piece.edges if edge.corner is Corner.TURNED and max(edge.allowance) > 0.0
    ]
    card = card_of(piece) if turned else None
    for edge in turned:
        past = tuple(_past_the_piece(edge, piece))
        yield from past
        if card is not None and not past:
            yield from folded_over(edge, piece, card)


def _past_the_piece(edge: Edge, piece: Piece) -> Iterator[str]:
    """Yield where an allowance that is folded over reaches furthest past the piece.

    At its ends it follows the edges beside it, with its corners turned back: there it is cut off
    where they are.
    """
    beside = {other.name for other in piece.beside(edge)}
    over, wide, deep, at = 0.0, 0.0, 0.0, 0.0
    for share in np.linspace(0.01, 0.99, _PLACES).tolist():
        depth, met = _depth(edge, piece, share)
        if met in beside and share != _MIDDLE:
            continue
        own = float(np.interp(share, (0.0, 1.0), edge.allowance))
        if own - depth > over:
            over, wide, deep, at = own - depth, own, depth, share * length(edge.points)
    if over > 0.0:
        where = "" if abs(at - length(edge.points) / 2.0) < 0.01 else f", {at:.0f} mm along it"
        yield (
            f"folded over, the {wide:g} mm of '{edge.name}' reach past the piece, which is "
            f"{deep:.0f} mm deep there{where}"
        )


def _depth(edge: Edge, piece: Piece, share: float) -> tuple[float, str]:
    """Return how far the piece reaches, mm, square to a place of an edge, and to which edge.

    Endless to a fold.
    """
    place = length(edge.points) * share
    at, along = point_at(edge.points, place), direction_at(edge.points, place)
    inward = np.array([-along[1], along[0]])
    ray = LineString([at + inward * 0.1, at + inward * 1e4])
    hits = {
        other.name: LineString(other.points).intersection(ray).distance(Point(at))
        for other in piece.edges
        if LineString(other.points).intersects(ray)
    }
    nearest = min(hits, key=lambda name: hits[name], default="")
    return (float(hits[nearest]) if nearest and nearest != piece.fold else np.inf), nearest


def _bent_stripes(piece: Piece) -> Iterator[str]:
    for line in piece.lines:
        if line.kind in ("stripe", "plaid") and (bowed := bow(line.points)) > STRAIGHT:
            yield f"its {line.kind} line '{line.name}' is not straight: it bows {bowed:.1f} mm"


def _askew_stripes(piece: Piece) -> Iterator[str]:
    """Yield stripe and plaid lines that are neither along the threads nor across them."""
    if piece.grain is None:
        return
    for line in piece.lines:
        if line.kind in ("stripe", "plaid") and bow(line.points) <= STRAIGHT:
            off = askew(piece.grain, line.points)
            off = 45.0 - off if piece.bias else off
            if off > SLANT:
                yield (
                    f"its {line.kind} line '{line.name}' lies {off:.0f} degrees off the threads: "
                    "stripes run along them, or across; is it right?"
                )
