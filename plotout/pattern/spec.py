"""The models of a set file. Nothing is measured yet; mm."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from dataclasses import fields as fields_in
from pathlib import Path
from typing import Annotated, Any

from plotout.errors import Place
from plotout.geometry.strokes import NotchKind
from plotout.pattern.grade_spec import GradePoint, GradeRule, NamedPoint, Sizes
from plotout.pattern.kinds import (
    Along,
    Axis,
    DrawingOf,
    EdgeName,
    From,
    OnEdge,
    Ref,
    Reference,
    Walked,
)
from plotout.pattern.model import (
    ALLOWANCE,
    Corner,
    Cut,
    Defaults,
    Derive,
    Drill,
    InternalLine,
)
from plotout.tables import (
    ByName,
    Choice,
    Count,
    Date,
    Fault,
    Flag,
    Given,
    Here,
    Inner,
    KeyName,
    Length,
    ListOf,
    Many,
    Name,
    Number,
    Point,
    Words,
    table,
)
from plotout.tongue import ENGLISH, languages

XY = tuple[float, float]
TRUINGS = ("square", "straight", "equal", "parallel", "symmetric", "on-grain")
_STITCHING, _CUTTING = "stitching", "cutting"


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """`[set]`."""

    name: Annotated[str, Name("What the set is for.", example='"Apron"')]
    style: Annotated[str, Name("Style number.", example='"AP-01"')]
    size: Annotated[str, Words("Size.", example='"M"')] = ""
    date: Annotated[str, Date("Date of this set.")] = ""
    version: Annotated[str, Words("Its version, lettered on the cards.", example='"2"')] = ""
    cautions: Annotated[
        tuple[str, ...],
        ListOf("Notes for the cutter.", of=Words(), example='["Pre-shrink the cloth."]'),
    ] = ()
    language: Annotated[
        str, Choice("Of the fixed words on its cards, papers and pictures.", languages())
    ] = ENGLISH
    unit: Annotated[str, Choice("Of the lengths on them.", ("mm", "in"))] = "mm"


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeSpec:
    """`[piece.edge.NAME]`: settings of one edge."""

    name: Annotated[str, KeyName("The edge.")]
    allowance: Annotated[
        tuple[float, float] | None,
        ListOf("Seam allowance, or [at its start, at its end].", of=ALLOWANCE, least=2, most=2,
               spread=True),
    ] = None  # fmt: skip
    corner: Annotated[Corner | None, Choice("How both its corners are made.", Corner)] = None
    seam_notches: Annotated[bool | None, Flag("Allowance notches at its ends.")] = None
    facing: Annotated[
        bool, Flag("Its allowance is a fold-over facing with turned-back corners.")
    ] = False

    @property
    def edge(self) -> Ref:
        """The edge, as a reference."""
        return Ref(str(self.name), getattr(self.name, "place", Place()))


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class NotchSpec:
    """A notch; what it leaves out is the set's."""

    place: Annotated[Place, Here()]
    at: Annotated[Along, OnEdge("Distance along the edge, or a percentage of it.")]
    from_: Annotated[
        str, Choice("The end from which it is measured.", ("start", "end"), example='"end"')
    ] = "start"
    count: Annotated[int, Count("1 single, 2 double, 3 triple.", 1, 3)] = 1
    kind: Annotated[NotchKind | None, Choice("A notch kind of ASTM D6673.", NotchKind)] = None
    depth: Annotated[float | None, Length("Its depth into the card.", 0.5, 50.0)] = None
    width: Annotated[float | None, Length("Its width at the edge.", 0.5, 50.0)] = None
    spacing: Annotated[
        float | None, Length("Distance between the notches of a double or triple.", 1.0, 100.0)
    ] = None
    cut: Annotated[bool | None, Flag("Cut into the card's edge; false: drawn.")] = None

    @property
    def from_end(self) -> bool:
        """Return whether it is measured from the edge's end."""
        return self.from_ == "end"

    @property
    def style(self) -> Mapping[str, Any]:
        """Its own settings, for the set's `NotchStyle`."""
        own = {name: getattr(self, name) for name in ("kind", "depth", "width", "spacing", "cut")}
        return {name: value for name, value in own.items() if value is not None}


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class SeamNotchSpec(NotchSpec):
    """`[[seam.notch]]`: on both sides of a seam; the first may be longer up to it."""

    ease: Annotated[
        float,
        Length("How much longer the first side is up to the notch.", -500.0,
               500.0, example='"6 mm"'),
    ] = 0.0  # fmt: skip


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeNotchSpec(NotchSpec):
    """`[[piece.notch]]`: a match notch on an edge."""

    edge: Annotated[Ref, Reference("Its edge.", example='"side"')]
    name: Annotated[str, Name("What a grade point calls it.", example='"bust"')] = ""


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class GrainSpec:
    """`grain`: two points, or along an edge at a distance inside it."""

    place: Annotated[Place, Here()]
    tail: Annotated[XY | None, Point("Its tail.", key="from", example="[100, 50]")] = None
    head: Annotated[XY | None, Point("Its head.", key="to", example="[100, 250]")] = None
    along: Annotated[
        Ref | None, Reference("The edge parallel to it.", example='"centre front"')
    ] = None
    inset: Annotated[float, Length("Its distance inside that edge.", example='"60 mm"')] = 0.0

    def wrong(self) -> Iterator[Fault]:
        """Give the contradictions between its fields."""
        points = self.tail is not None and self.head is not None
        half = (self.tail is None) != (self.head is None)
        if half or points == (self.along is not None) or (points and self.inset):
            yield Fault(
                (), "the grain line is ambiguous", "Give 'from' and 'to', or 'along' and 'inset'."
            )
        elif self.tail is not None and self.head is not None and _apart(self.tail, self.head) < 1.0:
            yield Fault(
                (), "the grain line has no length", "Give different points as 'from' and 'to'."
            )


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class SplitSpec:
    """`[[piece.split]]`: where a piece is divided."""

    line: Annotated[
        tuple[XY, XY] | None,
        ListOf(
            "Two points of the line; if left out, found when the piece is too large for the stock.",
            of=Point(),
            least=2,
            most=2,
            example="[[0, 150], [200, 150]]",
        ),
    ] = None
    underlap: Annotated[
        float | None,
        Length("Width by which one card laps under; if left out, the set's.", 0.0, 500.0),
    ] = None

    def wrong(self) -> Iterator[Fault]:
        """Give the contradictions between its fields."""
        if self.line is not None and _apart(*self.line) < 1.0:
            yield Fault((), "the split's line has no length", "Give two different points.")


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class AreaSpec:
    """`[[piece.area]]`: a band along edges, marked on the card."""

    place: Annotated[Place, Here()]
    name: Annotated[str, Name("Its purpose.", example='"fusing"')]
    along: Annotated[
        tuple[Ref, ...],
        ListOf("Edges along which it lies.", of=Reference(example='"top"'), least=1),
    ]
    depth: Annotated[float, Length("Its depth into the piece.", above=True, example='"28 mm"')]


def _pair(says: str) -> ListOf:
    return ListOf(says, of=Reference(), least=2, most=2, example='["hem", "side"]')


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class TrueSpec:
    """`[[piece.true]]`: one thing to measure, and to correct if asked."""

    place: Annotated[Place, Here()]
    square: Annotated[
        tuple[Ref, ...], _pair("Two edges that meet square; the first is corrected.")
    ] = ()
    straight: Annotated[Ref | None, Reference("An edge without a bow.", example='"hem"')] = None
    equal: Annotated[
        tuple[Ref, ...], _pair("Two edges of equal length; the first is corrected.")
    ] = ()
    parallel: Annotated[tuple[Ref, ...], _pair("Two parallel edges; the first is corrected.")] = ()
    symmetric: Annotated[
        tuple[Ref, ...], _pair("Two edges that mirror each other; the first is corrected.")
    ] = ()
    axis: Annotated[
        Ref | tuple[XY, XY] | None,
        Axis("Axis of symmetry: an edge, or two points; if left out, the best fit."),
    ] = None
    on_grain: Annotated[
        Ref | None,
        Reference(
            "An edge along the grain or square to it; without a grain line, along x or y.",
            example='"hem"',
        ),
    ] = None
    put_right: Annotated[bool, Flag("Move the first edge, by no more than the tolerance.")] = False
    tolerance: Annotated[
        float | None, Length("Its tolerance, in place of the set's.", 0.0, 20.0, above=True)
    ] = None

    @property
    def kinds(self) -> tuple[str, ...]:
        """The kinds of truing given: one, once the table is checked."""
        return tuple(kind for kind in TRUINGS if getattr(self, kind.replace("-", "_")))

    @property
    def kind(self) -> str:
        """One of `TRUINGS`."""
        return self.kinds[0]

    @property
    def edges(self) -> tuple[Ref, ...]:
        """The edges that are measured."""
        named = getattr(self, self.kind.replace("-", "_"))
        return named if isinstance(named, tuple) else (named,)

    def wrong(self) -> Iterator[Fault]:
        """Give the contradictions between its fields."""
        if len(self.kinds) != 1:
            yield Fault((), "it needs one kind of truing", f"Write one of: {', '.join(TRUINGS)}.")
            return
        if len({edge.name for edge in self.edges}) != len(self.edges):
            yield Fault((self.kind,), f"'{self.kind}' names one edge twice", "Name two edges.")
        if self.axis is not None and self.kind != "symmetric":
            yield Fault(("axis",), "'axis' is only for 'symmetric'", "Leave it out.")


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class Hem:
    """The edge at which a lining is shortened."""

    edge: Annotated[Ref, Reference("The parent's hem.", example='"hem"')]
    shorter: Annotated[float, Length("How much shorter the lining is.", example='"20 mm"')]


_NEEDS = {Derive.FACING: ("along", "width"), Derive.COPY: ("smaller",)}
_TAKES = {
    Derive.FACING: ("along", "width"),
    Derive.FUSING: ("along", "width", "inset"),
    Derive.LINING: ("ease", "hem"),
    Derive.COPY: ("smaller",),
}


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class DeriveSpec:
    """`derive`: the piece follows a parent piece."""

    parent: Annotated[Ref, Reference("The parent piece.", key="from", example='"Body"')]
    how: Annotated[Derive, Choice("Its relation to the parent.", Derive)]
    along: Annotated[
        tuple[Ref, ...],
        ListOf("Edges of the parent, in order.", of=Reference(example='"neck"'), least=1),
    ] = ()
    width: Annotated[
        float | None, Length("Width of the band along those edges.", above=True, example='"45 mm"')
    ] = None
    inset: Annotated[
        float | None,
        Length("Distance of a fusing inside the cutting line.", example='"3 mm"'),
    ] = None
    smaller: Annotated[
        float | None, Length("How much smaller a copy is on all sides.", example='"1 mm"')
    ] = None
    ease: Annotated[
        float | None, Length("How much wider a lining is at either side.", example='"5 mm"')
    ] = None
    hem: Annotated[Hem | None, Inner("The edge at which a lining is shortened.")] = None
    marked: Annotated[bool, Flag("Drawn on the parent's card, without its own card.")] = False

    def wrong(self) -> Iterator[Fault]:
        """Give the contradictions between its fields."""
        given = [
            key
            for key in ("along", "width", "inset", "smaller", "ease", "hem")
            if getattr(self, key) not in (None, ())
        ]
        for key in _NEEDS.get(self.how, ()):
            if key not in given:
                yield Fault((), f"a {self.how} needs '{key}'", f"Add {key} = ...")
        if self.how is Derive.FUSING and "along" in given and "width" not in given:
            yield Fault((), "a fusing along edges needs 'width'", "Add width = ...")
        for key in given:
            if key not in _TAKES[self.how]:
                takes = ", ".join((*_TAKES[self.how], "marked"))
                yield Fault(
                    (key,), f"'{key}' has no meaning for a {self.how}", f"Available: {takes}."
                )


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class DivideSpec:
    """`[[piece.divide]]`: an edge divided at a place without a corner, such as a shoulder point."""

    place: Annotated[Place, Here()]
    edge: Annotated[Ref, Reference("The edge to divide.", example='"neck"')]
    at: Annotated[Along, OnEdge("Distance along the edge, or a percentage of it.")]
    into: Annotated[
        tuple[Ref, ...],
        ListOf("Names of both parts, counter-clockwise.", of=EdgeName(), least=2, most=2,
               example='["neck back", "neck front"]'),
    ]  # fmt: skip
    from_: Annotated[
        str, Choice("The end from which it is measured.", ("start", "end"), example='"end"')
    ] = "start"


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class PieceSpec:
    """`[[piece]]`."""

    place: Annotated[Place, Here()]
    name: Annotated[str, Name("The piece's name.", example='"Front"')]
    from_: Annotated[From | None, DrawingOf("Its drawing: a file, and what to read from it.")] = (
        None
    )
    derive: Annotated[DeriveSpec | None, Inner("Its parent piece, and how it follows it.")] = None
    rectangle: Annotated[
        tuple[float, float] | None,
        ListOf("Width and height, instead of a drawing; edges bottom, right, top, left.",
               of=Length("", above=True), least=2, most=2, example='["120 mm", "80 mm"]'),
    ] = None  # fmt: skip
    points: Annotated[
        tuple[XY, ...],
        ListOf("Corners in order, instead of a drawing; 'edges' names its sides.",
               of=Point(), least=3, example="[[0, 0], [120, 0], [60, 90]]"),
    ] = ()  # fmt: skip
    outline: Annotated[
        str,
        Choice("The line that the drawing's outline is.", (_STITCHING, _CUTTING),
               example='"cutting"'),
    ] = _STITCHING  # fmt: skip
    line: Annotated[
        tuple[InternalLine, ...] | str,
        Many(
            "Lines inside the piece; or one word, as 'outline'.",
            word=Choice("", (_STITCHING, _CUTTING)),
        ),
    ] = ()
    edges: Annotated[
        tuple[Ref, ...],
        ListOf("Names, counter-clockwise from 'start'.", of=EdgeName(), least=1,
               example='["hem", "side", "neck"]'),
    ] = ()  # fmt: skip
    start: Annotated[XY | None, Point("The turn point nearest here begins the first edge.")] = None
    turn_angle: Annotated[
        float | None,
        Number("Corners sharper than this, in degrees, are turn points.", 1.0, 170.0, example="20"),
    ] = None
    fold: Annotated[Ref | None, Reference("The edge on the fold.", example='"centre front"')] = None
    whole: Annotated[bool, Flag("Given as half, with its card made unfolded.")] = False
    divisions: Annotated[
        tuple[DivideSpec, ...], Many("Edges divided where there is no corner.", key="divide")
    ] = ()
    front: Annotated[Ref | None, Reference("The edge at its front end.", example='"front end"')] = (
        None
    )
    bias: Annotated[bool, Flag("Cut on the bias; its grain line shows the bias.")] = False
    one_way: Annotated[bool, Flag("It must lie in one direction in the cloth.")] = False
    grain: Annotated[GrainSpec | None, Inner("The grain line.")] = None
    cuts: Annotated[tuple[Cut, ...], Many("What to cut with it.", key="cut")] = ()
    allowance: Annotated[
        tuple[float, float] | None,
        ListOf("Seam allowance of all its edges, or [at their start, at their end].", of=ALLOWANCE,
               least=2, most=2, spread=True),
    ] = None  # fmt: skip
    words: Annotated[
        tuple[str, ...], ListOf("More lettering.", of=Words(), example='["wash first"]')
    ] = ()
    edge_rules: Annotated[
        tuple[EdgeSpec, ...], ByName("Settings of single edges.", key="edge")
    ] = ()
    notches: Annotated[tuple[EdgeNotchSpec, ...], Many("Match notches.", key="notch")] = ()
    drills: Annotated[tuple[Drill, ...], Many("Drill holes.", key="drill")] = ()
    splits: Annotated[
        tuple[SplitSpec, ...], Many("Lines along which it is divided.", key="split")
    ] = ()
    areas: Annotated[tuple[AreaSpec, ...], Many("Bands marked along edges.", key="area")] = ()
    truings: Annotated[
        tuple[TrueSpec, ...], Many("What to measure, and to correct if asked.", key="true")
    ] = ()
    named_points: Annotated[
        tuple[NamedPoint, ...], Many("Places on edges that have a name.", key="point")
    ] = ()
    grades: Annotated[
        tuple[GradePoint, ...], Many("Points that move from size to size.", key="grade")
    ] = ()

    @property
    def drawing(self) -> Path | None:
        """Its drawing, beside the set file."""
        if self.from_ is None:
            return None
        return Path(self.place.file or "").parent / self.from_.file

    @property
    def pick(self) -> Mapping[str, Any]:
        """What the reader takes from its drawing."""
        return self.from_.pick if self.from_ else {}

    @property
    def typed(self) -> bool:
        """Return whether the set file itself gives its outline."""
        return self.rectangle is not None or bool(self.points)

    @property
    def drawing_place(self) -> Place:
        """Where its drawing is named."""
        return self.from_.place if self.from_ else self.place

    @property
    def edges_place(self) -> Place:
        """Where its edges are named."""
        return self.edges[0].place if self.edges else self.place

    @property
    def cutting(self) -> bool:
        """Return whether the drawing's outline is the cutting line."""
        return _CUTTING in (self.outline, self.line)

    @property
    def lines(self) -> tuple[InternalLine, ...]:
        """The lines inside it from the set file."""
        return () if isinstance(self.line, str) else self.line

    def wrong(self) -> Iterator[Fault]:
        """Give the contradictions between its fields."""
        given = (self.from_, self.derive, self.rectangle, self.points or None)
        if sum(value is not None for value in given) != 1:
            yield Fault(
                (),
                "a piece needs one outline",
                "Give one of 'from', 'derive', 'rectangle' and 'points'.",
            )
        sides = 4 if self.rectangle is not None else len(self.points)
        if sides and self.edges and len(self.edges) != sides:
            yield Fault(
                ("edges",),
                f"{len(self.edges)} edges are named, but it has {sides} sides",
                "Name all sides, from the first corner on.",
            )
        if self.derive is None:
            return
        for field in fields_in(self):
            key = "edge" if field.name == "edge_rules" else field.name.rstrip("s").replace("_", "-")
            if field.name not in _OF_DERIVED and getattr(self, field.name) != field.default:
                yield Fault(
                    (key,),
                    f"'{key}' has no meaning for a derived piece",
                    "Remove it: the piece follows its parent.",
                )


_OF_DERIVED = (
    "place", "name", "from_", "derive", "whole", "cuts", "allowance", "words", "edge_rules",
    "splits", "bias", "one_way",
)  # fmt: skip


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class SideSpec:
    """One side of a seam: edges in the order walked, with True where walked backwards.

    times: how many of them make up the whole seam; None: derived from how the piece is cut.
    """

    piece: Annotated[Ref, Reference("The piece.", example='"Front"')]
    edges: Annotated[
        tuple[tuple[Ref, bool], ...],
        ListOf('Its edges; "-name" is walked from its end to its start.', of=Walked(), least=1,
               example='["side", "-hem"]'),
    ]  # fmt: skip
    times: Annotated[int | None, Count("How many of these make up the whole seam.", 1, 100)] = None


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class SeamSpec:
    """`[[seam]]`: two sides sewn together."""

    place: Annotated[Place, Here()]
    name: Annotated[str, Name("The seam's name.", example='"side"')]
    first: Annotated[
        tuple[SideSpec, ...],
        Many("The side that may be longer: one piece, or a list.", least=1, alone=True),
    ]
    second: Annotated[
        tuple[SideSpec, ...],
        Many("The side sewn to it: one piece, or a list.", least=1, alone=True),
    ]
    ease: Annotated[
        tuple[float, float],
        ListOf("Least and greatest of the first side less the second.", of=Length("", -20_000.0),
               least=2, most=2, example='["-2 mm", "3 mm"]'),
    ] = (0.0, 0.0)  # fmt: skip
    notches: Annotated[
        tuple[SeamNotchSpec, ...], Many("Notches drawn on both sides.", key="notch")
    ] = ()

    def wrong(self) -> Iterator[Fault]:
        """Give the contradictions between its fields."""
        if self.ease[0] > self.ease[1]:
            yield Fault(
                ("ease",), "the least ease is more than the greatest", "Write [least, greatest]."
            )
        seen: set[tuple[str, str]] = set()
        for side in (*self.first, *self.second):
            for ref, _ in side.edges:
                if (side.piece.name, ref.name) in seen:
                    problem = (
                        f"seam '{self.name}' has edge '{ref.name}' of '{side.piece.name}' twice"
                    )
                    yield Fault(("second", "edges"), problem, "Name an edge only once in a seam.")
                seen.add((side.piece.name, ref.name))


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class SetFile:
    """A whole set file, read and checked, without its drawings."""

    file: Annotated[Path, Given("The set file.")]
    head: Annotated[Head, Inner("The set.", key="set")]
    defaults: Annotated[Defaults, Inner("Settings for every piece that has none of its own.")] = (
        Defaults()  # noqa: RUF009 (it is frozen)
    )
    pieces: Annotated[tuple[PieceSpec, ...], Many("The pieces.", key="piece", least=1)]
    seams: Annotated[tuple[SeamSpec, ...], Many("Sides sewn together.", key="seam")] = ()
    sizes: Annotated[Sizes | None, Inner("The sizes of the set.")] = None
    rules: Annotated[
        tuple[GradeRule, ...], Many("Growth shared by several points.", key="grade")
    ] = ()


def _apart(one: XY, other: XY) -> float:
    return math.hypot(one[0] - other[0], one[1] - other[1])
