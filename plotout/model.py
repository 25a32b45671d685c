"""The data that flows from stage to stage: cards, sheets, programs. Frozen; in mm, y up."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from itertools import accumulate
from typing import Any

from plotout.geometry.polyline import moved, placing, whole_length
from plotout.geometry.strokes import (
    FloatArray,
    NotchKind,
    Stroke,
    all_moved,
    packed,
    points_in,
    unpacked,
)
from plotout.machine import AUTOMATIC, Machine, Tool
from plotout.tongue import PLAIN, Tongue


@dataclass(frozen=True, slots=True)
class GradeMark:
    """A grade point of a card: its place, mm, and its rule's number. within: it is no corner."""

    at: tuple[float, float]
    rule: int
    within: bool = False


@dataclass(frozen=True, slots=True)
class NotchMark:
    """A notch of a card, cut or drawn: its mouth on the cutting line, mm; its depth, mm.

    angle: from its mouth to its foot, degrees counter-clockwise.
    """

    at: tuple[float, float]
    angle: float
    depth: float
    kind: NotchKind


@dataclass(frozen=True, slots=True, eq=False)
class Card:
    """A card of the set, as it hangs (y up), in mm.

    id: unique in the set, stable, fit for a file name. number, of: "card 3 of 14".
    outline: the cutting line with its cut notches, closed, counter-clockwise, (n, 2).
    strokes: everything on the card in its own coordinates, the outline among them.
    hole: centre of the hanging hole, or None where no place is safe.
    orders: the cutting instructions in words ("cut 1 pair self"). faults: what is wrong with its
    notches. say: the language of its words.
    size: in the set's words, or "". grades: its grade points, if it is of the drawn size.
    For files that hold pieces rather than cards: notches; stitching: closed, (n, 2), of a part of
    a split piece along its join; turns: where its edges meet, (k, 2); fold: the ends of the edge
    on the fold, (2, 2); bias: its grain line shows the bias; one_way: it has one head.
    """

    id: str
    piece: str
    title: str
    number: int
    of: int
    outline: FloatArray
    strokes: tuple[Stroke, ...]
    hole: tuple[float, float] | None = None
    orders: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()
    say: Tongue = PLAIN
    size: str = ""
    grades: tuple[GradeMark, ...] = ()
    notches: tuple[NotchMark, ...] = ()
    stitching: FloatArray | None = None
    fold: FloatArray | None = None
    turns: FloatArray | None = None
    bias: bool = False
    one_way: bool = False

    def __reduce__(self) -> tuple[object, ...]:
        """Return how it passes to another process: in half the time of stroke by stroke."""
        held = {one.name: getattr(self, one.name) for one in fields(self)}
        return _card, (held | {"strokes": packed(self.strokes)},)


def _card(held: dict[str, Any]) -> Card:
    return Card(**(held | {"strokes": unpacked(*held["strokes"])}))


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """A card in its place on a sheet: turned by `angle` degrees about its origin, then shifted."""

    card: Card
    angle: float
    shift: tuple[float, float]

    @property
    def matrix(self) -> FloatArray:
        """The (2, 3) affine map from the card's to the sheet's coordinates."""
        return placing(self.angle, self.shift)

    @property
    def outline(self) -> FloatArray:
        """The cutting line on the sheet, (n, 2), mm."""
        return moved(self.card.outline, self.matrix)

    @property
    def strokes(self) -> tuple[Stroke, ...]:
        """The card's strokes on the sheet."""
        return all_moved(self.card.strokes, self.matrix)


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """A sheet, or a length of roll, with cards laid on it. Its lower left corner is 0, 0.

    width: along x; height: along y; mm. marks: the sheet's own strokes (registration, page marks).
    stock: the user's name for it. outline: an off-cut's shape, closed, else None.
    say: the language of its words. of: the number of sheets; 0 if unknown.
    """

    name: str
    number: int
    width: float
    height: float
    placed: tuple[Placed, ...]
    marks: tuple[Stroke, ...] = ()
    stock: str = ""
    outline: FloatArray | None = None
    say: Tongue = PLAIN
    of: int = 0

    @property
    def strokes(self) -> tuple[Stroke, ...]:
        """All strokes on the sheet, as read: its own marks, then card by card."""
        return self.marks + tuple(s for placed in self.placed for s in placed.strokes)


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """A stretch of motion with a tool down.

    points: (n, 2), mm, in sheet coordinates: the path of the tool's pivot. One point: down and up.
    stroke: the stroke being worked (its work, mark and card). follows: it continues from the end
    of the previous run without lifting. angles: (n,) degrees of a tangential knife, else None.
    feed mm/s; force grams-force; power per cent; depth mm.
    """

    points: FloatArray
    tool: Tool
    stroke: Stroke
    feed: float
    force: float | None = None
    power: float | None = None
    depth: float | None = None
    follows: bool = False
    angles: FloatArray | None = None

    def __reduce__(self) -> tuple[type[Run], tuple[object, ...]]:
        """Return how it passes to another process; see `Stroke`."""
        return Run, (
            self.points, self.tool, self.stroke, self.feed, self.force, self.power, self.depth,
            self.follows, self.angles,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Advance:
    """A roll is advanced by `by` mm before the run of that index is begun."""

    run: int
    by: float


@dataclass(frozen=True, slots=True, eq=False)
class Program:
    """The work of one sheet for one machine. seconds: by the machine's motion model.

    seconds_by_tool: tool name to seconds. advances: of a roll worked in frames; `width` is still
    that of the whole work. stays: the stock stays in place at the end, since the next frame of it
    follows.
    """

    name: str
    machine: Machine
    width: float
    height: float
    runs: tuple[Run, ...]
    seconds: float = 0.0
    seconds_by_tool: Mapping[str, float] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()
    advances: tuple[Advance, ...] = ()
    stays: bool = False

    @property
    def stroke_numbers(self) -> tuple[int, ...]:
        """The numbers, from 1, of the strokes to which the runs belong.

        A stroke of a file is the work from where the tool goes down to where it goes up; these
        numbers are used wherever a stroke is counted or named. An advance that the file commands
        counts as one: a job may break off, and resume, before or after it.
        """
        automatic = self.machine.bed.advance == AUTOMATIC
        begins = Counter(advance.run for advance in self.advances if automatic)
        return tuple(
            accumulate(
                int(not run.follows or index == 0) + begins[index]
                for index, run in enumerate(self.runs)
            )
        )

    @property
    def stroke_labels(self) -> tuple[str, ...]:
        """What the stroke of each run is called: its number in its file.

        Where a roll is advanced by hand each frame is a file, and "2:17" is stroke 17 of frame 2.
        """
        if not self.advances or self.machine.bed.advance == AUTOMATIC:
            return tuple(map(str, self.stroke_numbers))
        labels, first, frame = [], 0, 0
        firsts = [0, *(advance.run for advance in self.advances)]
        for index, number in enumerate(self.stroke_numbers):
            while frame < len(firsts) and index >= firsts[frame]:
                frame, first = frame + 1, number - 1
            labels.append(f"{frame}:{number - first}")
        return tuple(labels)

    @property
    def strokes(self) -> int:
        """The number of strokes."""
        return len(set(self.stroke_numbers))

    @property
    def worked(self) -> float:
        """How far the tools move while they work, every pass counted, mm."""
        return whole_length([run.points for run in self.runs])


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a file without tools says of a line by its layer, group, colour or look; None: nothing.

    works, marks, notches: which it may be; a name that plotout doesn't know stands for itself.
    layer: what its layer is called, in a format with a layer for every mark. card: the card's id.
    place: all of this in words ("layer '4 draw', colour 7").
    """

    place: str
    works: frozenset[str] | None = None
    marks: frozenset[str] | None = None
    notches: frozenset[str] | None = None
    layer: str | None = None
    card: str | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Traced:
    """A stretch with the tool down, as an interpreter reads it back from a file.

    points: (n, 2), mm, sheet coordinates. tool: the machine's number for it, or None if the format
    has no tools. feed mm/s, force, power, depth (mm below the stock's surface) if the format has
    them. follows: it continues from the previous one without lifting. angles: (n,) degrees of a
    tangential knife, if the file turns one. meaning: what the file says that the line is. waits: s
    at its first point, with the tool down.
    """

    points: FloatArray
    tool: int | None = None
    feed: float | None = None
    force: float | None = None
    power: float | None = None
    depth: float | None = None
    follows: bool = False
    angles: FloatArray | None = None
    meaning: Meaning | None = None
    waits: float = 0.0

    def __post_init__(self) -> None:
        """Take points as a list too."""
        object.__setattr__(self, "points", points_in(self.points))


@dataclass(frozen=True, slots=True, eq=False)
class Described:
    """What a file says of a piece besides its strokes, as an interpreter reads it back.

    what: "sew line", "mirror line", "grain line", "turn point" or "notch". points: (n, 2), mm,
    sheet coordinates; a closed line ends where it begins. depth: of a notch, mm; angle: from its
    mouth to its foot, degrees counter-clockwise. kinds: those of notches that it may be.
    """

    what: str
    points: FloatArray
    depth: float = 0.0
    angle: float = 0.0
    kinds: tuple[NotchKind, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Reading:
    """A whole file read back. unknown: what the interpreter did not know, in words.

    ends_safe: the file leaves the tool up and off. ordered: the file has an order of work (a page
    to print has none). travels: (n, 2), mm, places moved to with the tool up. unsafe: those of its
    notes that can do harm: such a file is not sent. described: what the file says of its pieces;
    None for a format that says nothing of them. distinguished: the marks, works and kinds of
    notches for which the format has a place of their own, if its lines have meanings; any other
    may stand where an internal line, drawn work or a slit does.
    """

    traced: tuple[Traced, ...]
    ends_safe: bool
    unknown: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    ordered: bool = True
    travels: FloatArray | None = None
    unsafe: tuple[str, ...] = ()
    described: tuple[Described, ...] | None = None
    distinguished: frozenset[str] = frozenset()
