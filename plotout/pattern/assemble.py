"""Assembly of a pattern set in a size, from its set file and drawings."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

from shapely.geometry import Polygon

from plotout import parallel
from plotout.errors import UserError, all_of, collecting_errors, each_of, in_context
from plotout.geometry.polyline import length, ring_of
from plotout.geometry.strokes import FloatArray
from plotout.pattern.cloths import with_fold_checked
from plotout.pattern.derivation import check_parents, piece_to_derive, splits
from plotout.pattern.drawing import Role
from plotout.pattern.drawn import Drawn, Read, drawn_piece
from plotout.pattern.findings import Trued, Unfair
from plotout.pattern.grade_doubts import growth_doubts
from plotout.pattern.grade_places import Walked
from plotout.pattern.grading import SizeStep, graded, size_step
from plotout.pattern.grown_corners import bent_at_centre
from plotout.pattern.model import Edge, Graded, PatternSet, Piece, Seam, Side
from plotout.pattern.piece_marks import (
    bands,
    drawn_notches,
    drill_holes,
    edge_named,
    grain_line,
    inner_lines,
    notch_on,
)
from plotout.pattern.seam_notches import add_seam_notches, named_notches
from plotout.pattern.settings import Defaults
from plotout.pattern.sides import summed
from plotout.pattern.spec import PieceSpec, SeamSpec, SetFile, SideSpec
from plotout.pattern.true_measure import measure
from plotout.tongue import Tongue

_AT_ONCE = 12
"""Pieces of a set that one process reads at a time."""

_FIGURE = re.compile(r"-?\d[\d.]*")


@dataclass(frozen=True, slots=True, eq=False)
class ReadSet:
    """A set file and its drawings, as shared by all sizes."""

    set_file: SetFile
    drawn: Mapping[str, Drawn]

    @property
    def sizes(self) -> tuple[str, ...]:
        """All its sizes, in order; () for a set with only one."""
        return self.set_file.sizes.range if self.set_file.sizes else ()

    @property
    def base(self) -> str:
        """The drawn size, "" if not given."""
        return self.set_file.sizes.base if self.set_file.sizes else self.set_file.head.size

    def named(self, sizes: Sequence[str]) -> tuple[str, ...]:
        """Return the given sizes in the range's order; for "all" all, and for none the drawn one.

        In a set with a size called "all", that size is meant. Raises UserError for an unknown one.
        """
        if "all" in sizes and "all" not in self.sizes:
            return self.sizes or (self.base,)
        for size in sizes:
            size_step(size, self.base, self.set_file.sizes, self.set_file.rules)
        asked = {size or self.base for size in sizes}
        return tuple(size for size in self.sizes if size in asked) or (self.base,)

    def in_size(self, size: str = "") -> PatternSet:
        """Return the set in one of its sizes; "" is the drawn one.

        Derived pieces have no edges yet. Raises UserError for an unknown size, for growth that a
        piece can't take, and for contradictions between the set file and the drawings.
        """
        other = f"in size {size}" if size not in ("", self.base) else ""
        step = size_step(size, self.base, self.set_file.sizes, self.set_file.rules)
        with in_context(other):
            return _assembled(self, size, step)

    def in_sizes(self, sizes: Sequence[str]) -> dict[str, PatternSet]:
        """Return the set in several of its sizes, in their order.

        Raises UserError with what is wrong in all of them. What goes wrong in several is reported
        once, for the first of them, counted from the base.
        """
        for size in sizes:  # an unknown one is reported before anything is made
            size_step(size, self.base, self.set_file.sizes, self.set_file.rules)
        order = self.sizes or (self.base,)
        base = order.index(self.base)
        made: dict[str, PatternSet] = {}
        wrong: list[UserError] = []
        reported: set[tuple[object, ...]] = set()
        for size in sorted(sizes, key=lambda size: abs(order.index(size) - base)):
            try:
                made[size] = self.in_size(size)
            except UserError as fault:
                if size == self.base:
                    raise
                for error in each_of(fault):
                    what = _FIGURE.sub("", error.problem.removeprefix(f"in size {size}: "))
                    key = (order.index(size) > base, error.place.line, error.place.piece, what)
                    wrong += [] if key in reported else [error]
                    reported.add(key)
        if wrong:
            raise all_of(wrong)
        return {size: made[size] for size in sizes}


def read_drawings(
    set_file: SetFile, read: Read, meanwhile: Callable[[], object] | None = None
) -> ReadSet:
    """Read every piece's drawing by `read(path, pick)`, once for all sizes.

    Drawings of one format are read in one process, since its library takes longer to load than
    most drawings to read; many of them in several, so that `read` must be picklable. meanwhile:
    done here as long as they are read. Raises UserError for faults of the drawings, and where the
    set file contradicts them.
    """
    specs = [spec for spec in set_file.pieces if not spec.derive]
    shares: dict[tuple[str, int], list[PieceSpec]] = {}
    for index, spec in enumerate(specs):
        suffix = spec.drawing.suffix.lower() if spec.drawing else ""
        shares.setdefault((suffix, index // _AT_ONCE), []).append(spec)
    reading = partial(_drawn, set_file.defaults, read)
    found: dict[str, Drawn | UserError] = {}
    parts = list(shares.values())
    read_parts = parallel.results(reading, parts, brief=True, meanwhile=meanwhile)
    for share, results in zip(parts, read_parts, strict=True):
        found |= zip([spec.name for spec in share], results, strict=True)
    drawn: dict[str, Drawn] = {}
    with collecting_errors() as trying:
        for spec in specs:
            with trying():
                result = found[spec.name]
                if isinstance(result, UserError):
                    raise result
                drawn[spec.name] = result
    return ReadSet(set_file, drawn)


def _drawn(defaults: Defaults, read: Read, specs: Sequence[PieceSpec]) -> list[Drawn | UserError]:
    """Return the pieces' drawings, or what is wrong with each."""
    found: list[Drawn | UserError] = []
    for spec in specs:
        try:
            found.append(drawn_piece(spec, defaults, read))
        except UserError as fault:
            found.append(fault)
    return found


def _assembled(whole: ReadSet, size: str, step: SizeStep | None) -> PatternSet:
    set_file = whole.set_file
    by_name: dict[str, Piece] = {}
    graded: dict[str, Walked] = {}
    seams = tuple(_seam(spec) for spec in set_file.seams)
    drawn_at = _seam_notches_as_drawn(whole, seams) if step else {}
    with collecting_errors() as trying:
        for spec in set_file.pieces:
            with trying():
                if spec.derive:
                    by_name[spec.name] = piece_to_derive(spec, set_file.defaults)
                    continue
                drawn, walked = whole.drawn[spec.name], drawn_at.get(spec.name, {})
                by_name[spec.name], moved = _in_size(drawn, set_file.defaults, step, walked)
                graded[spec.name] = moved
    check_parents(set_file.pieces, by_name)
    notes = list(growth_doubts(set_file))
    notched = []
    with collecting_errors() as trying:
        for seam, seam_spec in zip(seams, set_file.seams, strict=True):
            with trying():
                marked, unlike = add_seam_notches(
                    seam, seam_spec, by_name, set_file.defaults, graded
                )
                notched.append(replace(seam, marked=marked))
                notes += unlike
    return PatternSet(
        name=set_file.head.name,
        style=set_file.head.style,
        size=size or whole.base,
        date=set_file.head.date,
        version=set_file.head.version,
        pieces=tuple(by_name.values()),
        defaults=set_file.defaults,
        seams=tuple(notched),
        cautions=set_file.head.cautions,
        file=set_file.file,
        sizes=whole.sizes,
        say=Tongue(set_file.head.language, set_file.head.unit == "in"),
        notes=tuple(notes),
    )


def _seam_notches_as_drawn(whole: ReadSet, seams: Sequence[Seam]) -> Mapping[str, Walked]:
    """Return where the seams' notches that grade points name lie in the drawn size, by piece."""
    set_file = whole.set_file
    if not any(notch.name for spec in set_file.seams for notch in spec.notches):
        return {}
    pieces = {
        spec.name: piece_to_derive(spec, set_file.defaults)
        if spec.derive
        else _in_size(whole.drawn[spec.name], set_file.defaults, None, {})[0]
        for spec in set_file.pieces
    }
    return named_notches(seams, set_file.seams, pieces)


def _in_size(
    drawn: Drawn, defaults: Defaults, step: SizeStep | None, walked: Walked
) -> tuple[Piece, Walked]:
    """Return a drawn piece in a size, and where seams' notches have come that are grade points.

    walked: where they lie as drawn. Raises UserError for growth that the piece can't take.
    """
    spec, drawing, edges = drawn.spec, drawn.drawing, list(drawn.edges)
    trued, notes = drawn.trued, list(drawn.notes)
    points: tuple[Graded, ...] = ()
    bent: tuple[Unfair, ...] = ()
    moved: Walked = {}
    if step is not None:
        grown = graded(edges, drawing, spec, drawn.grain, step, walked)
        edges, drawing, spec = grown.edges, grown.drawing, grown.spec
        points, bent, moved = grown.graded, grown.unfair, grown.walked
        if step.index != step.base:
            trued = _measured_again(edges, trued, spec, drawn.grain)
            centres = {named.name for named in (spec.fold, spec.front) if named}
            notes += bent_at_centre(edges, drawn.edges, centres)
            edges = _compared(edges, drawn.edges, 1.0 if step.index > step.base else -1.0)
    refused = [
        UserError(
            truing.refused,
            fix="Check the drawing, or raise 'tolerance'.",
            place=replace(asked.place, piece=spec.name),
        )
        for truing, asked in zip(trued, spec.truings, strict=True)
        if truing.refused
    ]
    outline = ring_of([edge.points for edge in edges])
    widest = max(max(edge.allowance) for edge in edges)
    given = [
        notch_on(edge_named(edges, notch.edge), notch, defaults.notch) for notch in spec.notches
    ]
    said = [word for s in drawing.shapes if s.role is Role.GRAIN for word in s.text.split(", ")]
    piece = Piece(
        name=spec.name,
        edges=tuple(edges),
        cuts=spec.cuts,
        fold=spec.fold.name if spec.fold else None,
        whole=spec.whole,
        grain=grain_line(spec.grain, drawing, edges, outline),
        notches=(*given, *drawn_notches(drawing, edges, defaults.notch, notes)),
        drills=drill_holes(
            spec,
            drawing,
            Polygon(outline).buffer(widest + 0.01),
            notes,
            grown=step is not None and step.index != step.base,
        ),
        lines=inner_lines(spec, drawing),
        areas=bands(spec.areas, edges, outline, spec.fold.name if spec.fold else None),
        splits=splits(spec, defaults, outline),
        words=spec.words,
        notes=tuple(notes),
        trued=trued,
        faults=(*drawn.faults, *refused),
        bias="bias" in said if spec.bias is None else spec.bias,
        one_way=defaults.one_way or "one way" in said if spec.one_way is None else spec.one_way,
        front=spec.front.name if spec.front else None,
        graded=points,
        unfair=bent,
        place=spec.place,
    )
    return with_fold_checked(piece), moved


def _compared(edges: Sequence[Edge], base: Sequence[Edge], sign: float) -> list[Edge]:
    """Return edges with how much they grow. sign: -1 in a size smaller than the base."""
    return [
        replace(edge, grows=sign * (length(edge.points) - length(as_drawn.points)))
        for edge, as_drawn in zip(edges, base, strict=True)
    ]


def _measured_again(
    edges: Sequence[Edge], trued: Sequence[Trued], spec: PieceSpec, grain: FloatArray | None
) -> tuple[Trued, ...]:
    """Return what truing finds in another size; nothing is corrected there."""
    named = [(edge.name, edge.points) for edge in edges]
    found = [measure(named, asked, grain) for asked in spec.truings]
    return tuple(
        replace(truing, before=off, after=off, moved=0.0, detail=detail, doubt="")
        for truing, (off, detail) in zip(trued, found, strict=True)
    )


def _seam(spec: SeamSpec) -> Seam:
    stretches = tuple(stretch.ease for stretch in spec.stretches)
    ease = summed(stretches) if stretches else spec.ease
    return Seam(spec.name, _side(spec.first), _side(spec.second), ease, stretches, place=spec.place)


def _side(spec: Sequence[SideSpec]) -> Side:
    edges = tuple(
        (side.piece.name, ref.name, turned) for side in spec for ref, turned in side.edges
    )
    return Side(edges, next((side.times for side in spec if side.times), None))
