"""A piece as drawn, in its base size, as shared by all sizes."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
from shapely.geometry import LineString, Polygon

from plotout.errors import LONGEST_LINE, UserError, all_of, clean, nearest_file, shown
from plotout.geometry.flatten import thinned
from plotout.geometry.offset import cutting_line, stitching_from_cutting
from plotout.geometry.polyline import ring_of, without_stubs
from plotout.geometry.sides import Bordered
from plotout.geometry.strokes import FloatArray
from plotout.pattern import folds
from plotout.pattern.accuracy import Accuracy, Measured, against_next, measured_to
from plotout.pattern.borders import cornered
from plotout.pattern.drawing import Drawing, Role
from plotout.pattern.findings import Trued
from plotout.pattern.kinds import Ref
from plotout.pattern.model import Edge
from plotout.pattern.outline import divided_edges, edges_of, parts_of
from plotout.pattern.part_spec import TrueSpec
from plotout.pattern.piece_marks import NAMELESS, grain_line
from plotout.pattern.settings import Corner, Defaults
from plotout.pattern.sewing import folded_spec, measured, sewn_outline
from plotout.pattern.sides import edge_hint
from plotout.pattern.spec import PieceSpec
from plotout.pattern.true_measure import bow, measure
from plotout.pattern.truing import true
from plotout.pattern.typed import typed, without_names

_BY_FORMAT = (
    "its outline is taken for the cutting line, as its format has it; "
    'if it is the stitching line, write outline = "stitching"'
)

Read: TypeAlias = Callable[[Path, Mapping[str, Any]], Drawing]


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """A piece: its entry in the set file, its drawing, and its trued edges.

    spec: with the fold shown by its drawing. grain: (2, 2), mm, from tail to head, or None.
    faults: of its fold: all else can be looked at in spite of them.
    """

    spec: PieceSpec
    drawing: Drawing
    edges: tuple[Edge, ...]
    grain: FloatArray | None
    trued: tuple[Trued, ...]
    notes: tuple[str, ...]
    faults: tuple[UserError, ...] = ()


def drawn_piece(spec: PieceSpec, defaults: Defaults, read: Read) -> Drawn:
    """Read a piece's drawing by `read(path, pick)`; name and true its edges.

    Raises UserError for faults of the drawing, and where the set file contradicts it.
    """
    drawing = typed(spec) if spec.typed else _read(spec, read)
    notes = list(drawing.notes)
    drawing, cutting = sewn_outline(drawing, notes)
    outlined = without_names(spec) if spec.typed else spec
    named, known, edge_notes = edges_of(drawing, outlined, defaults.tolerance)
    named, known = divided_edges(named, known, spec.divisions)
    lines = thinned([without_stubs(points) for _, points in named])
    named = [(name, points) for (name, _), points in zip(named, lines, strict=True)]
    drawing = _thinned(drawing)
    notes += edge_notes
    spec = folded_spec(spec, drawing, named, notes)
    parts = parts_of(spec.divisions)
    _check_rules(spec, {name: parts.get(name, ()) for name, _ in named})
    edges = as_drawn = [
        replace(
            _edge(name, points, spec, defaults),
            known_to=accuracy.known.to,
            unproved=accuracy.known.unproved,
            otherwise=accuracy.otherwise,
            against=(after, against),
            headings_to=accuracy.headings_to(points),
            part_of=parts.get(name, ()),
        )
        for (name, points), accuracy, (after, _), against in zip(
            named, known, [*named[1:], named[0]], against_next(known), strict=True
        )
    ]
    if cutting is not None:
        (cutting,) = thinned([cutting])
        own = [rule.edge.name for rule in spec.edge_rules if rule.allowance is not None]
        fold = spec.fold.name if spec.fold else None
        ring = _ring(edges)
        edges = [
            edge if edge.name in (*own, fold) else measured(edge, ring, cutting, notes)
            for edge in edges
        ]
        given = [rule.edge.name for rule in spec.edge_rules if rule.corner is not None]
        edges = cornered(edges, cutting, fold, given, defaults.mitre_limit, notes)
    elif spec.cutting or _cut_by_format(spec, drawing, edges):
        edges = _stitching(edges, spec, defaults.tolerance, notes)
        if spec.cutting is None:
            notes.append(_BY_FORMAT)
    trued_lines, trued = true(
        [(edge.name, edge.points) for edge in edges],
        spec.truings,
        defaults.tolerance,
        grain_line(spec.grain, drawing, edges, _ring(edges)),
        [_measured_to(asked, as_drawn, known, spec, drawing) for asked in spec.truings],
    )
    for result in trued:
        if result.moved or (result.wrong and not result.refused):
            notes.append(str(result))
    edges = [
        replace(edge, points=points) for edge, (_, points) in zip(edges, trued_lines, strict=True)
    ]

    def bow_to(name: str) -> float:
        at = [edge.name for edge in as_drawn].index(name)
        lines = [edge.points for edge in as_drawn]
        return measured_to(lambda drawn: bow(drawn[at]), lines, known, [at]).to

    edges, bowed = folds.straightened(edges, spec, defaults.tolerance, bow_to, notes)
    grain = grain_line(spec.grain, drawing, edges, _ring(edges))
    if grain is None and any(shape.role is Role.GRAIN for shape in drawing.shapes):
        notes.append("the drawing's grain line lies outside the piece; left out")
    faults = (*folds.with_allowance(spec), *bowed)
    return Drawn(spec, drawing, tuple(edges), grain, trued, tuple(notes), faults)


def _read(spec: PieceSpec, read: Read) -> Drawing:
    path, place = spec.drawing, spec.drawing_place or spec.place
    assert path is not None
    if path.exists() and not path.is_file():
        what = "a folder" if path.is_dir() else "a device or a pipe"
        raise UserError(
            f"'{path}' is {what}, not a drawing", fix="Name a file: front.csv.", place=place
        )
    if not path.is_file():
        around = path.parent.iterdir() if path.parent.is_dir() else ()
        drawings = (entry for entry in around if entry.is_file() and entry.suffix != ".toml")
        beside = sorted(entry.name for entry in drawings)[:20]
        raise UserError(
            f"there is no drawing '{path.name}'",
            fix=nearest_file(path.name, beside),
            place=place,
        )
    try:
        drawing = read(path, spec.pick)
    except UserError as fault:
        where = fault.place
        located = replace(where, piece=where.piece or spec.name, file=where.file or path)
        fix = "\n  ".join(part for part in (fault.fix, f"Asked for by {place}.") if part)
        raise UserError(fault.problem, fix=fix, place=located) from fault
    drawing = _clean(drawing)
    for shape in drawing.shapes:
        outline = shape.role is Role.OUTLINE  # checked with its edges
        if not outline and not (len(shape.points) and np.isfinite(shape.points).all()):
            raise UserError(
                f"a shape of its drawing ({shape.role}) has no coordinates, or invalid ones",
                fix="Correct the drawing.",
                place=replace(place, piece=spec.name),
            )
    return drawing


def _thinned(drawing: Drawing) -> Drawing:
    lines = thinned([shape.points for shape in drawing.shapes])
    shapes = zip(drawing.shapes, lines, strict=True)
    return replace(drawing, shapes=tuple(replace(shape, points=line) for shape, line in shapes))


def _clean(drawing: Drawing) -> Drawing:
    """Return a drawing with printable names; note what was removed."""
    shapes, notes = [], list(drawing.notes)
    for shape in drawing.shapes:
        name, text = clean(shape.name), clean(shape.text)
        if (name, text) != (shape.name, shape.text):
            what = "not printable" if len(name or text) < LONGEST_LINE else "too long"
            notes.append(f"a name in the drawing is {what}; it was read as {shown(name or text)}")
        shapes.append(replace(shape, name=name, text=text))
    return replace(drawing, shapes=tuple(shapes), notes=tuple(map(clean, notes)))


def _edge(name: str, points: FloatArray, spec: PieceSpec, defaults: Defaults) -> Edge:
    rule = next((known for known in spec.edge_rules if known.edge.name == name), None)
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
    return Edge(name, points, allowance, corner, notches, facing=facing)


def _measured_to(
    asked: TrueSpec,
    edges: Sequence[Edge],
    accuracies: Sequence[Accuracy],
    spec: PieceSpec,
    drawing: Drawing,
) -> Measured:
    """Return how surely what is off a truing is known, by the edges as drawn."""

    def off(lines: Sequence[FloatArray]) -> float:
        now = [replace(edge, points=line) for edge, line in zip(edges, lines, strict=True)]
        grain = grain_line(spec.grain, drawing, now, _ring(now)) if by_grain else None
        return measure([(edge.name, edge.points) for edge in now], asked, grain)[0]

    by_grain = asked.kind == "on-grain"
    names = {ref.name for ref in asked.edges}
    measured_edges = [index for index, edge in enumerate(edges) if edge.name in names]
    return measured_to(off, [edge.points for edge in edges], accuracies, measured_edges)


def _check_rules(spec: PieceSpec, edges: Mapping[str, Sequence[str]]) -> None:
    """Check that every edge named in the set file exists and nothing contradicts the fold.

    edges: by name, of which edges each was divided off.
    """
    refs = [edge_rule.edge for edge_rule in spec.edge_rules]
    refs += [notch.edge for notch in spec.notches]
    refs += [ref for area in spec.areas for ref in area.along]
    refs += [ref for truing in spec.truings for ref in truing.edges]
    refs += [truing.axis for truing in spec.truings if isinstance(truing.axis, Ref)]
    refs += [spec.fold] if spec.fold else []
    refs += [spec.front] if spec.front else []
    refs += [spec.grain.along] if spec.grain and spec.grain.along else []
    lost = [
        UserError(
            f"there is no edge '{ref.name}'",
            fix=edge_hint(ref.name, edges, NAMELESS),
            place=ref.place,
        )
        for ref in refs
        if ref.name not in edges
    ]
    if lost:
        raise all_of(lost)


def _cut_by_format(spec: PieceSpec, drawing: Drawing, edges: Sequence[Edge]) -> bool:
    """Return whether only the drawing's format says that its outline is cut, and it matters."""
    wide = any(max(edge.allowance) > 0.0 for edge in edges)
    return spec.cutting is None and drawing.cut and wide


def _stitching(
    edges: list[Edge], spec: PieceSpec, tolerance: float, notes: list[str]
) -> list[Edge]:
    """Return the edges moved inwards by their allowances: the drawing shows the cutting line."""
    try:
        lines = stitching_from_cutting([Bordered(e.points, e.allowance) for e in edges])
    except ValueError as fault:
        raise UserError(
            f"no stitching line fits within its cutting line: {fault}",
            fix="Check the allowances, and that it is the cutting line.",
            place=spec.place,
        ) from None
    inset = [replace(edge, points=line) for edge, line in zip(edges, lines, strict=True)]
    off = _off_again(edges, inset)
    if off > max(max(edge.allowance) for edge in edges):
        raise UserError(
            "no stitching line fits within its cutting line: the allowances are too wide",
            fix="Make them narrower.",
            place=spec.place,
        )
    deviation = (
        f"; adding its allowances again gives a line {off:.2f} mm off" if off > tolerance else ""
    )
    notes.append(f"stitching line derived from the cutting line{deviation}")
    return inset


def _off_again(edges: list[Edge], inset: list[Edge]) -> float:
    """Return the distance, mm, of the cutting line made of `inset` from the given one."""
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
