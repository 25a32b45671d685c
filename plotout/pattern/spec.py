"""The models of a set file: what it may say, and what that means. Nothing is measured yet; mm."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from dataclasses import fields as fields_in
from pathlib import Path
from typing import Annotated, Any

from plotout.errors import Place
from plotout.geometry.strokes import NotchKind
from plotout.pattern.grade_spec import GradePoint, GradeRule, Sizes
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
        ListOf("What the cutter must know.", of=Words(), example='["Pre-shrink the cloth."]'),
    ] = ()
    language: Annotated[
        str, Choice("Of the fixed words on its cards, papers and pictures.", languages())
    ] = ENGLISH
    unit: Annotated[str, Choice("Of the lengths on them.", ("mm", "in"))] = "mm"


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeSpec:
    """`[piece.edge.NAME]`: what one edge has of its own."""

    name: Annotated[str, KeyName("The edge.")]
    allowance: Annotated[
        tuple[float, float] | None,
        ListOf("Seam allowance, or [at its start, at its end].", of=ALLOWANCE, least=2, most=2,
               spread=True),
    ] = None  # fmt: skip
    corner: Annotated[Corner | None, Choice("How both its corners are made.", Corner)] = None
    seam_notches: Annotated[bool | None, Flag("Allowance notches at its ends.")] = None
    facing: Annotated[
        bool, Flag("Its allowance is a facing, folded over; its corners are turned back.")
    ] = False

    @property
    def edge(self) -> Ref:
        """The edge, as a reference."""
        return Ref(str(self.name), getattr(self.name, "place", Place()))


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class NotchSpec:
    """A notch: what it has of its own; the rest is the set's."""

    place: Annotated[Place, Here()]
    at: Annotated[Along, OnEdge("Distance along the edge, or a percentage of it.")]
    from_: Annotated[
        str, Choice("The end that it is measured from.", ("start", "end"), example='"end"')
    ] = "start"
    count: Annotated[int, Count("1 single, 2 double, 3 triple.", 1, 3)] = 1
    kind: Annotated[NotchKind | None, Choice("A notch kind of ASTM D6673.", NotchKind)] = None
    depth: Annotated[float | None, Length("How deep it goes into the card.", 0.5, 50.0)] = None
    width: Annotated[float | None, Length("How wide it is at the edge.", 0.5, 50.0)] = None
    spacing: Annotated[
        float | None, Length("Between the notches of a double or triple.", 1.0, 100.0)
    ] = None
    cut: Annotated[bool | None, Flag("Cut into the card's edge; false: drawn.")] = None

    @property
    def from_end(self) -> bool:
        """True when it is measured from the edge's end."""
        return self.from_ == "end"

    @property
    def style(self) -> Mapping[str, Any]:
        """What it has of its own, for the set's `NotchStyle`."""
        own = {name: getattr(self, name) for name in ("kind", "depth", "width", "spacing", "cut")}
        return {name: value for name, value in own.items() if value is not None}


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class SeamNotchSpec(NotchSpec):
    """`[[seam.notch]]`: on both sides of a seam; the first may have more up to there."""

    ease: Annotated[
        float,
        Length("How much longer the first side is up to it, from where it is measured.", -500.0,
               500.0, example='"6 mm"'),
    ] = 0.0  # fmt: skip


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeNotchSpec(NotchSpec):
    """`[[piece.notch]]`: a match notch on an edge."""

    edge: Annotated[Ref, Reference("The edge it lies on.", example='"side"')]


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class GrainSpec:
    """`grain`: two points, or along an edge at a distance inside it."""

    place: Annotated[Place, Here()]
    tail: Annotated[XY | None, Point("Its tail.", key="from", example="[100, 50]")] = None
    head: Annotated[XY | None, Point("Its head.", key="to", example="[100, 250]")] = None
    along: Annotated[
        Ref | None, Reference("The edge that it is parallel to.", example='"centre front"')
    ] = None
    inset: Annotated[float, Length("How far inside that edge it lies.", example='"60 mm"')] = 0.0

    def wrong(self) -> Iterator[Fault]:
        """Give what can't be so together."""
        points = self.tail is not None and self.head is not None
        half = (self.tail is None) != (self.head is None)
        if half or points == (self.along is not None) or (points and self.inset):
            yield Fault(
                (), "the grain line is not clear", "Give 'from' and 'to', or 'along' and 'inset'."
            )
        elif self.tail is not None and self.head is not None and _apart(self.tail, self.head) < 1.0:
            yield Fault((), "the grain line has no length", "'from' and 'to' are the same point.")


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class SplitSpec:
    """`[[piece.split]]`: where a piece is divided."""

    line: Annotated[
        tuple[XY, XY] | None,
        ListOf(
            "Where, by two points; left out: found when the piece is too large for the stock.",
            of=Point(),
            least=2,
            most=2,
            example="[[0, 150], [200, 150]]",
        ),
    ] = None
    underlap: Annotated[
        float | None,
        Length("Width that the one card laps under the other; left out: the set's.", 0.0, 500.0),
    ] = None

    def wrong(self) -> Iterator[Fault]:
        """Give what can't be so together."""
        if self.line is not None and _apart(*self.line) < 1.0:
            yield Fault((), "the split's line has no length", "Give two points that lie apart.")


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class AreaSpec:
    """`[[piece.area]]`: a band inside some edges, marked on the card."""

    place: Annotated[Place, Here()]
    name: Annotated[str, Name("What it is for.", example='"fusing"')]
    along: Annotated[
        tuple[Ref, ...],
        ListOf("Edges that it lies along.", of=Reference(example='"top"'), least=1),
    ]
    depth: Annotated[
        float, Length("How far it reaches into the piece.", above=True, example='"28 mm"')
    ]


def _pair(says: str) -> ListOf:
    return ListOf(says, of=Reference(), least=2, most=2, example='["hem", "side"]')


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class TrueSpec:
    """`[[piece.true]]`: one thing that is measured, and put right if asked."""

    place: Annotated[Place, Here()]
    square: Annotated[
        tuple[Ref, ...], _pair("Two edges that meet square; the first is put right.")
    ] = ()
    straight: Annotated[Ref | None, Reference("An edge without a bow.", example='"hem"')] = None
    equal: Annotated[
        tuple[Ref, ...], _pair("Two edges of equal length; the first is put right.")
    ] = ()
    parallel: Annotated[
        tuple[Ref, ...], _pair("Two edges that run parallel; the first is put right.")
    ] = ()
    symmetric: Annotated[
        tuple[Ref, ...], _pair("Two edges that mirror each other; the first is put right.")
    ] = ()
    axis: Annotated[
        Ref | tuple[XY, XY] | None,
        Axis("What symmetric edges mirror in: an edge, or two points. Without it: what fits best."),
    ] = None
    on_grain: Annotated[
        Ref | None,
        Reference(
            "An edge along the grain, or square to it; x and y without one.", example='"hem"'
        ),
    ] = None
    put_right: Annotated[bool, Flag("Move the first edge, by no more than the tolerance.")] = False
    tolerance: Annotated[
        float | None, Length("Instead of the set's own.", 0.0, 20.0, above=True)
    ] = None

    @property
    def kinds(self) -> tuple[str, ...]:
        """What is to be true: one word, once the table is found right."""
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
        """Give what can't be so together."""
        if len(self.kinds) != 1:
            yield Fault((), "say one thing to true", f"One of: {', '.join(TRUINGS)}.")
            return
        if len({edge.name for edge in self.edges}) != len(self.edges):
            yield Fault((self.kind,), f"'{self.kind}' names one edge twice", "Name two edges.")
        if self.axis is not None and self.kind != "symmetric":
            yield Fault(("axis",), "'axis' belongs to 'symmetric' alone", "Leave it out.")


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class Hem:
    """The edge that a lining is shortened at."""

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
    how: Annotated[Derive, Choice("How it follows its parent.", Derive)]
    along: Annotated[
        tuple[Ref, ...],
        ListOf("Edges of the parent, in order.", of=Reference(example='"neck"'), least=1),
    ] = ()
    width: Annotated[
        float | None, Length("Width of the band along those edges.", above=True, example='"45 mm"')
    ] = None
    inset: Annotated[
        float | None,
        Length("How far a fusing stays inside the cutting line.", example='"3 mm"'),
    ] = None
    smaller: Annotated[
        float | None, Length("How much a copy is drawn in all round.", example='"1 mm"')
    ] = None
    ease: Annotated[
        float | None, Length("How much a lining is wider at each side.", example='"5 mm"')
    ] = None
    hem: Annotated[Hem | None, Inner("The edge that a lining is shortened at.")] = None
    marked: Annotated[bool, Flag("Drawn on the parent's card; no card of its own.")] = False

    def wrong(self) -> Iterator[Fault]:
        """Give what can't be so together."""
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
                    (key,), f"'{key}' means nothing for a {self.how}", f"It takes: {takes}."
                )


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class DivideSpec:
    """`[[piece.divide]]`: an edge made two at a place that is no corner, as at a shoulder point."""

    place: Annotated[Place, Here()]
    edge: Annotated[Ref, Reference("The edge that is divided.", example='"neck"')]
    at: Annotated[Along, OnEdge("Where: distance along the edge, or a percentage of it.")]
    into: Annotated[
        tuple[Ref, ...],
        ListOf("Names of both parts, counter-clockwise.", of=EdgeName(), least=2, most=2,
               example='["neck back", "neck front"]'),
    ]  # fmt: skip
    from_: Annotated[
        str, Choice("The end that it is measured from.", ("start", "end"), example='"end"')
    ] = "start"


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class PieceSpec:
    """`[[piece]]`."""

    place: Annotated[Place, Here()]
    name: Annotated[str, Name("What the piece is called.", example='"Front"')]
    from_: Annotated[
        From | None, DrawingOf("Its drawing: a file, and what the reader takes of it.")
    ] = None
    derive: Annotated[DeriveSpec | None, Inner("The piece that it follows.")] = None
    rectangle: Annotated[
        tuple[float, float] | None,
        ListOf("Its width and height, without a drawing; edges bottom, right, top, left.",
               of=Length("", above=True), least=2, most=2, example='["120 mm", "80 mm"]'),
    ] = None  # fmt: skip
    points: Annotated[
        tuple[XY, ...],
        ListOf("Its corners in order, without a drawing; 'edges' names its sides.",
               of=Point(), least=3, example="[[0, 0], [120, 0], [60, 90]]"),
    ] = ()  # fmt: skip
    outline: Annotated[
        str,
        Choice("Which line the drawing gives as outline.", (_STITCHING, _CUTTING),
               example='"cutting"'),
    ] = _STITCHING  # fmt: skip
    line: Annotated[
        tuple[InternalLine, ...] | str,
        Many(
            "Lines within the piece; or a word, as 'outline'.",
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
    fold: Annotated[
        Ref | None, Reference("The edge that lies on the fold.", example='"centre front"')
    ] = None
    whole: Annotated[bool, Flag("Given as half; its card is made unfolded.")] = False
    divisions: Annotated[
        tuple[DivideSpec, ...], Many("Edges divided at a place that is no corner.", key="divide")
    ] = ()
    front: Annotated[
        Ref | None, Reference("The edge that is its front end.", example='"front end"')
    ] = None
    bias: Annotated[bool, Flag("Cut on the bias, which its grain line then shows.")] = False
    one_way: Annotated[bool, Flag("It must lie one way in the cloth.")] = False
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
        tuple[EdgeSpec, ...], ByName("What one edge has of its own.", key="edge")
    ] = ()
    notches: Annotated[tuple[EdgeNotchSpec, ...], Many("Match notches.", key="notch")] = ()
    drills: Annotated[tuple[Drill, ...], Many("Drill holes.", key="drill")] = ()
    splits: Annotated[tuple[SplitSpec, ...], Many("Where it is divided.", key="split")] = ()
    areas: Annotated[tuple[AreaSpec, ...], Many("Bands marked along edges.", key="area")] = ()
    truings: Annotated[
        tuple[TrueSpec, ...], Many("What is measured, and put right if asked.", key="true")
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
        """What the reader is to take of its drawing."""
        return self.from_.pick if self.from_ else {}

    @property
    def typed(self) -> bool:
        """True when the set file gives its outline itself."""
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
        """True when the drawing gives the cutting line."""
        return _CUTTING in (self.outline, self.line)

    @property
    def lines(self) -> tuple[InternalLine, ...]:
        """The lines within it that the set file gives."""
        return () if isinstance(self.line, str) else self.line

    def wrong(self) -> Iterator[Fault]:
        """Give what can't be so together."""
        given = (self.from_, self.derive, self.rectangle, self.points or None)
        if sum(value is not None for value in given) != 1:
            yield Fault(
                (),
                "a piece is drawn, derived or typed",
                "Give one of 'from', 'derive', 'rectangle' and 'points'.",
            )
        sides = 4 if self.rectangle is not None else len(self.points)
        if sides and self.edges and len(self.edges) != sides:
            yield Fault(
                ("edges",),
                f"{len(self.edges)} edges are named, but it has {sides} sides",
                "Name each, from the first corner on.",
            )
        if self.derive is None:
            return
        for field in fields_in(self):
            key = "edge" if field.name == "edge_rules" else field.name.rstrip("s").replace("_", "-")
            if field.name not in _OF_DERIVED and getattr(self, field.name) != field.default:
                yield Fault(
                    (key,), f"'{key}' means nothing for a derived piece", "It follows its parent."
                )


_OF_DERIVED = (
    "place", "name", "from_", "derive", "whole", "cuts", "allowance", "words", "edge_rules",
    "splits", "bias", "one_way",
)  # fmt: skip


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class SideSpec:
    """One side of a seam: edges in the order walked, each with True where walked backwards.

    times: how many of the piece's own make up the whole seam; None: from how it is cut.
    """

    piece: Annotated[Ref, Reference("The piece.", example='"Front"')]
    edges: Annotated[
        tuple[tuple[Ref, bool], ...],
        ListOf('Its edges; "-name": from its end to its start.', of=Walked(), least=1,
               example='["side", "-hem"]'),
    ]  # fmt: skip
    times: Annotated[int | None, Count("How many of these make up the whole seam.", 1, 100)] = None


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class SeamSpec:
    """`[[seam]]`: what is sewn to what."""

    place: Annotated[Place, Here()]
    name: Annotated[str, Name("What the seam is called.", example='"side"')]
    first: Annotated[
        tuple[SideSpec, ...],
        Many("The side that may be longer: one piece, or a list.", least=1, alone=True),
    ]
    second: Annotated[
        tuple[SideSpec, ...],
        Many("The side that it is sewn to: one piece, or a list.", least=1, alone=True),
    ]
    ease: Annotated[
        tuple[float, float],
        ListOf("Least and most of first less second.", of=Length("", -20_000.0), least=2, most=2,
               example='["-2 mm", "3 mm"]'),
    ] = (0.0, 0.0)  # fmt: skip
    notches: Annotated[
        tuple[SeamNotchSpec, ...], Many("Notches drawn on both sides.", key="notch")
    ] = ()

    def wrong(self) -> Iterator[Fault]:
        """Give what can't be so together."""
        if self.ease[0] > self.ease[1]:
            yield Fault(("ease",), "the least ease is more than the most", "Write [least, most].")
        seen: set[tuple[str, str]] = set()
        for side in (*self.first, *self.second):
            for ref, _ in side.edges:
                if (side.piece.name, ref.name) in seen:
                    problem = (
                        f"seam '{self.name}' has edge '{ref.name}' of '{side.piece.name}' twice"
                    )
                    yield Fault(("second", "edges"), problem, "An edge is sewn once in a seam.")
                seen.add((side.piece.name, ref.name))


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class SetFile:
    """A whole set file, read and checked in itself; its drawings are not read yet."""

    file: Annotated[Path, Given("The set file.")]
    head: Annotated[Head, Inner("The set.", key="set")]
    defaults: Annotated[Defaults, Inner("What holds for every piece unless it says otherwise.")] = (
        Defaults()  # noqa: RUF009 (it is frozen)
    )
    pieces: Annotated[tuple[PieceSpec, ...], Many("The pieces.", key="piece", least=1)]
    seams: Annotated[tuple[SeamSpec, ...], Many("What is sewn to what.", key="seam")] = ()
    sizes: Annotated[Sizes | None, Inner("The sizes of the set.")] = None
    rules: Annotated[
        tuple[GradeRule, ...], Many("Growth that many points share.", key="grade")
    ] = ()


def _apart(one: XY, other: XY) -> float:
    return math.hypot(one[0] - other[0], one[1] - other[1])
