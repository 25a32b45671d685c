"""The models of the tables within a piece or a seam: edges, notches, grain, areas, truings. mm."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from plotout.errors import Place
from plotout.geometry.strokes import NotchKind
from plotout.pattern.kinds import (
    Along,
    Axis,
    EdgeName,
    OnEdge,
    Ref,
    Reference,
)
from plotout.pattern.settings import ALLOWANCE, Corner
from plotout.tables import (
    Choice,
    Count,
    Fault,
    Flag,
    Here,
    KeyName,
    Length,
    ListOf,
    Name,
    Point,
    table,
)

XY = tuple[float, float]
TRUINGS = ("square", "straight", "equal", "parallel", "symmetric", "on-grain")


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

    at: Annotated[Along, OnEdge("Distance along the second side, or a percentage of it.")]
    name: Annotated[str, Name("What a grade point calls it.", example='"front of the arm"')] = ""
    ease: Annotated[
        float | None,
        Length("How much longer the first side is up to the notch; if left out, 0, or with a "
               "percentage as much as makes it the same of both sides.",
               -20_000.0, 20_000.0, example='"6 mm"'),
    ] = None  # fmt: skip


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class StretchSpec:
    """`[[seam.stretch]]`: a stretch from notch to notch, in the order of the first side."""

    ease: Annotated[
        tuple[float, float],
        ListOf("Least and greatest of the first side less the second, along it.",
               of=Length("", -20_000.0), least=2, most=2, example='["0 mm", "3 mm"]'),
    ]  # fmt: skip

    def wrong(self) -> Iterator[Fault]:
        """Give the contradictions between its fields."""
        if self.ease[0] > self.ease[1]:
            yield Fault(
                ("ease",), "the least ease is more than the greatest", "Write [least, greatest]."
            )


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
    inset: Annotated[
        float | None,
        Length("Its distance inside that edge; if left out, halfway in.", example='"60 mm"'),
    ] = None

    def wrong(self) -> Iterator[Fault]:
        """Give the contradictions between its fields."""
        points = self.tail is not None and self.head is not None
        half = (self.tail is None) != (self.head is None)
        if half or points == (self.along is not None) or (points and self.inset is not None):
            yield Fault(
                (), "the grain line is ambiguous", "Give 'from' and 'to', or 'along' and 'inset'."
            )
        elif (
            self.tail is not None
            and self.head is not None
            and math.dist(self.tail, self.head) < 1.0
        ):
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
        if self.line is not None and math.dist(*self.line) < 1.0:
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
