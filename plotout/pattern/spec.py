"""What a set file says, as it was written: nothing measured yet. Lengths in mm."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from plotout.errors import Place
from plotout.pattern.model import (
    Corner,
    Cut,
    Defaults,
    Derive,
    Drill,
    InternalLine,
    Split,
)

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Ref:
    """A name that must be found elsewhere, and where it was written."""

    name: str
    place: Place = field(compare=False)


@dataclass(frozen=True, slots=True)
class Along:
    """A place along an edge: mm, or a share of its length from 0 to 1."""

    mm: float | None = None
    share: float | None = None

    def on(self, length: float) -> float:
        """Return the distance in mm along an edge of that length."""
        return self.mm if self.mm is not None else (self.share or 0.0) * length


@dataclass(frozen=True, slots=True)
class EdgeSpec:
    """`[piece.edge.NAME]`."""

    edge: Ref
    allowance: tuple[float, float] | None = None
    corner: Corner | None = None
    seam_notches: bool | None = None


@dataclass(frozen=True, slots=True)
class NotchSpec:
    """`[[piece.notch]]`, and `[[seam.notch]]` with no edge of its own.

    style: what it has of its own; the rest is the set's notch.
    """

    at: Along
    place: Place
    edge: Ref | None = None
    from_end: bool = False
    count: int = 1
    style: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class GrainSpec:
    """`grain`: two points, or along an edge at a distance inside it."""

    place: Place
    tail: Point | None = None
    head: Point | None = None
    along: Ref | None = None
    inset: float = 0.0


@dataclass(frozen=True, slots=True)
class AreaSpec:
    """`[[piece.area]]`: a band inside some edges."""

    name: str
    along: tuple[Ref, ...]
    depth: float
    place: Place


@dataclass(frozen=True, slots=True)
class TrueSpec:
    """`[[piece.true]]`: kind is square, straight, equal, parallel, symmetric or on-grain.

    axis: what symmetric edges mirror in: an edge, or two points, mm. None: whatever fits best.
    """

    kind: str
    edges: tuple[Ref, ...]
    put_right: bool
    tolerance: float | None
    place: Place
    axis: Ref | tuple[tuple[float, float], tuple[float, float]] | None = None


@dataclass(frozen=True, slots=True)
class DeriveSpec:
    """`derive`: from a parent piece."""

    parent: Ref
    how: Derive
    along: tuple[Ref, ...] = ()
    width: float = 0.0
    inset: float = 0.0
    smaller: float = 0.0
    ease: float = 0.0
    hem: tuple[Ref, float] | None = None
    marked: bool = False


@dataclass(frozen=True, slots=True)
class PieceSpec:
    """`[[piece]]`. drawing: its file; pick: the rest of `from`, for the reader."""

    name: str
    place: Place
    drawing: Path | None = None
    pick: Mapping[str, Any] = field(default_factory=dict)
    drawing_place: Place | None = None
    derive: DeriveSpec | None = None
    cutting: bool = False
    edges: tuple[Ref, ...] = ()
    edges_place: Place | None = None
    start: Point | None = None
    turn_angle: float | None = None
    fold: Ref | None = None
    whole: bool = False
    grain: GrainSpec | None = None
    cuts: tuple[Cut, ...] = ()
    allowance: tuple[float, float] | None = None
    words: tuple[str, ...] = ()
    edge_rules: tuple[EdgeSpec, ...] = ()
    notches: tuple[NotchSpec, ...] = ()
    drills: tuple[Drill, ...] = ()
    lines: tuple[InternalLine, ...] = ()
    splits: tuple[Split, ...] = ()
    areas: tuple[AreaSpec, ...] = ()
    truings: tuple[TrueSpec, ...] = ()


@dataclass(frozen=True, slots=True)
class SideSpec:
    """One side of a seam: edges in the order walked, each with True where it is walked backwards.

    times: how many of the piece's own make up the whole seam; None: from how it is cut.
    """

    piece: Ref
    edges: tuple[tuple[Ref, bool], ...]
    times: int | None = None


@dataclass(frozen=True, slots=True)
class SeamSpec:
    """`[[seam]]`."""

    name: str
    first: SideSpec
    second: SideSpec
    ease: tuple[float, float]
    notches: tuple[NotchSpec, ...]
    place: Place


@dataclass(frozen=True, slots=True)
class SetFile:
    """A whole set file, read and checked in itself; its drawings are not read yet."""

    file: Path
    name: str
    style: str
    size: str
    date: str
    cautions: tuple[str, ...]
    defaults: Defaults
    pieces: tuple[PieceSpec, ...]
    seams: tuple[SeamSpec, ...]
