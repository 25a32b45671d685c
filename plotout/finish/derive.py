"""Pieces that follow a parent: facings, fusings, linings, copies."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from shapely.geometry import Polygon

from plotout.errors import Place, UserError, all_of, nearest
from plotout.finish.divide import grain_of_part
from plotout.finish.edge_words import cut_orders
from plotout.finish.relabel import INNER, edges_of, follow_notches
from plotout.geometry.band import band
from plotout.geometry.offset import cutting_line, parallel
from plotout.geometry.polyline import signed_area
from plotout.geometry.sides import Bordered
from plotout.pattern.adjacent import NotAdjacentError, chained
from plotout.pattern.cloths import is_fusing, with_fold_checked
from plotout.pattern.derivation import cycle_fault
from plotout.pattern.model import Area, Derive, Edge, PatternSet, Piece
from plotout.pattern.settings import Corner
from plotout.tongue import Tongue

_SHARP = 10.0  # unlike a cutting line's, a stitching line's corners are not blunted


def all_pieces(pattern_set: PatternSet) -> tuple[Piece, ...]:
    """Return the set's pieces, with the derived ones made from their parents.

    A derived piece that is only marked becomes an area of its parent and has no card. Raises
    UserError with all the missing parents and edges, and the bands that leave nothing.
    """
    made, wrong = possible_pieces(pattern_set)
    if wrong:
        raise all_of(wrong)
    return made


def possible_pieces(pattern_set: PatternSet) -> tuple[tuple[Piece, ...], tuple[UserError, ...]]:
    """Return the pieces as `all_pieces` does, without those that can't be made, and why not."""
    pieces = pattern_set.pieces
    made, wrong = _derived(pattern_set)
    for index, piece in enumerate(pieces):
        if piece.derive is not None and piece.derive.marked and index in made:
            child, parent = made.pop(index), _parent_of(piece, pieces)
            say = pattern_set.say
            orders = say.listed(*(words for _, words in cut_orders(child, say)))
            orders_line = (
                [say("{piece}: {orders}", piece=child.name, orders=orders)] if orders else []
            )
            made[parent] = replace(
                made[parent],
                areas=(*made[parent].areas, Area(child.name, child.outline)),
                words=(*made[parent].words, *orders_line),
            )
    return tuple(made[index] for index in sorted(made)), wrong


def cut_pieces(pattern_set: PatternSet) -> tuple[Piece, ...]:
    """Return everything that is cut from cloth, including what is only marked on a card.

    Marked are derived pieces that are `marked`, and areas called fusing, which are cut as many
    times as their piece is cut of its first cloth. Raises UserError as `all_pieces` does.
    """
    found: list[Piece] = []
    (made, wrong), say = _derived(pattern_set), pattern_set.say
    if wrong:
        raise all_of(wrong)
    for piece in (made[index] for index in sorted(made)):
        found.append(piece)
        found += [_cut_of(area, piece, say) for area in piece.areas if is_fusing(area.name, say)]
    return tuple(found)


def _cut_of(area: Area, piece: Piece, say: Tongue) -> Piece:
    """Return a marked area as a piece of its own, without allowances."""
    ring = area.points if signed_area(area.points) > 0.0 else area.points[::-1]
    closed = ring if (ring[0] == ring[-1]).all() else np.vstack([ring, ring[:1]])
    edges = edges_of(closed, [(edge, edge.points) for edge in piece.edges], INNER, reach=1e-3)
    bare = tuple(replace(edge, allowance=(0.0, 0.0), seam_notches=False) for edge in edges)
    return Piece(
        f"{piece.name} {area.name}",
        bare,
        cuts=tuple(replace(cut, cloth=say("fusing")) for cut in piece.cuts[:1]),
        fold=piece.fold if piece.fold in [edge.name for edge in edges] else None,
        whole=piece.whole,
        grain=grain_of_part(piece.grain, Polygon(closed)),
        parent=piece.name,
    )


def _derived(pattern_set: PatternSet) -> tuple[dict[int, Piece], tuple[UserError, ...]]:
    """Return every piece of the set by its number, with the derived ones made, and what failed.

    What derives from a piece that can't be made is left out with it.
    """
    pieces = pattern_set.pieces
    parents = {piece.name: piece.parent for piece in pieces if piece.derive}
    made: dict[int, Piece | None] = {}
    wrong: list[UserError] = []
    for index, piece in enumerate(pieces):
        if fault := cycle_fault(piece.name, parents, Place(piece=piece.name)):
            raise fault
        _make(index, pieces, made, wrong)
    return {index: piece for index, piece in made.items() if piece is not None}, tuple(wrong)


def _make(
    index: int,
    pieces: tuple[Piece, ...],
    made: dict[int, Piece | None],
    wrong: list[UserError],
) -> Piece | None:
    """Return a piece, once made; None where that is impossible, which is added to `wrong` once."""
    if index in made:
        return made[index]
    piece: Piece | None = pieces[index]
    assert piece is not None
    if piece.derive is not None:
        try:
            parent = _make(_parent_of(piece, pieces), pieces, made, wrong)
            piece = None if parent is None else derive(piece, parent)
        except UserError as fault:
            wrong.append(fault)
            piece = None
    made[index] = piece
    return piece


def _parent_of(piece: Piece, pieces: tuple[Piece, ...]) -> int:
    names = [other.name for other in pieces]
    if piece.parent not in names:
        raise UserError(
            f"it derives from '{piece.parent}', which is not in the set",
            fix=nearest(piece.parent or "", names),
            place=piece.where,
        )
    return names.index(piece.parent)


def derive(piece: Piece, parent: Piece) -> Piece:
    """Return `piece` with the edges, grain and notches that it takes from its parent."""
    plan = piece.derive
    assert plan is not None
    for name in (*plan.along, *([plan.hem[0]] if plan.hem else [])):
        if name not in [edge.name for edge in parent.edges]:
            raise UserError(
                f"'{parent.name}' has no edge '{name}'",
                fix=nearest(name, [edge.name for edge in parent.edges]),
                place=piece.where,
            )
    try:
        edges = _shape(piece, parent)
    except ValueError as fault:
        raise UserError(
            f"it can't be made from '{parent.name}': {fault}",
            fix=_remedy(piece, fault),
            place=piece.where,
        ) from fault
    edges = tuple(_ruled(edge, piece) for edge in edges)
    names = [edge.name for edge in edges]
    lost = [rule.name for rule in plan.rules if rule.name not in names]
    if lost:
        raise UserError(
            f"it has no edge '{lost[0]}'",
            fix=f"{nearest(lost[0], names)} Mend its [piece.edge] tables.",
            place=piece.where,
        )
    fold = piece.fold or parent.fold
    fold = fold if fold in names else None
    whole = (piece.whole or parent.whole) and fold is not None
    child = replace(
        piece,
        edges=edges,
        fold=fold,
        whole=whole,
        bias=parent.bias if plan.bias is None else plan.bias,
        one_way=parent.one_way if plan.one_way is None else plan.one_way,
        front=parent.front if parent.front in names else None,
    )
    if plan.how is not Derive.FUSING and not piece.notches:
        child = replace(child, notches=follow_notches(child, parent))
    if piece.grain is None:
        child = replace(child, grain=grain_of_part(parent.grain, Polygon(child.outline)))
    return with_fold_checked(child)


def _remedy(piece: Piece, fault: ValueError) -> str:
    """Return what to do about a piece that can't be made: only what its plan gives can be off."""
    plan = piece.derive
    assert plan is not None
    if isinstance(fault, NotAdjacentError):
        return "Name edges that follow each other round the piece, or make a piece of each."
    given = [
        f"its {name}"
        for name, size in (
            ("width", plan.width),
            ("inset", plan.inset),
            ("'smaller'", plan.smaller),
            ("ease", plan.ease),
            ("'shorter'", plan.hem[1] if plan.hem else 0.0),
        )
        if size
    ]
    wrong_edge = f", or is '{plan.hem[0]}' not the hem?" if plan.hem else "."
    return f"Reduce {' or '.join(given) or 'its width'}{wrong_edge}"


def _shape(piece: Piece, parent: Piece) -> tuple[Edge, ...]:
    plan = piece.derive
    assert plan is not None
    base = banded(parent, plan.along, plan.width) if plan.along else parent
    match plan.how:
        case Derive.FACING:
            return base.edges
        case Derive.FUSING:
            edges = _moved_out(base, [edge.allowance for edge in base.edges], -plan.inset)
            return tuple(replace(edge, allowance=(0.0, 0.0), seam_notches=False) for edge in edges)
        case Derive.LINING:
            return _moved_out(base, [_lining(piece, edge, base) for edge in base.edges])
        case Derive.COPY:
            away = (-plan.smaller, -plan.smaller)
            return _moved_out(base, [away for _ in base.edges])


def _lining(piece: Piece, edge: Edge, parent: Piece) -> tuple[float, float]:
    """Return how far out a lining's edge lies: sides, which run along the grain, get the ease."""
    plan = piece.derive
    assert plan is not None
    if plan.hem and edge.name == plan.hem[0]:
        return (-plan.hem[1], -plan.hem[1])
    grain = parent.grain if parent.grain is not None else np.array([[0.0, 0.0], [0.0, 1.0]])
    direction, step = grain[1] - grain[0], edge.points[-1] - edge.points[0]
    along, across = abs(step @ direction), abs(step[0] * direction[1] - step[1] * direction[0])
    return (plan.ease, plan.ease) if along > across else (0.0, 0.0)


def _moved_out(
    piece: Piece, away: list[tuple[float, float]], more: float = 0.0
) -> tuple[Edge, ...]:
    """Return the piece's edges moved out by their distances plus `more`; the fold stays."""
    moves = [
        (0.0, 0.0) if edge.name == piece.fold else (out[0] + more, out[1] + more)
        for edge, out in zip(piece.edges, away, strict=True)
    ]
    pairs = list(zip(piece.edges, moves, strict=True))
    ring = cutting_line([Bordered(edge.points, move) for edge, move in pairs], _SHARP)
    lines = [(edge, parallel(edge.points, *move)) for edge, move in pairs]
    most = max(abs(move) for pair in moves for move in pair)
    return edges_of(ring, lines, INNER, reach=np.inf, run_on=_SHARP * most + 1.0)


def banded(parent: Piece, along: tuple[str, ...], width: float) -> Piece:
    """Return the band of the parent `width` mm wide inside a chain of its edges.

    Its inner edge is parallel to the chain and extended to the edges on either side; at the fold
    it is half of the whole one. Raises ValueError where nothing is left or the edges form no chain.
    """
    if width <= 0.0:
        raise ValueError("its width is 0")
    points = np.vstack([edge.points for edge in chained(parent.edges, along)])
    fold = None if parent.fold is None else parent.edge(parent.fold).points
    inside = band(parent.outline, points, width, fold)
    if Polygon(inside).area > 0.9999 * Polygon(parent.outline).area:
        raise ValueError(f"a band {width:g} mm wide covers the whole piece")
    lines = [(edge, edge.points) for edge in parent.edges]
    edges = edges_of(inside, lines, INNER, reach=1e-4)
    return replace(parent, edges=edges)


def _ruled(edge: Edge, piece: Piece) -> Edge:
    """Apply the set file's rules for the edge: those for all edges, then those for this one."""
    plan = piece.derive
    assert plan is not None
    if plan.allowance is not None and edge.allowance != (0.0, 0.0):
        edge = replace(edge, allowance=plan.allowance)
    for rule in plan.rules:
        if rule.name == edge.name:
            edge = replace(
                edge,
                allowance=rule.allowance if rule.allowance is not None else edge.allowance,
                corner=rule.corner if rule.corner is not None else edge.corner,
                seam_notches=(
                    rule.seam_notches if rule.seam_notches is not None else edge.seam_notches
                ),
            )
            if rule.facing:
                edge = replace(edge, facing=True, corner=Corner.TURNED)
    return edge
