"""The last message that a sender reached, kept in mapped memory beside the journal.

Flushing the journal to the disk takes too long for every message. These bytes belong to the
system, not to the process: a killed sender loses none of them. A power failure may, so they count
only while the same system runs.
"""

from __future__ import annotations

import contextlib
import mmap
import struct
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

_FORM = struct.Struct("<36s6q")
_CHECKED = struct.Struct("<L")
SIZE = _FORM.size + _CHECKED.size
_BOOT = Path("/proc/sys/kernel/random/boot_id")


def _boot() -> bytes:
    try:
        return _BOOT.read_bytes().strip().ljust(36, b"\0")[:36]
    except OSError:
        return b"\0" * 36


@dataclass(frozen=True, slots=True)
class Reached:
    """The last message whose sending began, and the last one that was answered.

    unit, line: see `messages.Message`.
    """

    sent_unit: int
    sent_line: int
    got_unit: int
    got_line: int


@dataclass(slots=True)
class Now:
    """The bytes of a job that is being sent."""

    memory: mmap.mmap | bytearray = field(repr=False)
    boot: bytes = field(default_factory=_boot)
    reached: Reached = Reached(0, -1, 0, -1)

    def sent(self, unit: int, line: int) -> None:
        """Note, before it is sent, that the machine may have a message."""
        self._put(Reached(unit, line, self.reached.got_unit, self.reached.got_line))

    def got(self, unit: int, line: int) -> None:
        """Note, after its answer, that the machine has taken a message."""
        self._put(Reached(self.reached.sent_unit, self.reached.sent_line, unit, line))

    def _put(self, reached: Reached) -> None:
        self.reached = reached
        numbers = (reached.sent_unit, reached.sent_line, reached.got_unit, reached.got_line)
        body = _FORM.pack(self.boot, *numbers, 0, 0)
        self.memory[:SIZE] = body + _CHECKED.pack(zlib.crc32(body))


def path_of(journal: Path) -> Path:
    """Return where a journal's bytes are kept."""
    return journal.with_suffix(".now")


@contextlib.contextmanager
def opened(journal: Path) -> Iterator[Now]:
    """Open the bytes of a job. Raises OSError if they can't be kept."""
    with path_of(journal).open("w+b") as file:
        file.write(bytes(SIZE))  # so that a full disk is noticed here
        file.flush()
        with mmap.mmap(file.fileno(), SIZE) as memory:
            yield Now(memory)


@contextlib.contextmanager
def aside() -> Iterator[Now]:
    """Open bytes that are kept nowhere."""
    yield Now(bytearray(SIZE))


def read(journal: Path) -> Reached | None:
    """Return how far the sender got, or None if that isn't certain."""
    try:
        data = path_of(journal).read_bytes()
    except OSError:
        return None
    if len(data) != SIZE:
        return None
    body, (check,) = data[: _FORM.size], _CHECKED.unpack(data[_FORM.size :])
    boot, *numbers = _FORM.unpack(body)
    if zlib.crc32(body) != check or not boot.strip(b"\0") or boot != _boot():
        return None
    return Reached(*numbers[:4])
