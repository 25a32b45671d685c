"""A pattern set and its pieces, after reading and before finishing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from enum import StrEnum
from pathlib import Path
from typing import Annotated

from plotout.errors import Place, UserError
from plotout.geometry.polyline import ring_of
from plotout.geometry.strokes import FloatArray, Work
from plotout.geometry.sureness import Otherwise
from plotout.pattern.findings import Trued, Unfair
from plotout.pattern.kinds import Points
from plotout.pattern.settings import Corner, Defaults, NotchStyle
from plotout.tables import (
    Choice,
    Count,
    Fault,
    Flag,
    Length,
    Name,
    Point,
    table,
)
from plotout.tongue import PLAIN, Tongue

MOST_TO_CUT = 1_000


@dataclass(frozen=True, slots=True)
class Notch:
    """A match notch: `along` mm from the edge's first point on the stitching line; count 1 to 3.

    measured_from: "start" or "end" of the edge if a length from there gives its place, which is
    then exact however the edge was pricked; else "".
    """

    edge: str
    along: float
    count: int = 1
    style: NotchStyle = field(default_factory=NotchStyle)
    measured_from: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Edge:
    """A named stretch of the stitching line between two turn points, counter-clockwise.

    points: (n, 2), mm. allowance: mm at its first and last points (linear between).
    corner: how both its corners are made; where two edges differ, TURNED wins, then the later edge.
    seam_notches: whether its two ends get allowance notches. facing: its allowance is folded over
    as a facing. known_to: mm (two sigma) to which its length is known; 0 where it was drawn,
    infinite where its pricks don't determine it. unproved: how much of that is because its pricks
    may be explained otherwise, as by a stray. otherwise: what its length is by each of these
    explanations. against: the edge after it, and the correlation of their lengths' errors, 0 to -1:
    where the pricks don't show well where it ends, the one is too long by what the other is too
    short. headings_to: degrees (two sigma) to which its directions at its start and end are known.
    part_of: names of the edges of which it was divided off, the last one first.
    grows: mm from the base size to a larger one, or from a smaller one to the base; 0 in the base.
    twin_of: the edge whose mirror image it begins with, on the other half of a piece: where two
    twins differ, the earlier one decides their corner.
    """

    name: str
    points: FloatArray
    allowance: tuple[float, float]
    corner: Corner = Corner.MITRE
    seam_notches: bool = True
    known_to: float = 0.0
    unproved: float = 0.0
    otherwise: tuple[Otherwise, ...] = ()
    against: tuple[str, float] = ("", 0.0)
    headings_to: tuple[float, float] = (0.0, 0.0)
    facing: bool = False
    part_of: tuple[str, ...] = ()
    grows: float = 0.0
    twin_of: str = ""


@table
@dataclass(frozen=True, slots=True)
class Cut:
    """What to cut with a card: `count` of a cloth, or mirrored pairs; perhaps on the fold."""

    cloth: Annotated[str, Name("self, lining, fusing ...", example='"self"')]
    count: Annotated[int, Count("The number of pieces, or of pairs.", 1, MOST_TO_CUT)] = 1
    pair: Annotated[bool, Flag("Mirrored pairs.")] = False
    on_fold: Annotated[bool, Flag("Cut on the fold of the cloth.")] = False
    reversed: Annotated[bool, Flag("Cut with the card turned over.")] = False

    @property
    def pieces(self) -> int:
        """How many pieces of cloth that is."""
        return self.count * (2 if self.pair else 1)

    def __str__(self) -> str:
        pairs = " pair" if self.count == 1 else " pairs"
        many = f"{self.count}{pairs if self.pair else ''}"
        return f"cut {many} {self.cloth}" + (" on fold" if self.on_fold else "")


@table
@dataclass(frozen=True, slots=True)
class Drill:
    """A drill hole, mm; cut as a circle or drawn as a cross."""

    at: Annotated[tuple[float, float], Point("Its centre.")]
    size: Annotated[float, Length("Its diameter.", 0.2, 50.0, example='"3 mm"')] = 3.0
    cross: Annotated[bool, Flag("Drawn as a cross instead of cut.")] = False
    name: Annotated[str, Name("What a grade point calls it.", example='"pocket"')] = ""


@table
@dataclass(frozen=True, slots=True, eq=False)
class InternalLine:
    """A line inside the piece. points: (n, 2), mm. work: draw, or score where the card bends."""

    name: Annotated[str, Name("Its name.", example='"pleat"')]
    points: Annotated[FloatArray, Points("Its points.", example="[[20, 20], [20, 280]]")]
    kind: Annotated[
        str, Choice("The kind of line.", ("internal", "stripe", "plaid", "cut-out"))
    ] = "internal"
    work: Annotated[
        Work, Choice("Drawn, or scored: the card bends there.", (Work.DRAW, Work.SCORE))
    ] = Work.DRAW

    def wrong(self) -> Iterator[Fault]:
        """Give what can't be true of its work."""
        if self.work is Work.SCORE and self.kind != "internal":
            problem = f"line '{self.name}': a line of kind '{self.kind}' can't be scored"
            yield Fault(("work",), problem, "Leave out its kind, or its work.")


@dataclass(frozen=True, slots=True, eq=False)
class Area:
    """An area marked on a card (facing, fusing, underlap): closed points (n, 2), mm."""

    name: str
    points: FloatArray


@dataclass(frozen=True, slots=True)
class Split:
    """Where a piece is divided: a straight line through two points in mm, and its underlap.

    line None: the tool chooses the place when the piece is too large for the stock.
    """

    line: tuple[tuple[float, float], tuple[float, float]] | None = None
    underlap: float = 20.0


class Derive(StrEnum):
    """How a piece follows its parent."""

    FACING = "facing"
    FUSING = "fusing"
    LINING = "lining"
    COPY = "copy"


@dataclass(frozen=True, slots=True)
class EdgeRule:
    """The set file's rule for one edge of a derived piece; None: as the parent's edge."""

    name: str
    allowance: tuple[float, float] | None = None
    corner: Corner | None = None
    seam_notches: bool | None = None
    facing: bool = False


@dataclass(frozen=True, slots=True)
class Derivation:
    """How a piece is made from its parent (`Piece.parent`). Lengths in mm.

    along: edges of the parent along which a facing or fusing runs, in order; none: the whole piece.
    width: of that band. inset: a fusing's distance inside the cutting line. smaller: how much
    smaller a copy is on all sides (a roll allowance). ease: how much wider a lining is at its
    sides. hem: the edge at which a lining is shortened, and by how much.
    marked: drawn on the parent's card as an area instead of having its own card.
    allowance: of all its edges, if the set file gives it; rules: of single edges. bias, one_way:
    how it lies in the cloth, if the set file says so; else as its parent does.
    """

    how: Derive
    along: tuple[str, ...] = ()
    width: float = 0.0
    inset: float = 0.0
    smaller: float = 0.0
    ease: float = 0.0
    hem: tuple[str, float] | None = None
    marked: bool = False
    allowance: tuple[float, float] | None = None
    rules: tuple[EdgeRule, ...] = ()
    bias: bool | None = None
    one_way: bool | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Graded:
    """A grade point of the drawn size. at: (2,), mm. growth: (sizes, 2), mm, how far it moves.

    within: it lies within an edge, and is no corner.
    """

    at: FloatArray
    growth: FloatArray
    within: bool = False


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of the pattern, on its stitching line.

    edges: counter-clockwise, each beginning where the previous one ends; the last ends where the
        first begins. fold: name of the edge on the fold, if any.
    whole: the card is made unfolded although the piece is given as half.
    grain: (2, 2), mm, from tail to head, or None.
    notes: what was snapped, trued or left out in reading, in words. faults: what the set file asks
        and the piece can't give; its card is not made until they are mended.
    bias: its grain line shows the bias, not the lengthwise threads. one_way: it must lie one way in
        the cloth. front: name of the edge that is its front end, if it is not plain.
    derive: how it comes from `parent`; its edges are () until the finish room has made them.
    trued: what was measured, and put right where asked. graded: its grade points, of the drawn size
    alone. unfair: what growth has made less fair. turn: degrees counter-clockwise by which it lies
    turned from its drawing. place: of its entry in the set file.
    """

    name: str
    edges: tuple[Edge, ...]
    cuts: tuple[Cut, ...] = ()
    fold: str | None = None
    whole: bool = False
    grain: FloatArray | None = None
    notches: tuple[Notch, ...] = ()
    drills: tuple[Drill, ...] = ()
    lines: tuple[InternalLine, ...] = ()
    areas: tuple[Area, ...] = ()
    splits: tuple[Split, ...] = ()
    parent: str | None = None
    words: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    derive: Derivation | None = None
    trued: tuple[Trued, ...] = ()
    faults: tuple[UserError, ...] = ()
    bias: bool = False
    one_way: bool = False
    front: str | None = None
    graded: tuple[Graded, ...] = ()
    unfair: tuple[Unfair, ...] = ()
    turn: float = 0.0
    place: Place = field(default_factory=Place)

    @property
    def outline(self) -> FloatArray:
        """The whole stitching line, closed, counter-clockwise: (n, 2), mm."""
        return ring_of([edge.points for edge in self.edges])

    @property
    def paired(self) -> bool:
        """Whether it is cut in mirrored pairs, of any cloth."""
        return any(cut.pair for cut in self.cuts)

    @property
    def turned_over(self) -> bool:
        """Whether any of it is cut as its mirror image: in pairs, or reversed."""
        return any(cut.pair or cut.reversed for cut in self.cuts)

    @property
    def where(self) -> Place:
        """The place that its faults name."""
        return replace(self.place, piece=self.name)

    def edge(self, name: str) -> Edge:
        """Return the edge of that name; KeyError if there is none."""
        for edge in self.edges:
            if edge.name == name:
                return edge
        raise KeyError(name)

    def beside(self, edge: Edge) -> tuple[Edge, Edge]:
        """Return the edge before one of its edges, and the edge after it."""
        index = self.edges.index(edge)
        return self.edges[index - 1], self.edges[(index + 1) % len(self.edges)]


@dataclass(frozen=True, slots=True)
class Side:
    """One side of a seam: a chain of edges, of one piece or of several, in the order walked.

    edges: (piece, edge, walked backwards?). times: how many such chains make up the whole seam;
    None: derived from how the pieces are cut.
    """

    edges: tuple[tuple[str, str, bool], ...]
    times: int | None = None


@dataclass(frozen=True, slots=True)
class Seam:
    """Two sides sewn together. ease: least and most of (first - second), mm.

    stretches: the same for each stretch from notch to notch, or none: then any may have any share.
    marked: mm along both sides, as walked, of the notches that it has itself. place: of its entry
    in the set file.
    """

    name: str
    first: Side
    second: Side
    ease: tuple[float, float] = (0.0, 0.0)
    stretches: tuple[tuple[float, float], ...] = ()
    marked: tuple[tuple[float, float], ...] = field(default=(), compare=False)
    place: Place = field(default_factory=Place, compare=False)

    @property
    def of_one_edge(self) -> bool:
        """Return whether a left is sewn to a right of the same edges (a crotch, a centre back)."""
        return self.first.edges == self.second.edges


@dataclass(frozen=True, slots=True)
class PatternSet:
    """A whole set, assembled, in one size. file: the set file read.

    version: as the set file states it, or "". sizes: all sizes of the set, in order, or ().
    say: the language and the unit of its papers. notes: what its sizes say that may not be meant.
    """

    name: str
    style: str
    size: str
    date: str
    pieces: tuple[Piece, ...]
    defaults: Defaults = field(default_factory=Defaults)
    seams: tuple[Seam, ...] = ()
    cautions: tuple[str, ...] = ()
    file: Path | None = None
    version: str = ""
    sizes: tuple[str, ...] = ()
    say: Tongue = PLAIN
    notes: tuple[str, ...] = ()

    def piece(self, name: str) -> Piece:
        """Return the piece of that name; KeyError if there is none."""
        for piece in self.pieces:
            if piece.name == name:
                return piece
        raise KeyError(name)

    def with_pieces(self, pieces: tuple[Piece, ...]) -> PatternSet:
        """Return the set with these pieces instead."""
        return replace(self, pieces=pieces)
