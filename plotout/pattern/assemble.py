"""From a set file and its drawings to a pattern set, every piece checked in itself."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
from shapely.geometry import LineString, Polygon

from plotout.errors import UserError, clean, nearest
from plotout.geometry.offset import Bordered, cutting_line, stitching_from_cutting
from plotout.geometry.polyline import ring_of
from plotout.geometry.strokes import FloatArray
from plotout.pattern.derivation import check_parents, piece_to_derive, splits
from plotout.pattern.drawing import Drawing, Role
from plotout.pattern.grading import SizeStep, graded, size_step
from plotout.pattern.kinds import Ref
from plotout.pattern.model import (
    Corner,
    Defaults,
    Edge,
    Notch,
    PatternSet,
    Piece,
    Seam,
    Side,
    Trued,
)
from plotout.pattern.outline import divided_edges, edges_of
from plotout.pattern.piece_marks import (
    bands,
    drawn_notches,
    drill_holes,
    edge_named,
    grain_line,
    inner_lines,
    notch_on,
    seam_notch,
)
from plotout.pattern.sewing import folded_spec, measured, sewn_outline
from plotout.pattern.sides import chains
from plotout.pattern.spec import PieceSpec, SeamSpec, SetFile, SideSpec
from plotout.pattern.truing import bow, measure, true
from plotout.pattern.typed import typed, without_names
from plotout.tongue import Tongue

Read: TypeAlias = Callable[[Path, Mapping[str, Any]], Drawing]


def assemble(set_file: SetFile, read: Read, size: str = "") -> PatternSet:
    """Read every piece's drawing with `read(path, pick)` and put the set together in a size.

    size: one of the set's; "" is the one that is drawn.

    Derived pieces have no edges yet. Raises UserError for what is wrong in the drawings, or in
    the set file against them.
    """
    head, sizes = set_file.head, set_file.sizes
    drawn = sizes.base if sizes else head.size
    step = size_step(size, drawn, sizes, set_file.rules)
    pieces = [
        piece_to_derive(spec, set_file.defaults)
        if spec.derive
        else _drawn(spec, set_file.defaults, read, step)
        for spec in set_file.pieces
    ]
    by_name = {piece.name: piece for piece in pieces}
    check_parents(set_file.pieces, by_name)
    seams = tuple(
        Seam(seam.name, _side(seam.first), _side(seam.second), seam.ease) for seam in set_file.seams
    )
    for seam, spec in zip(seams, set_file.seams, strict=True):
        _add_seam_notches(seam, spec, by_name, set_file.defaults)
    return PatternSet(
        name=set_file.head.name,
        style=set_file.head.style,
        size=size or drawn,
        date=set_file.head.date,
        version=set_file.head.version,
        pieces=tuple(by_name.values()),
        defaults=set_file.defaults,
        seams=seams,
        cautions=set_file.head.cautions,
        file=set_file.file,
        sizes=sizes.range if sizes else (),
        say=Tongue(set_file.head.language, set_file.head.unit == "in"),
    )


def _drawn(spec: PieceSpec, defaults: Defaults, read: Read, step: SizeStep | None) -> Piece:
    drawing = typed(spec) if spec.typed else _read(spec, read)
    notes = list(drawing.notes)
    drawing, cutting = sewn_outline(drawing, notes)
    outlined = without_names(spec) if spec.typed else spec
    named, known, told = edges_of(drawing, outlined, defaults.tolerance)
    named, known = divided_edges(named, known, spec.divisions)
    notes += told
    spec = folded_spec(spec, drawing, named, notes)
    _check_rules(spec, [name for name, _ in named])
    edges = [
        replace(_edge(name, points, spec, defaults), known_to=to)
        for (name, points), to in zip(named, known, strict=True)
    ]
    if cutting is not None:
        own = [rule.edge.name for rule in spec.edge_rules if rule.allowance is not None]
        fold = spec.fold.name if spec.fold else None
        edges = [
            edge if edge.name in (*own, fold) else measured(edge, cutting, notes) for edge in edges
        ]
    elif spec.cutting:
        edges = _stitching(edges, spec, defaults.tolerance, notes)
    trued_lines, trued = true(
        [(edge.name, edge.points) for edge in edges],
        spec.truings,
        defaults.tolerance,
        grain_line(spec.grain, drawing, edges, _ring(edges)),
    )
    for result in trued:
        if result.moved or not result.good:
            notes.append(str(result))
    edges = [
        replace(edge, points=points) for edge, (_, points) in zip(edges, trued_lines, strict=True)
    ]
    edges = _folded(edges, spec, defaults.tolerance)
    if step is not None:
        grain = grain_line(spec.grain, drawing, edges, ring_of([e.points for e in edges]))
        edges, drawing, spec = graded(edges, drawing, spec, grain, step)
        if step.index != step.base:
            trued = _measured_again(edges, trued, spec, grain)
    elif spec.grades:
        raise UserError(
            "it has grade points, but the set has no sizes",
            fix='Add [sizes] with base = "M" and range = ["S", "M", "L"].',
            place=replace(spec.grades[0].place, piece=spec.name),
        )
    faults = _cut_faults(spec, notes)
    outline = _ring(edges)
    widest = max(max(edge.allowance) for edge in edges)
    given = [notch_on(edge_named(edges, each.edge), each, defaults.notch) for each in spec.notches]
    return Piece(
        name=spec.name,
        edges=tuple(edges),
        cuts=spec.cuts,
        fold=spec.fold.name if spec.fold else None,
        whole=spec.whole,
        grain=grain_line(spec.grain, drawing, edges, outline),
        notches=(*given, *drawn_notches(drawing, edges, defaults.notch, notes)),
        drills=drill_holes(spec, drawing, Polygon(outline).buffer(widest + 0.01), notes),
        lines=inner_lines(spec, drawing),
        areas=bands(spec.areas, edges, outline),
        splits=splits(spec, defaults, outline),
        words=spec.words,
        notes=tuple(notes),
        trued=trued,
        faults=faults,
        bias=spec.bias,
        one_way=spec.one_way or defaults.one_way,
        front=spec.front.name if spec.front else None,
    )


def _measured_again(
    edges: Sequence[Edge], trued: Sequence[Trued], spec: PieceSpec, grain: FloatArray | None
) -> tuple[Trued, ...]:
    """Return what truing finds in another size; nothing is put right there."""
    named = [(edge.name, edge.points) for edge in edges]
    found = [measure(named, asked, grain) for asked in spec.truings]
    return tuple(
        replace(each, before=off, after=off, moved=0.0, detail=detail)
        for each, (off, detail) in zip(trued, found, strict=True)
    )


def _read(spec: PieceSpec, read: Read) -> Drawing:
    path, place = spec.drawing, spec.drawing_place or spec.place
    assert path is not None
    if not path.is_file():
        around = path.parent.iterdir() if path.parent.is_dir() else ()
        beside = sorted(each.name for each in around if each.is_file())[:20]
        raise UserError(
            f"there is no drawing '{path.name}'", fix=nearest(path.name, beside), place=place
        )
    try:
        drawing = read(path, spec.pick)
    except UserError as fault:
        where = fault.place
        told = replace(where, piece=where.piece or spec.name, file=where.file or path)
        fix = "\n  ".join(part for part in (fault.fix, f"Asked for by {place}.") if part)
        raise UserError(fault.problem, fix=fix, place=told) from fault
    drawing = _clean(drawing)
    for shape in drawing.shapes:
        outline = shape.role is Role.OUTLINE  # looked at with its edges
        if not outline and not (len(shape.points) and np.isfinite(shape.points).all()):
            raise UserError(
                f"a shape of its drawing ({shape.role}) has no place, or one that is not a number",
                fix="Mend the drawing.",
                place=replace(place, piece=spec.name),
            )
    return drawing


def _clean(drawing: Drawing) -> Drawing:
    """Return a drawing whose names can be shown on a terminal; what was taken out is noted."""
    shapes, notes = [], list(drawing.notes)
    for shape in drawing.shapes:
        name, text = clean(shape.name), clean(shape.text)
        if (name, text) != (shape.name, shape.text):
            notes.append(f"a name in the drawing can't be shown; it was read as '{name or text}'")
        shapes.append(replace(shape, name=name, text=text))
    return replace(drawing, shapes=tuple(shapes), notes=tuple(map(clean, notes)))


def _edge(name: str, points: FloatArray, spec: PieceSpec, defaults: Defaults) -> Edge:
    rule = next((each for each in spec.edge_rules if each.edge.name == name), None)
    allowance = spec.allowance or (defaults.allowance, defaults.allowance)
    corner, notches = defaults.corner, True
    facing = rule is not None and rule.facing
    if rule is not None:
        allowance = rule.allowance if rule.allowance is not None else allowance
        corner = rule.corner if rule.corner is not None else corner
        corner = Corner.TURNED if facing else corner
        notches = rule.seam_notches if rule.seam_notches is not None else notches
    if spec.fold is not None and name == spec.fold.name:
        allowance, notches = (0.0, 0.0), False
    return Edge(name, points, allowance, corner, notches, facing)


def _check_rules(spec: PieceSpec, names: Sequence[str]) -> None:
    """Every edge that the set file speaks of is there, and nothing contradicts the fold."""
    refs = [each.edge for each in spec.edge_rules]
    refs += [each.edge for each in spec.notches]
    refs += [ref for area in spec.areas for ref in area.along]
    refs += [ref for each in spec.truings for ref in each.edges]
    refs += [each.axis for each in spec.truings if isinstance(each.axis, Ref)]
    refs += [spec.fold] if spec.fold else []
    refs += [spec.front] if spec.front else []
    refs += [spec.grain.along] if spec.grain and spec.grain.along else []
    for ref in refs:
        if ref.name not in names:
            raise UserError(
                f"there is no edge '{ref.name}'", fix=nearest(ref.name, names), place=ref.place
            )
    for rule in spec.edge_rules:
        on_fold = spec.fold is not None and rule.edge.name == spec.fold.name
        if on_fold and rule.allowance is not None and max(rule.allowance) > 0.0:
            raise UserError(
                f"'{rule.edge.name}' lies on the fold, so it can have no allowance",
                fix="Leave its allowance out.",
                place=rule.edge.place,
            )


def _cut_faults(spec: PieceSpec, notes: list[str]) -> tuple[str, ...]:
    """Return what its cutting orders ask of a fold that there isn't.

    They are no error: `show` must still list the edges, so that the fold can be named.
    """
    faults = []
    if spec.fold is None and spec.whole:
        faults.append("it is to be made whole, but no edge lies on a fold: say fold = EDGE")
    for cut in spec.cuts:
        if cut.on_fold and spec.fold is None:
            faults.append(f"{cut}: but no edge of the piece lies on the fold: say fold = EDGE")
        if spec.fold is not None and not spec.whole and not cut.on_fold:
            notes.append(f"'{cut}': but the card is half a piece; say on-fold = true")
    return tuple(faults)


def _folded(edges: list[Edge], spec: PieceSpec, tolerance: float) -> list[Edge]:
    """Make the fold exactly straight, so that both halves meet. Raises UserError if it bows."""
    if spec.fold is None:
        return edges
    fold = edge_named(edges, spec.fold)
    bowed = bow(fold.points)
    if bowed > tolerance or (fold.points[0] == fold.points[-1]).all():
        raise UserError(
            f"the fold '{fold.name}' is not straight: it bows {bowed:.2f} mm",
            fix=f"The tolerance is {tolerance:g} mm. Is it the right edge?",
            place=spec.fold.place,
        )
    straight = replace(fold, points=fold.points[[0, -1]])
    return [straight if edge is fold else edge for edge in edges]


def _stitching(
    edges: list[Edge], spec: PieceSpec, tolerance: float, notes: list[str]
) -> list[Edge]:
    """Return the edges moved in by their allowances: the drawing shows the cutting line."""
    try:
        lines = stitching_from_cutting([Bordered(e.points, e.allowance) for e in edges])
    except ValueError as fault:
        raise UserError(
            f"no stitching line fits within its cutting line: {fault}",
            fix="Are the allowances right, and is it the cutting line?",
            place=spec.place,
        ) from None
    inset = [replace(edge, points=line) for edge, line in zip(edges, lines, strict=True)]
    off = _off_again(edges, inset)
    if off > max(max(edge.allowance) for edge in edges):
        raise UserError(
            "no stitching line fits within its cutting line: the allowances are too wide for it",
            fix="Make them narrower.",
            place=spec.place,
        )
    told = f"; with its allowances it comes back {off:.2f} mm off" if off > tolerance else ""
    notes.append(f"stitching line derived from the cutting line{told}")
    return inset


def _off_again(edges: list[Edge], inset: list[Edge]) -> float:
    """Return how far, in mm, the cutting line made of `inset` lies from the one that was given."""
    given, ring = _ring(edges), _ring(inset)
    if not LineString(ring).is_simple or not Polygon(given).covers(Polygon(ring).buffer(-1e-6)):
        return float("inf")
    try:
        again = cutting_line([Bordered(e.points, e.allowance) for e in inset], mitre_limit=1e3)
    except ValueError:
        return float("inf")
    return float(LineString(given).hausdorff_distance(LineString(again)))


def _ring(edges: Sequence[Edge]) -> FloatArray:
    return ring_of([edge.points for edge in edges])


def _side(spec: Sequence[SideSpec]) -> Side:
    edges = tuple(
        (each.piece.name, ref.name, turned) for each in spec for ref, turned in each.edges
    )
    return Side(edges, next((each.times for each in spec if each.times), None))


def _add_seam_notches(
    seam: Seam, spec: SeamSpec, by_name: dict[str, Piece], defaults: Defaults
) -> None:
    """Draw a seam's own notches on both its sides; a derived piece has its parent's."""
    for each in (*spec.first, *spec.second):
        for ref, _ in each.edges:
            if by_name[each.piece.name].edges:
                edge_named(by_name[each.piece.name].edges, ref)
    if not spec.notches:
        return
    named = [name for side in (seam.first, seam.second) for name, _, _ in side.edges]
    if not all(by_name[name].edges for name in named):
        raise UserError(
            f"seam '{seam.name}' has a notch, but one of its pieces is derived",
            fix="A derived piece takes its parent's notches: declare them on the parent's edge.",
            place=spec.place,
        )
    for nth in (0, 1):
        side = chains(seam, by_name.__getitem__)[nth]
        for asked in spec.notches:
            ease = asked.ease if nth == 0 else 0.0
            name, notch = seam_notch(side, asked, defaults.notch, ease)
            piece = by_name[name]
            if not _stands(notch, piece):  # of a piece on the fold, both halves have one place
                by_name[name] = replace(piece, notches=(*piece.notches, notch))


def _stands(notch: Notch, piece: Piece) -> bool:
    """True where the piece has such a notch already, from its drawing or a seam."""
    return any(
        each.edge == notch.edge and abs(each.along - notch.along) < 0.05 for each in piece.notches
    )
