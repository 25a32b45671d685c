"""One open port: serial, TCP (raw or RFC 2217), a raw device or a file; see `ports`."""

from __future__ import annotations

import contextlib
import errno
import math
import os
import re
import select
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Protocol

from plotout.errors import MachineError
from plotout.files import is_full

LOOK_EVERY = 0.05  # s between looks at the machine's own line
NAP = 0.001  # s between tries
URGENT = 1.0  # s for a port to take what is urgent
XON, XOFF = b"\x11", b"\x13"
SERIAL_GROUPS = "dialout (Debian, Ubuntu), uucp (Arch) or lock (Fedora)"


class Link(Protocol):
    """What sending needs from a port. Nothing here waits."""

    def write(self, data: bytes) -> int:
        """Hand over what the port takes now; return the number of bytes."""

    def read(self) -> bytes:
        """Return what was received."""

    def waiting(self) -> int:
        """Return how many of the bytes handed over have not left yet."""

    def nap(self, seconds: float) -> None:
        """Wait until something comes in, at most so many s."""

    def fell(self) -> bool:
        """Return whether the line by which the machine shows that it is on (its DTR, our DSR) was
        up and has fallen; False if unknown.
        """

    def held(self) -> bool:
        """Return whether the machine has stopped the line, as far as is known."""

    def urge(self, data: bytes) -> None:
        """Send a few bytes although the machine has stopped the line."""

    def restart(self) -> None:
        """Forget an XOFF, of a machine that has room for everything: its XON was lost."""

    def let_go_on(self, drop: bool) -> None:
        """Restart the line if the machine has stopped it. drop: first discard, if possible, what
        was handed over but has not left.
        """

    def close(self) -> None:
        """Close the port."""


@dataclass(slots=True)
class PortLink:
    """A pyserial port or URL, never waiting.

    heeds: how the machine stops the line: "dsr" by its DTR, which comes in as our DSR, "cts" by its
    RTS, "xoff" by XOFF and XON. That is looked at here: what a port held back in its own queue
    could not be called back. rate: bytes a second of the line: few ports know what has left them,
    and those behind USB or a network don't. ahead: the most bytes with the port at once; 0: any.
    """

    port: Any = field(repr=False)
    heeds: str = ""
    rate: float = math.inf
    ahead: int = 0
    _empty_at: float = 0.0
    _was_on: bool = False
    _stopped: bool = False
    _into: bytes = b""
    _look_at: float = 0.0

    def write(self, data: bytes) -> int:
        """See Link."""
        went = 0
        with told(self.port.name):
            if self.held():
                return 0
            if self.ahead:
                data = data[: max(0, self.ahead - self.waiting())]
                if not data:
                    return 0
            descriptor = _descriptor(self.port)
            if descriptor is None:
                went = int(self.port.write(data) or len(data))
            else:
                with contextlib.suppress(BlockingIOError):
                    went = os.write(descriptor, data)
        self._empty_at = max(self._empty_at, time.monotonic()) + went / self.rate
        return went

    def read(self) -> bytes:
        """See Link."""
        self._look()
        data, self._into = self._into, b""
        return data

    def _look(self) -> None:
        """Take what has come in; XON and XOFF are not for others, where they stop the line."""
        with told(self.port.name):
            data = bytes(self.port.read(65536))
        if self.heeds == "xoff":
            last = max(data.rfind(XON), data.rfind(XOFF))
            self._stopped = data[last : last + 1] == XOFF if last >= 0 else self._stopped
            data = data.replace(XON, b"").replace(XOFF, b"")
        self._into += data

    def held(self) -> bool:
        """See Link."""
        if self.heeds == "xoff":
            self._look()
            return self._stopped
        if self.heeds in ("dsr", "cts"):
            with contextlib.suppress(Exception):  # a pseudo-terminal has no such lines
                return not getattr(self.port, self.heeds)
        return False

    def urge(self, data: bytes) -> None:
        """See Link."""
        heeds, self.heeds = self.heeds, ""
        with contextlib.suppress(Exception):
            self.port.rtscts = False
        try:
            write_whole(self, data, URGENT)
            until = time.monotonic() + URGENT
            while self.waiting() and time.monotonic() < until:
                self.nap(NAP)  # a line that stops again would hold it
        finally:
            self.heeds = heeds
            with contextlib.suppress(Exception):
                self.port.rtscts = heeds == "cts"

    def nap(self, seconds: float) -> None:
        """See Link."""
        descriptor = _descriptor(self.port)
        if descriptor is None:
            time.sleep(seconds)
        elif not self._into:
            with told(self.port.name):
                select.select([descriptor], [], [], seconds)

    def restart(self) -> None:
        """See Link."""
        self._stopped = False

    def waiting(self) -> int:
        """See Link."""
        known = 0
        with contextlib.suppress(Exception):  # a network port doesn't know
            known = int(self.port.out_waiting)
        left = self._empty_at - time.monotonic()
        return max(known, math.ceil(left * self.rate) if left > 0.0 else 0)

    def fell(self) -> bool:
        """See Link. Asked of the system a few times a second, unless that line stops the flow."""
        if self.heeds == "dsr" or time.monotonic() < self._look_at:
            return False
        self._look_at = time.monotonic() + LOOK_EVERY
        try:
            there = bool(self.port.dsr)
        except Exception:  # a pseudo-terminal, or a network port, has no such line
            self._look_at = math.inf
            return False
        fell = self._was_on and not there
        self._was_on = there
        return fell

    def let_go_on(self, drop: bool) -> None:
        """See Link. A stopped line restarts when the port ignores the flow control."""
        with contextlib.suppress(Exception):
            if drop:
                self.port.reset_output_buffer()
        self.heeds, self._stopped = "", False
        with contextlib.suppress(Exception):
            self.port.rtscts = False

    def close(self) -> None:
        """See Link."""
        with contextlib.suppress(Exception):
            self.port.close()


@dataclass(slots=True)
class FileLink:
    """A file or a raw device that only takes bytes. new: a file made for them, which is removed if
    none came.
    """

    path: Path
    handle: Any = field(repr=False)
    new: bool = False

    def write(self, data: bytes) -> int:
        """See Link."""
        with told(str(self.path)):
            return int(self.handle.write(data))

    def read(self) -> bytes:
        """See Link."""
        return b""

    def waiting(self) -> int:
        """See Link."""
        return 0

    def nap(self, seconds: float) -> None:
        """See Link."""
        time.sleep(seconds)

    def fell(self) -> bool:
        """See Link."""
        return False

    def held(self) -> bool:
        """See Link."""
        return False

    def urge(self, data: bytes) -> None:
        """See Link."""
        self.write(data)

    def restart(self) -> None:
        """See Link."""

    def let_go_on(self, drop: bool) -> None:
        """See Link."""

    def close(self) -> None:
        """See Link."""
        with told(str(self.path)):
            self.handle.close()
            if self.new and not self.path.stat().st_size:
                self.path.unlink()


def write_whole(link: Link, data: bytes, patience: float) -> None:
    """Hand over all data. Raises MachineError if the port takes nothing for `patience` s."""
    until = time.monotonic() + patience
    while data:
        data = data[link.write(data) :]
        if data and time.monotonic() > until:
            raise MachineError("the port takes nothing", fix="Check the cable.")
        if data:
            time.sleep(NAP)


def _descriptor(port: Any) -> int | None:
    try:
        return int(port.fileno())
    except Exception:  # a network port of pyserial has none, and raises various errors
        return None


@contextlib.contextmanager
def told(name: str, what: str = "was lost") -> Iterator[None]:
    """Raise a port's faults as MachineError. what: happened to it."""
    try:
        yield
    except OSError as fault:  # pyserial's SerialException is one
        raise _fault(name, fault, what) from fault
    except ValueError as fault:
        raise MachineError(f"port {name}: {fault}") from fault


def _fault(name: str, fault: OSError, what: str) -> MachineError:
    text = str(fault).lower()
    if isinstance(fault, FileNotFoundError) or "no such file" in text:
        return MachineError(
            f"there is no port {name}", fix="Check the cable and the machine's power."
        )
    if isinstance(fault, PermissionError) or "permission" in text:
        return MachineError(
            f"you may not use port {name}",
            fix=f"Join the group that owns it ({SERIAL_GROUPS}), then log in again.",
        )
    if "busy" in text or "lock" in text:
        return MachineError(f"port {name} is busy", fix="Close the other program that has it open.")
    if is_full(fault):
        return MachineError(
            f"can't write to {name}: {fault.strerror}",
            fix="What was written stays. For the rest, where there is room: "
            "plotout resume --port file:PATH",
        )
    why = "" if "readiness" in text or "input/output" in text else f": {fault}"
    if what != "was lost":
        reason = _WHY.get(fault.errno or 0, "") or _WHY.get(_number_in(text), "")
        return MachineError(
            f"port {name} {what}{f': {reason}' if reason else why}",
            fix="Is it the right one, and the machine on? 'plotout ports' lists the ports.",
        )
    return MachineError(
        f"port {name} was lost{why}",
        fix="Check the cable; then start again, or, if the job had begun: plotout resume",
    )


_WHY = {
    errno.ECONNREFUSED: "nothing listens there",
    errno.EHOSTUNREACH: "there is no way to that address",
    errno.ETIMEDOUT: "it does not answer",
    errno.ENOTTY: "it is no serial port",
}


def _number_in(text: str) -> int:
    """Return the system's number of a fault that pyserial has put into words, or 0."""
    found = re.search(r"(?:errno |\()(\d+)\b", text)
    return int(found[1]) if found else 0
