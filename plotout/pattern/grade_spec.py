"""The models of grading in a set file: sizes, measurements, rules, grade points."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated

from plotout.errors import Place, counted, nearest
from plotout.pattern.growth import Grown, Growth
from plotout.pattern.kinds import Along, DrawingOf, From, OnEdge, Ref, Reference
from plotout.tables import (
    ByName,
    Choice,
    Fault,
    Here,
    KeyName,
    ListOf,
    Name,
    table,
    table_or,
)


@table_or("grows")
@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """`[sizes.measure]`: a measurement of the body or garment, and how it grows."""

    name: Annotated[str, KeyName("The measurement.")]
    grows: Annotated[Growth, Grown("Its growth per step, or at every size.", example='"40 mm"')]


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class Sizes:
    """`[sizes]`: the sizes of the set, from the smallest, and the drawn one."""

    place: Annotated[Place, Here()]
    base: Annotated[str, Name("The drawn size.", example='"M"')]
    range: Annotated[
        tuple[str, ...],
        ListOf("All sizes, in order.", of=Name(example='"M"'), least=1, most=60,
               example='["S", "M", "L"]'),
    ]  # fmt: skip
    measure: Annotated[tuple[Measurement, ...], ByName("Measurements used in growths.")] = ()
    table: Annotated[
        From | None,
        DrawingOf(
            "A table (CSV) of measurements and rules, and the unit of its bare numbers.",
            example='{ file = "growth.csv", unit = "cm" }',
        ),
    ] = None

    def wrong(self) -> Iterator[Fault]:
        """Yield contradictions between its fields."""
        for size in self.range:
            if self.range.count(size) > 1:
                yield Fault(("range",), f"size '{size}' is listed twice", "Remove one of them.")
                return
        if self.base not in self.range:
            yield Fault(
                ("base",), f"the base size '{self.base}' is not in the range",
                f"Add it there, or name one of the range. {nearest(self.base, self.range)}",
            )  # fmt: skip
        for measure in self.measure:
            yield from _wrong_growth(("measure", measure.name), measure.grows, self)
            if measure.grows.measures:
                yield Fault(
                    ("measure", measure.name),
                    f"'{measure.name}' is neither a length nor a list of them",
                    "Write what it grows by, in mm or with a unit, or its length in every size.",
                )


def _wrong_growth(key: tuple[str, ...], growth: Growth, sizes: Sizes) -> Iterator[Fault]:
    if growth.listed and len(growth.listed) != len(sizes.range):
        yield Fault(
            key,
            f"it has {counted(len(growth.listed), 'length')} "
            f"for {counted(len(sizes.range), 'size')}",
            "Give one per size, 0 for the base.",
        )


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class GradeRule:
    """`[[grade]]`: a growth shared by several points."""

    place: Annotated[Place, Here()]
    name: Annotated[str, Name("The rule's name.", example='"side"')]
    x: Annotated[Growth | None, Grown("Growth across the reference line, to its right.")] = None
    y: Annotated[Growth | None, Grown("Growth along the reference line.")] = None

    def wrong(self) -> Iterator[Fault]:
        """Yield contradictions between its fields."""
        if self.x is None and self.y is None:
            yield Fault((), "the rule has no growth", 'Add x = "..." or y = "...".')


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class NamedPoint:
    """`[[piece.point]]`: a named place on an edge."""

    place: Annotated[Place, Here()]
    name: Annotated[str, Name("Its name.", example='"bust"')]
    edge: Annotated[Ref, Reference("Its edge.", example='"side"')]
    at: Annotated[Along, OnEdge("Distance along the edge, or a percentage of it.")]
    from_: Annotated[
        str, Choice("The end from which it is measured.", ("start", "end"), example='"end"')
    ] = "start"


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class GradePoint:
    """`[[piece.grade]]`: a point of the outline that moves from size to size."""

    place: Annotated[Place, Here()]
    corner: Annotated[
        tuple[Ref, ...],
        ListOf("The corner between two edges.", of=Reference(), least=2, most=2,
               example='["hem", "side"]'),
    ] = ()  # fmt: skip
    edge: Annotated[
        Ref | None,
        Reference("The edge of a point between corners, or of one of two notches of the same name.",
                  example='"neck"'),
    ] = None  # fmt: skip
    at: Annotated[Along | None, OnEdge("Its place on that edge, from the start.")] = None
    point: Annotated[Ref | None, Reference("A named point of an edge.", example='"bust"')] = None
    notch: Annotated[
        Ref | None,
        Reference("A notch of the piece or of a seam, by its name: its edge moves with it."),
    ] = None
    drill: Annotated[Ref | None, Reference("A drill hole, by its name: only it moves.")] = None
    rule: Annotated[Ref | None, Reference("A rule of the set.", example='"side"')] = None
    x: Annotated[Growth | None, Grown("Growth across the reference line, to its right.")] = None
    y: Annotated[Growth | None, Grown("Growth along the reference line.")] = None
    along: Annotated[
        Ref | None,
        Reference("An edge as the reference line, instead of the grain.", example='"centre front"'),
    ] = None

    def wrong(self) -> Iterator[Fault]:
        """Yield contradictions between its fields."""
        between = self.at or (self.edge and not self.notch)
        given = (self.corner, between, self.point, self.notch, self.drill)
        half = (self.edge is None) != (self.at is None) and self.notch is None
        if half or sum(bool(value) for value in given) != 1:
            yield Fault(
                (),
                "the grade point needs one place",
                "Give 'corner', or 'edge' and 'at', or 'point', 'notch' or 'drill'.",
            )
        if (self.rule is None) == (self.x is None and self.y is None):
            yield Fault((), "the grade point needs a growth", "Give 'rule', or 'x' and 'y'.")
