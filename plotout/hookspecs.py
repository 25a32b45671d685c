"""What a plugin can offer: one function a subject, each giving a list."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pluggy

from plotout.language import Language
from plotout.machine import Machine
from plotout.model import Card, Program, Reading, Sheet
from plotout.pattern.drawing import Reader

if TYPE_CHECKING:
    from plotout.layout.paper.tiles import Tiled

hookspec = pluggy.HookspecMarker("plotout")
hookimpl = pluggy.HookimplMarker("plotout")


@dataclass(frozen=True, slots=True)
class Driver:
    """A file format for a machine or for paper. `emit(program, sheet)` gives the file's bytes.

    suffix: of the file, with its dot. check: raises UserError for a profile that it can't serve.
    arcs: it finds arcs in what it is given, so that points are left for it to find them in.
    advances: it can have a machine advance a roll between frames (`Program.advances`).
    options: the model of a profile's `[options]` for it (`plotout.table`); None: it has none.
    language: what its files are spoken in to a machine, where a profile's `wire` doesn't say.
    tiles: how a sheet is divided into the pages of its file, which follow a map of them; without,
    it is one page, or none.
    as_driven: gives the machine as its files can drive it: how tools are let down, speeds that can
    be said; what is changed is told in its notes. Times are worked out for that machine.
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


@dataclass(frozen=True, slots=True)
class Interpreter:
    """Reads a driver's files back, sharing no code with it. `read(data, machine)` gives a Reading.

    drivers: names of the drivers whose files it reads.
    """

    name: str
    drivers: tuple[str, ...]
    read: Callable[[bytes, Machine], Reading] = field(repr=False)


@dataclass(frozen=True, slots=True)
class PricksWanted:
    """How pictures are to be read.

    resolution: dots to the inch of scans, None where the files say it. drop, corners: numbers of
    pricks, as an earlier table has them. measured: "1 left - 4 right = 812.5 mm". earlier: a table
    whose corrections are kept.
    """

    resolution: float | None = None
    drop: tuple[int, ...] = ()
    corners: tuple[int, ...] = ()
    measured: tuple[str, ...] = ()
    earlier: Path | None = None


@dataclass(frozen=True, slots=True, eq=False)
class PricksFound:
    """What pictures show. table: a pricks file as written by hand, with further columns.

    pictures: PNG files by what their names end in. told: lines for the user, the most important
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
    """Languages that machines are spoken to in."""


@hookspec
def plotout_machines() -> Sequence[Path]:  # type: ignore[empty-body]
    """Machine profiles: TOML files."""


@hookspec
def plotout_pricks_finders() -> Sequence[PricksFinder]:  # type: ignore[empty-body]
    """Finders of pricks in photographs and scans."""
