"""The models of a set file. Nothing is measured yet; mm."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

from plotout.errors import Place
from plotout.pattern.derive_spec import DeriveSpec
from plotout.pattern.grade_spec import GradePoint, GradeRule, NamedPoint, Sizes
from plotout.pattern.kinds import (
    DrawingOf,
    EdgeName,
    From,
    Ref,
    Reference,
    Walked,
)
from plotout.pattern.model import Cut, Drill, InternalLine
from plotout.pattern.part_spec import (
    XY,
    AreaSpec,
    DivideSpec,
    EdgeNotchSpec,
    EdgeSpec,
    GrainSpec,
    SeamNotchSpec,
    SplitSpec,
    StretchSpec,
    TrueSpec,
)
from plotout.pattern.settings import ALLOWANCE, Defaults
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
    Length,
    ListOf,
    Many,
    Name,
    Number,
    Point,
    Words,
    table,
)
from plotout.tables.fields import fields_of
from plotout.tongue import ENGLISH, languages

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
        str, Choice("Language of the fixed words on its cards, papers and pictures.", languages())
    ] = ENGLISH
    unit: Annotated[str, Choice("Unit of the lengths on them.", ("mm", "in"))] = "mm"


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
        Choice("The line that the drawing's outline is. If left out: what its format says; "
               "else the stitching line.", (_STITCHING, _CUTTING), example='"cutting"'),
    ] = ""  # fmt: skip
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
    bias: Annotated[
        bool | None,
        Flag(
            "Its grain line is the bias, laid at 45 degrees to the threads. Leave it out where the "
            "line is drawn as the threads run."
        ),
    ] = None
    one_way: Annotated[
        bool | None,
        Flag("It must lie in one direction in the cloth, or need not."),
    ] = None
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
    def cutting(self) -> bool | None:
        """Return whether the drawing's outline is the cutting line; None where it isn't said."""
        said = {self.outline, self.line} & {_STITCHING, _CUTTING}
        return _CUTTING in said if said else None

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
                "Name all sides, from the first corner on. (Between two 'points' lies a straight "
                "side; for a curve, name a drawing of it in 'from'.)",
            )
        if self.derive is None:
            return
        for field in fields_of(PieceSpec):
            if field.name not in _OF_DERIVED and getattr(self, field.name) != field.default:
                yield Fault(
                    (field.key,),
                    f"'{field.key}' has no meaning for a derived piece",
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
    stretches: Annotated[
        tuple[StretchSpec, ...],
        Many("The ease of each stretch from notch to notch; all, or none.", key="stretch"),
    ] = ()

    def wrong(self) -> Iterator[Fault]:
        """Give the contradictions between its fields."""
        if self.ease[0] > self.ease[1]:
            yield Fault(
                ("ease",), "the least ease is more than the greatest", "Write [least, greatest]."
            )
        if self.stretches and self.ease != (0.0, 0.0):
            problem = "the seam's ease is given twice: for the whole and for its stretches"
            yield Fault(("ease",), problem, "Leave out one of them: the whole's is their sum.")
        yield from self._twice()

    def _twice(self) -> Iterator[Fault]:
        """Give the edges that it has twice, other than a left and a right of the same edges."""
        first, second = (
            [(side.piece.name, ref.name, turned) for side in sides for ref, turned in side.edges]
            for sides in (self.first, self.second)
        )
        if first == second:
            asked = [self.ease, *(stretch.ease for stretch in self.stretches)]
            eased = [*asked, *((notch.ease or 0.0,) * 2 for notch in self.notches)]
            if any(not least <= 0.0 <= most for least, most in eased):
                yield Fault(
                    ("second", "edges"),
                    f"seam '{self.name}' sews the left of an edge to its right with ease",
                    "Leave out the ease: both are cut along one line.",
                )
        sides = [first] if first == second else [first, second]
        ways = [(piece, edge, turned, side) for side in sides for piece, edge, turned in side]
        for piece, edge in dict.fromkeys((piece, edge) for piece, edge, *_ in ways):
            own = [(turned, id(side)) for *key, turned, side in ways if key == [piece, edge]]
            left_and_right = len({turned for turned, _ in own}) == 2 and len(own) == 2
            if len(own) == 1 or (left_and_right and own[0][1] == own[1][1]):
                continue
            yield Fault(
                ("second", "edges"),
                f"seam '{self.name}' has edge '{edge}' of '{piece}' twice",
                "Name an edge only once in a seam, or twice in one side for a right and its left, "
                'of which one is walked backwards: "neck" and "-neck". If several of the piece '
                "follow each other along it, say how many with times = 2. If a left is sewn to a "
                "right of the same pieces, write all edges of both sides alike, walked from the "
                "same end.",
            )


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
