"""What a plugin can offer: one function per subject, which returns a list."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pluggy

from plotout.language import Buffer, Language
from plotout.machine import Machine
from plotout.model import Card, Program, Reading, Sheet
from plotout.pattern.drawing import Reader

if TYPE_CHECKING:
    from plotout.layout.paper.tiles import Tiled
    from plotout.layout.stock.model import PageGrid

hookspec = pluggy.HookspecMarker("plotout")
hookimpl = pluggy.HookimplMarker("plotout")


@dataclass(frozen=True, slots=True)
class Driver:
    """A file format for a machine or for paper. `emit(program, sheet)` returns the file's bytes.

    suffix: of the file, with its dot. check: raises UserError for a profile that it can't serve.
    arcs: it finds arcs in the points it is given, so they are not thinned beforehand.
    advances: it can have a machine advance a roll between frames (`Program.advances`).
    options: the model of a profile's `[options]` for it (`plotout.table`), or None.
    language: the language in which its files are sent, unless a profile's `sending` names another.
    tiles: how a sheet is divided into the pages of its file, which follow a map of them; without
    it, a file is one page, or none.
    as_driven: returns the machine as its files can drive it: how tools are lowered, which speeds
    can be set; changes are listed in its notes. Times are computed for that machine.
    """

    name: str
    suffix: str
    emit: Callable[[Program, Sheet], bytes] = field(repr=False)
    check: Callable[[Machine], None] | None = field(default=None, repr=False)
    arcs: bool = False
    options: type | None = None
    as_driven: Callable[[Machine], Machine] | None = field(default=None, repr=False)
    advances: bool = False
    language: str = ""
    tiles: Callable[[Program, Sheet], Sequence[Tiled]] | None = field(default=None, repr=False)
    grids: Callable[[Machine], Sequence[PageGrid]] | None = field(default=None, repr=False)


@dataclass(frozen=True, slots=True)
class Interpreter:
    """Reads a driver's files back, sharing no code with it. `read(data, machine)` gives a Reading.

    drivers: the names of the drivers whose files it reads. parts: for files of any size, the same
    in parts, in order: how many bytes are read, and a Reading of what they add. What is unknown,
    and how the file ends, stands in the last one.
    """

    name: str
    drivers: tuple[str, ...]
    read: Callable[[bytes, Machine], Reading] = field(repr=False)
    parts: Callable[[Buffer, Machine], Iterator[tuple[int, Reading]]] | None = field(
        default=None, repr=False
    )


@dataclass(frozen=True, slots=True)
class PricksWanted:
    """How to read pictures.

    resolution: dots per inch of scans, None if the files state it. drop, corners: numbers of
    pricks in an earlier table. measured: "1 left - 4 right = 812.5 mm". earlier: a table whose
    corrections are kept. thickness: of strips cut in card, "0.7 mm"; None if it is not given.
    """

    resolution: float | None = None
    drop: tuple[int, ...] = ()
    corners: tuple[int, ...] = ()
    measured: tuple[str, ...] = ()
    earlier: Path | None = None
    thickness: str | None = None


@dataclass(frozen=True, slots=True, eq=False)
class PricksFound:
    """The pricks in pictures. table: a pricks file as written by hand, with further columns.

    pictures: PNG files by the endings of their names. told: lines for the user, the most important
    first. report: the same and more, as plain data.
    """

    table: bytes
    pictures: Mapping[str, bytes] = field(repr=False)
    told: tuple[str, ...]
    report: Mapping[str, Any] = field(repr=False)


@dataclass(frozen=True, slots=True)
class PricksFinder:
    """Finds the pricks of a sheet in pictures of it, taken among strips of coded marks.

    strips(numbers) gives the strips as cards to print, or to draw and cut. find(paths, wanted)
    reads pictures that overlap as one sheet. suffixes: of the pictures.
    """

    name: str
    suffixes: tuple[str, ...]
    strips: Callable[[Sequence[int]], tuple[Card, ...]] = field(repr=False)
    find: Callable[[Sequence[Path], PricksWanted], PricksFound] = field(repr=False)


@hookspec
def plotout_readers() -> Sequence[Reader]:  # type: ignore[empty-body]
    """Readers of drawings."""


@hookspec
def plotout_drivers() -> Sequence[Driver]:  # type: ignore[empty-body]
    """Drivers: file formats to write."""


@hookspec
def plotout_interpreters() -> Sequence[Interpreter]:  # type: ignore[empty-body]
    """Interpreters that read drivers' files back."""


@hookspec
def plotout_languages() -> Sequence[Language]:  # type: ignore[empty-body]
    """Languages for communicating with machines."""


@hookspec
def plotout_machines() -> Sequence[Path]:  # type: ignore[empty-body]
    """Machine profiles: TOML files."""


@hookspec
def plotout_pricks_finders() -> Sequence[PricksFinder]:  # type: ignore[empty-body]
    """Finders of pricks in photographs and scans."""
