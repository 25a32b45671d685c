"""The marks on a piece: notches, grain line, drill holes, lines, areas."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon

from plotout.errors import UserError
from plotout.geometry.band import band
from plotout.geometry.polyline import length
from plotout.geometry.strokes import FloatArray, NotchKind, Work
from plotout.pattern.adjacent import chained
from plotout.pattern.drawing import Drawing, Role, Shape
from plotout.pattern.kinds import Ref
from plotout.pattern.model import Area, Drill, Edge, InternalLine, Notch
from plotout.pattern.part_spec import AreaSpec, GrainSpec, NotchSpec
from plotout.pattern.past_corner import past_corner, turned_up
from plotout.pattern.settings import NotchStyle
from plotout.pattern.sides import edge_hint
from plotout.pattern.spec import PieceSpec

_FAR = 60.0  # mm: a drawn notch further than this from all edges belongs to none
_PAST = 3.0  # allowances to which a seam's line goes on past a slight corner, at most
_BESIDE = 1.0  # mm: a drawn notch further from an edge and its allowance may belong to another
_ON_LINE = 0.3  # mm: a drawn notch this near to a line is on it
_EVENLY = 0.3  # mm by which a double notch's may be nearer or further apart, or deeper
_MOST_TOGETHER = 3
_SLIGHT = 0.866  # cosine of the turn, 30 degrees, at which two seams may share a notch
_KINDS = {
    Role.INTERNAL: "internal",
    Role.SCORE: "internal",
    Role.SEWING: "internal",
    Role.STRIPE: "stripe",
    Role.PLAID: "plaid",
    Role.CUTOUT: "cut-out",
}
_GRAIN_SHARE = 0.7  # of the piece's length along it
_DEPTHS = 0.5, 0.35, 0.65, 0.2, 0.8  # shares of the piece's depth at which it is tried
_SHORTEST = 1.0  # mm of a grain line within the piece, to show a direction


NAMELESS = "No edge of the piece has a name: name the runs or lines of its drawing."


def edge_named(edges: Sequence[Edge], ref: Ref) -> Edge:
    """Return the edge of that name. Raises UserError with the nearest name."""
    for edge in edges:
        if edge.name == ref.name:
            return edge
    raise UserError(
        f"there is no edge '{ref.name}'",
        fix=edge_hint(ref.name, {edge.name: edge.part_of for edge in edges}, NAMELESS),
        place=ref.place,
    )


def notch_on(edge: Edge, spec: NotchSpec, style: NotchStyle) -> Notch:
    """Return a notch of the set file. Raises UserError when it lies beyond its edge."""
    whole = length(edge.points)
    along = spec.at.on(whole)
    if along > whole + 1e-6:
        raise UserError(
            f"the notch at {along:g} mm lies beyond edge '{edge.name}': it is {whole:.1f} mm long",
            fix='Measure it from the other end with from = "end", or in per cent.',
            place=spec.place,
        )
    along = whole - along if spec.from_end else along
    measured_from = spec.from_ if spec.at.share is None else ""
    own = replace(style, **spec.style)
    return Notch(edge.name, min(along, whole), spec.count, own, measured_from)


def drawn_notches(
    drawing: Drawing, edges: Sequence[Edge], style: NotchStyle, notes: list[str]
) -> list[Notch]:
    """Return the drawing's match notches on the edges nearest to them.

    Those that show the allowance at the ends of seams are left out: they are made anew, and would
    have no partner where the seam is walked.
    """
    made, shown = [], 0
    lines = [LineString(edge.points) for edge in edges]
    outline = Polygon(np.vstack([edge.points[:-1] for edge in edges])).buffer(0.0)
    for shape in drawing.shapes:
        if shape.role is not Role.NOTCH:
            continue
        if _shows_allowance(shape.points[0], edges):
            shown += 1
            continue
        at = Point(shape.points[0])
        off = [line.distance(at) for line in lines]
        index = int(np.argmin(off))
        if off[index] > _FAR:
            notes.append(
                f"notch at {_xy(shape)} lies {off[index]:.0f} mm from the nearest edge; left out"
            )
            continue
        beside = _beside(at, off[index], edges[index], outline)
        if beside > _BESIDE:
            notes.append(
                f"notch at {_xy(shape)} lies {beside:.1f} mm beside '{edges[index].name}' and its "
                "allowance; it is moved to the nearest place"
            )
        made.append(
            Notch(edges[index].name, float(lines[index].project(at)), 1, _style_of(shape, style))
        )
    if shown:
        notes.append(
            f"{shown} of the drawing's notches show the allowance at the ends of seams; "
            "they are made anew"
        )
    return _grouped(made, style.spacing, notes)


def _beside(at: Point, off: float, edge: Edge, outline: Polygon) -> float:
    """Return how far a drawn notch lies from an edge's allowance, mm; 0 within it.

    off: its distance from the stitching line, from which it may be drawn.
    """
    return off if outline.contains(at) else max(0.0, off - max(edge.allowance))


def _grouped(notches: Sequence[Notch], spacing: float, notes: list[str]) -> list[Notch]:
    """Return the notches with two or three, as far apart as the set's doubles, made one."""
    made: list[Notch] = []
    last: float | None = None  # mm along its edge, of the notch before
    for notch in sorted(notches, key=lambda one: (one.edge, one.along)):
        before = made[-1] if made else None
        if (
            before is not None
            and last is not None
            and (before.edge, before.style.kind) == (notch.edge, notch.style.kind)
            and abs(before.style.depth - notch.style.depth) <= _EVENLY
            and abs(notch.along - last - spacing) <= _EVENLY
            and before.count < _MOST_TOGETHER
        ):
            middle = before.along + (notch.along - last) / 2.0
            made[-1] = replace(before, along=middle, count=before.count + 1)
        else:
            made.append(notch)
        last = notch.along
    joined = sum(notch.count > 1 for notch in made)
    if joined:
        many = "1 double or triple notch" if joined == 1 else f"{joined} double or triple notches"
        notes.append(f"{many}: {spacing:g} mm apart, as the set makes them")
    return made


def _shows_allowance(mouth: FloatArray, edges: Sequence[Edge]) -> bool:
    """Return whether a notch begins where an edge, extended past its end, leaves the allowance.

    At an inner corner, which has one for both its edges: whether it halves the corner.
    """
    for index, after in enumerate(edges):
        before = edges[index - 1]
        if not (before.seam_notches and after.seam_notches):
            continue
        if min(before.allowance[1], after.allowance[0]) <= 0.0:
            continue
        for path, least in _seam_notch_paths(before, after):
            line, at = LineString(path), Point(mouth)
            # a blunt corner is nearer
            far = max(_FAR, _PAST * max(before.allowance[1], after.allowance[0]))
            if least / 2.0 <= line.project(at) <= far and line.distance(at) <= _ON_LINE:
                return True
    return False


def _seam_notch_paths(before: Edge, after: Edge) -> Iterator[tuple[FloatArray, float]]:
    """Yield the lines, (n, 2), from a corner on which its seam notches begin, and how far at least.

    That is, in mm, the allowance that they lie in.
    """
    widths, corner = (before.allowance[1], after.allowance[0]), after.points[0]
    into, out = (_unit(step) for step in (corner - before.points[-2], after.points[1] - corner))
    if into[0] * out[1] - into[1] * out[0] < 0.0:
        x, y = _unit(into + out)
        yield _ray(corner, np.array([y, -x])), min(widths)
        return
    hem = turned_up(before, after)
    yield past_corner(before, after, ends=True, mirrored=hem is after), widths[1]
    yield past_corner(after, before, ends=False, mirrored=hem is before), widths[0]
    if into @ out > _SLIGHT:  # one notch for both, square to either, or between
        for x, y in (into, out, _unit(into + out)):
            yield _ray(corner, np.array([y, -x])), min(widths)


def _ray(start: FloatArray, direction: FloatArray) -> FloatArray:
    return np.vstack([start, start + 2.0 * _FAR * direction])


def _unit(step: FloatArray) -> FloatArray:
    return np.asarray(step / max(float(np.hypot(*step)), 1e-12))


def _style_of(shape: Shape, style: NotchStyle) -> NotchStyle:
    kinds = {str(kind).lower(): kind for kind in NotchKind}
    kind = kinds.get(shape.text.lower(), style.kind)
    return replace(style, kind=kind, depth=shape.size if shape.size > 0.0 else style.depth)


def grain_line(
    spec: GrainSpec | None, drawing: Drawing, edges: Sequence[Edge], outline: FloatArray
) -> FloatArray | None:
    """Return the grain line, tail and head, (2, 2): the set file's, else the drawing's.

    One drawn outside the piece isn't its own. Raises UserError where the set file's misses it.
    """
    if spec is None:
        drawn = [s.points[[0, -1]] for s in drawing.shapes if s.role is Role.GRAIN]
        return next((ends for ends in drawn if within(ends, outline) > _SHORTEST), None)
    if spec.along is None:
        given = np.array([spec.tail, spec.head], dtype=np.float64)
        if within(given, outline) < _SHORTEST:
            raise UserError(
                f"the grain line from {_point(given[0])} to {_point(given[1])} misses the piece",
                fix=f"Give both points in the drawing's coordinates, in mm: {extent(outline)}.",
                place=spec.place,
            )
        return given
    edge = edge_named(edges, spec.along)
    direction = edge.points[-1] - edge.points[0]
    if not np.hypot(*direction) > 1.0:
        raise UserError(
            f"edge '{edge.name}' has no direction for a grain line",
            fix="It ends where it begins: take another edge, or two points.",
            place=spec.place,
        )
    direction = direction / np.hypot(*direction)
    middle, inward = edge.points[[0, -1]].mean(axis=0), np.array([-direction[1], direction[0]])
    deep = float(((outline - middle) @ inward).max())
    wanted = [spec.inset] if spec.inset is not None else [share * deep for share in _DEPTHS]
    runs = next(
        filter(None, (_runs(middle + by * inward, direction, outline) for by in wanted)), []
    )
    if not runs:
        raise UserError(
            f"a grain line {wanted[0]:g} mm inside edge '{edge.name}' misses the piece",
            fix=f"The piece is {deep:.0f} mm deep there. Reduce 'inset', or leave it out: the line "
            "then lies halfway in.",
            place=spec.place,
        )
    run = np.asarray(max(runs, key=lambda part: float(part.length)).coords)[[0, -1]]
    ends = run.mean(axis=0) + (run - run.mean(axis=0)) * _GRAIN_SHARE
    up = ends[1] - ends[0]
    return np.asarray(ends if (round(up[1], 6), up[0]) > (0.0, 0.0) else ends[::-1])


def _runs(middle: FloatArray, direction: FloatArray, outline: FloatArray) -> list[LineString]:
    """Return the stretches of a straight line that lie within the piece, or along its edge."""
    reach = np.ptp(outline, axis=0).sum() * direction
    line = LineString([middle - reach, middle + reach])
    for piece in (Polygon(outline), Polygon(outline).buffer(_ON_LINE)):
        inside = shapely.get_parts(piece.intersection(line)).tolist()
        found = [run for run in inside if run.length > _SHORTEST]
        if found:
            return found
    return []


def within(line: FloatArray, outline: FloatArray) -> float:
    """Return how many mm of a straight line lie within a piece, or along its edge."""
    return float(Polygon(outline).buffer(_ON_LINE).intersection(LineString(line)).length)


def extent(outline: FloatArray) -> str:
    """Return in words from where to where a piece goes."""
    (left, low), (right, high) = outline.min(axis=0), outline.max(axis=0)
    return f"the piece goes from x {left:.1f} to {right:.1f}, y {low:.1f} to {high:.1f}"


def drill_holes(
    spec: PieceSpec, drawing: Drawing, reach: Polygon, notes: list[str], *, grown: bool = False
) -> tuple[Drill, ...]:
    """Return the set file's drill holes and the drawing's. reach: the piece and its allowance.

    grown: in a size other than the base. Raises UserError for one of the set file's that lies
    outside, at its growth where that has brought it there.
    """
    grows = {point.drill.name: point for point in spec.grades if point.drill} if grown else {}
    for drill in spec.drills:
        off = reach.distance(Point(drill.at))
        if off > 0.0 and drill.name in grows:
            raise UserError(
                f"the drill hole '{drill.name}' has grown {off:.1f} mm out of the piece",
                fix="Change how it grows.",
                place=replace(grows[drill.name].place, piece=spec.name, at=drill.at),
            )
        if off > 0.0:
            raise UserError(
                f"the drill hole lies {off:.1f} mm outside the piece",
                fix="Give x and y in the drawing's coordinates, in mm: with its allowance "
                f"{extent(np.asarray(reach.exterior.coords))}.",
                place=replace(spec.place, at=drill.at),
            )
    drawn = []
    for shape in drawing.shapes:
        if shape.role is not Role.DRILL:
            continue
        x, y = shape.points.mean(axis=0)
        if not reach.covers(Point(x, y)):
            notes.append(f"drill hole at x {x:.1f}, y {y:.1f} lies outside the piece; left out")
            continue
        drawn.append(Drill((float(x), float(y)), shape.size or 3.0))
    return (*spec.drills, *drawn)


def inner_lines(spec: PieceSpec, drawing: Drawing) -> tuple[InternalLine, ...]:
    """Return the lines inside the piece: the set file's, then the drawing's."""
    drawn = [
        InternalLine(
            shape.name or str(shape.role),
            shape.points,
            _KINDS[shape.role],
            Work.SCORE if shape.role is Role.SCORE else Work.DRAW,
        )
        for shape in drawing.shapes
        if shape.role in _KINDS and len(shape.points) > 1
    ]
    return (*spec.lines, *drawn)


def bands(
    asked: Sequence[AreaSpec], edges: Sequence[Edge], outline: FloatArray, fold: str | None
) -> tuple[Area, ...]:
    """Return the areas that are bands along edges, inside the stitching line. fold: the name of the
    edge in which the piece is mirrored.
    """
    line = next((edge.points for edge in edges if edge.name == fold), None)
    return tuple(Area(one.name, _band(one, edges, outline, line)) for one in asked)


def _band(
    asked: AreaSpec, edges: Sequence[Edge], outline: FloatArray, fold: FloatArray | None
) -> FloatArray:
    wanted = [edge_named(edges, ref).name for ref in asked.along]
    try:
        along = np.vstack([edge.points for edge in chained(edges, wanted)])
        found = band(outline, along, asked.depth, fold)
        if Polygon(found).area > 0.9999 * Polygon(outline).area:
            raise ValueError(f"{asked.depth:g} mm deep, it covers the whole piece")
        return found
    except ValueError as fault:
        raise UserError(
            f"area '{asked.name}': {fault}",
            fix="Look at it: plotout picture SET --stage piece.",
            place=asked.place,
        ) from None


def _xy(shape: Shape) -> str:
    return _point(shape.points[0])


def _point(at: FloatArray) -> str:
    return f"x {at[0]:.1f}, y {at[1]:.1f}"
