"""A file to be sent, cut into units; mapped, not read, so that its size does not matter."""

from __future__ import annotations

import contextlib
import hashlib
import mmap
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from plotout.errors import Place, UserError
from plotout.wire.language import Language


@dataclass(frozen=True, slots=True)
class CutFile:
    """A file for a machine. starts: byte offset of each unit, and the file's size at the end."""

    path: Path
    language: Language
    data: Any = field(repr=False)
    starts: NDArray[np.int64] = field(repr=False)

    @property
    def units(self) -> int:
        """How many units there are; the last is the file's ending."""
        return len(self.starts) - 1

    def unit(self, nth: int) -> bytes:
        """Return the bytes of one unit."""
        return bytes(self.data[self.starts[nth] : self.starts[nth + 1]])

    def head(self, nth: int) -> bytes:
        """Return what must be sent before unit `nth`: the preamble, or the settings in force."""
        if nth == 0:
            return bytes(self.data[: self.starts[0]])
        return self.language.state(self.data, int(self.starts[nth]))

    def park(self) -> bytes:
        """Return what brings the tool up and off: with Z machines, by the file's own lift."""
        if not (self.language.by_line and self.units > 1):
            return self.language.park
        lift = self.unit(1).splitlines()[0].strip()
        return self.language.park + (lift + b"\n" if b"Z" in lift.upper() else b"")

    def digest(self) -> str:
        """Return the file's SHA-256 in hex."""
        return hashlib.sha256(self.data).hexdigest()


@contextlib.contextmanager
def cut_file(path: Path, language: Language) -> Iterator[CutFile]:
    """Open a file to be sent. Raises UserError when it is missing, empty or holds no work."""
    try:
        file = path.open("rb")
    except OSError as fault:
        raise UserError(f"can't open it: {fault.strerror}", place=Place(path)) from fault
    with file:
        if not path.stat().st_size:
            raise UserError("the file is empty", fix="Make it again.", place=Place(path))
        with mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as data:
            starts = language.unit_starts(data)
            if not len(starts):
                raise UserError(
                    f"there is no work in it that a machine speaking {language.name} could do",
                    fix="Was it made for another machine?",
                    place=Place(path),
                )
            yield CutFile(path, language, data, np.append(starts, len(data)))
