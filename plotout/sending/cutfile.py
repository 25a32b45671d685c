"""A file to be sent, divided into units; mapped, not read, so that its size doesn't matter.

What is mapped is a copy that nobody else can open: the system would end a sender, with the tool
down, that reads what was cut off a file meanwhile.
"""

from __future__ import annotations

import contextlib
import hashlib
import itertools
import math
import mmap
import os
import shutil
import tempfile
from array import array
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import IO

import numpy as np
from numpy.typing import NDArray

from plotout.conversation import Point
from plotout.errors import MachineError, Place, UserError
from plotout.files import is_full, open_ordinary
from plotout.language import Language, Stop
from plotout.proof.readback import MOST_BYTES
from plotout.sending.window import Window

CHUNK = 1024 * 1024
LONGEST = 32 * 1024 * 1024  # bytes of a unit: a break in one could not be placed with less memory
_ORIGIN = Stop((0.0, 0.0), False)
_ANYWHERE = Stop((math.nan, math.nan), False)


@dataclass(frozen=True)
class CutFile:
    """A file for a machine. starts: byte offset of each unit, and the file's size at the end.

    strokes: unit n, from 0, holds stroke n + 1. step: the machine's, mm. unit_mm: mm in one of the
    file's units of length. lift: the file's own lift with the modes that it needs, b"" if none is
    needed.
    """

    path: Path
    language: Language
    data: mmap.mmap = field(repr=False)
    starts: NDArray[np.int64] = field(repr=False)
    window: Window = field(repr=False)
    strokes: int
    step: float
    unit_mm: float
    lift: bytes = b""

    def __post_init__(self) -> None:
        between = self.unit(0) + (self.unit(1) if self.units > 1 else b"")
        object.__setattr__(self, "lift", self.language.lift_for(self.head(0), between))

    @property
    def units(self) -> int:
        """Return the number of units."""
        return len(self.starts) - 1

    def unit(self, index: int) -> bytes:
        """Return the bytes of one unit."""
        start, end = int(self.starts[index]), int(self.starts[index + 1])
        self.window.passed(start)
        return self.data[start:end]

    def counts(self, unit: int) -> bool:
        """Return whether the machine is told its count with this unit: the last one, and one with
        which the file passes a multiple of `count_every` bytes.
        """
        every = self.language.count_every
        start, end = int(self.starts[unit]), int(self.starts[unit + 1])
        passes = not every or start // every < end // every or unit == self.units - 1
        return passes or self.language.must_count(self.data[start:end])

    def next_count(self, done: int) -> int:
        """Return the count that follows on that of `done` units; one more than all at the end."""
        later = (unit + 1 for unit in range(done, self.units) if self.counts(unit))
        return next(later, self.units + 1)

    def head(self, index: int) -> bytes:
        """Return what must be sent before unit `index`: the preamble, or the settings in force."""
        if index == 0:
            return self.data[: self.starts[0]]
        to_start = b""
        if index < self.units and not self.language.begins_anywhere(self.unit(index)):
            to_start = self.language.to_start(self.highest_lift, self.place_before(index))
        return self.language.resumed(self.data, int(self.starts[index]), to_start)

    @cached_property
    def highest_lift(self) -> bytes:
        """The lift for travels that are not the file's own: over a clamp it lifts higher.

        The whole file is read for it, which takes seconds if it is large.
        """
        lift = self.language.highest_lift(self.head(0), self.data)
        Window(self.data).passed(len(self.data))
        return lift

    def not_restored(self, index: int) -> tuple[str, ...]:
        """Return words whose effect unit `index` lacks if the job is resumed there."""
        return self.language.not_restored(self.data, int(self.starts[index])) if index else ()

    def place_before(self, index: int) -> Point:
        """Return where the units before one end, file units."""
        if index == 0:
            return 0.0, 0.0
        for back in (1 << power for power in itertools.count()):
            first = max(0, index - back)
            some = self.data[int(self.starts[first]) : int(self.starts[index])]
            places, _ = self.language.reached(some, _ANYWHERE if first else _ORIGIN)
            if len(places) and np.isfinite(places[-1]).all():
                return float(places[-1, 0]), float(places[-1, 1])
            if first == 0:
                break
        return 0.0, 0.0

    @property
    def report_mm(self) -> float:
        """Return the mm of one unit in which the machine reports positions."""
        return self.language.report_mm(self.step)

    @property
    def rounding_mm(self) -> float:
        """Return the mm to which the machine rounds the positions that it reports."""
        return self.language.rounding_mm(self.step)

    def stops(
        self, first: int = 0, end: int | None = None, start: Point = (0.0, 0.0)
    ) -> Iterator[tuple[int, list[Stop]]]:
        """Yield, unit by unit, where its work can come to rest, in the file's units. start: where
        the machine is before the first unit.
        """
        motion = _motion_before(self.language, self.data, self.starts, first)
        last = Stop(self.place_before(first) if first else start, False, motion=motion)
        for unit in range(first, self.units if end is None else end):
            stops = self.language.stops(self.unit(unit), last)
            last = stops[-1] if stops else last
            yield unit, stops

    def digest(self) -> str:
        """Return the file's SHA-256 in hex."""
        return digest_of(self.data)


def digest_of(data: mmap.mmap) -> str:
    """Return the SHA-256 of a mapped file, in hex."""
    sha = hashlib.sha256()
    window = Window(data)
    for at in range(0, len(data), CHUNK):
        sha.update(data[at : at + CHUNK])
        window.passed(at)
    return sha.hexdigest()


@contextlib.contextmanager
def mapped(path: Path, language: Language) -> Iterator[mmap.mmap]:
    """Map a copy of a file to be sent, with no two strokes in one instruction.

    Raises UserError if it is missing, empty or too large, MachineError if there is no room for it.
    """
    with _copied(path) as data:
        changes = language.strokes_apart(data)
        first = next(changes, None)
        if first is None:
            yield data
            return
        with _copy() as copy:
            with _roomy(path, len(data)):
                _write_apart(data, itertools.chain([first], changes), copy)
            with mmap.mmap(copy.fileno(), 0, access=mmap.ACCESS_READ) as changed:
                yield changed


def _write_apart(
    data: mmap.mmap, changes: Iterator[tuple[int, int, bytes]], copy: IO[bytes]
) -> None:
    window, done = Window(data), 0
    for start, end, instead in itertools.chain(changes, [(len(data), len(data), b"")]):
        for at in range(done, start, CHUNK):
            copy.write(data[at : min(at + CHUNK, start)])
        copy.write(instead)
        window.passed(start)
        done = end
    copy.flush()


@contextlib.contextmanager
def _copied(path: Path) -> Iterator[mmap.mmap]:
    with open_ordinary(path, "file") as file, _copy() as copy:
        size = os.fstat(file.fileno()).st_size
        if not size:
            raise UserError("the file is empty", fix="Make it again.", place=Place(path))
        if size > MOST_BYTES:
            raise UserError(
                f"this is more than {MOST_BYTES >> 20} MiB, too large for a machine file",
                fix="Check that it is the right file.",
                place=Place(path),
            )
        with _roomy(path, size):
            shutil.copyfileobj(file, copy, CHUNK)
            copy.flush()
        with mmap.mmap(copy.fileno(), 0, access=mmap.ACCESS_READ) as data:
            yield data


@contextlib.contextmanager
def _roomy(path: Path, size: int) -> Iterator[None]:
    """Raise MachineError if there is no room for a copy of a file."""
    try:
        yield
    except OSError as fault:
        if not is_full(fault):
            raise
        raise MachineError(
            "there is no room for the copy of it that is sent",
            fix=f"Nothing has moved. Make room for {size / 1e6 + 0.5:.0f} MB in "
            f"{tempfile.gettempdir()}.",
            place=Place(path),
        ) from fault


def _copy() -> IO[bytes]:
    """Return a file that nobody else can open. Raises MachineError if there is no folder for it."""
    try:
        return tempfile.TemporaryFile()
    except OSError as fault:
        raise MachineError(
            "there is no folder with room for the copy of it that is sent",
            fix="Nothing has moved. Make room on the disk, or name a folder in TMPDIR.",
        ) from fault


@contextlib.contextmanager
def cut_file(
    path: Path, language: Language, step: float, said: Callable[[str], None] = lambda _text: None
) -> Iterator[CutFile]:
    """Open a file to be sent. step: the machine's, mm. said: see `Window`.

    Raises UserError if it is missing, empty, without work, or has a stroke of more than LONGEST.
    """
    with mapped(path, language) as data:
        window = Window(data, said, f"Dividing {path.name} into strokes")
        starts = array("q")
        for start in language.unit_starts(data):
            starts.append(start)
            window.passed(start)
        if not starts:
            raise UserError(
                f"it contains no work for a machine with the language {language.name}",
                fix="Was it made for another machine?",
                place=Place(path),
            )
        starts.append(len(data))
        offsets = np.frombuffer(starts, np.int64)
        longest = int(np.diff(offsets).argmax())
        if offsets[longest + 1] - offsets[longest] > LONGEST:
            raise UserError(
                f"stroke {longest + 1} takes more than {LONGEST >> 20} MiB: a job could not be "
                "resumed within it",
                fix="Divide it into strokes between which the tool is lifted.",
                place=Place(path),
            )
        unit_mm = language.unit_mm(bytes(data[: starts[0]]), step)
        motion = _motion_before(language, data, offsets, len(starts) - 2)
        strokes = len(starts) - 1 - _ends(language, bytes(data[starts[-2] :]), motion)
        yield CutFile(path, language, data, offsets, Window(data), strokes, step, unit_mm)


def _motion_before(
    language: Language, data: mmap.mmap, starts: NDArray[np.int64], index: int
) -> bytes:
    """Return the motion in force at the beginning of a unit, by what precedes it last."""
    end = int(starts[index])
    begin, back, motion = end, 1, b""
    while begin and not motion:
        begin = int(starts[index - back]) if index > back else 0
        motion, back = language.motion_after(data[begin:end], b""), 2 * back
    return motion


def _ends(language: Language, last: bytes, motion: bytes) -> bool:
    """Return whether a file's last unit is only its ending; without one it holds a stroke too.
    motion: in force before it.
    """
    stops = language.stops(last, Stop((0.0, 0.0), False, motion=motion))
    return language.has_ending and not any(stop.working for stop in stops)
