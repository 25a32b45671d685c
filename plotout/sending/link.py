"""One open port, of whatever kind: serial, TCP (raw or RFC 2217), a raw device or a file."""

from __future__ import annotations

import contextlib
import os
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Protocol

from plotout.errors import MachineError
from plotout.machine import WireSettings
from plotout.sending.flow_control import FLOWS

DTR_BLOCK = 16  # bytes: less than a plotter that drops DTR still takes (common practice: 80)
SERIAL_GROUPS = "dialout (Debian, Ubuntu), uucp (Arch) or lock (Fedora)"


class Link(Protocol):
    """What sending needs of a port. Nothing here waits."""

    def write(self, data: bytes) -> int:
        """Hand over what the port takes now; return how many bytes that was."""

    def read(self) -> bytes:
        """Return what has come in."""

    def waiting(self) -> int:
        """Return how many bytes that were handed over have not left yet."""

    def discard(self) -> None:
        """Throw away what was handed over but has not left, and let the line go on if it stands."""

    def close(self) -> None:
        """Let go of the port."""


@dataclass(slots=True)
class PortLink:
    """A pyserial port or URL, never waiting.

    heeds_dsr: the machine stops the line by its DTR, which comes in as our DSR; the system does not
    look at that by itself, so little is handed over at a time.
    """

    port: Any = field(repr=False)
    heeds_dsr: bool = False

    def write(self, data: bytes) -> int:
        """See Link."""
        with _told(self.port.name):
            if self.heeds_dsr:
                data = data[:DTR_BLOCK] if self.port.dsr and not self.waiting() else b""
                if not data:
                    return 0
            descriptor = _descriptor(self.port)
            if descriptor is None:
                return int(self.port.write(data) or len(data))
            try:
                return os.write(descriptor, data)
            except BlockingIOError:
                return 0

    def read(self) -> bytes:
        """See Link."""
        with _told(self.port.name):
            return bytes(self.port.read(65536))

    def waiting(self) -> int:
        """See Link."""
        with contextlib.suppress(Exception):  # a network port doesn't know
            return int(self.port.out_waiting)
        return 0

    def discard(self) -> None:
        """See Link. A line that XOFF has stopped goes on when XON/XOFF is switched off."""
        with contextlib.suppress(Exception):
            self.port.reset_output_buffer()
        with contextlib.suppress(Exception):
            if self.port.xonxoff:
                self.port.xonxoff = False

    def close(self) -> None:
        """See Link."""
        with contextlib.suppress(Exception):
            self.port.close()


@dataclass(slots=True)
class FileLink:
    """A file or a raw device that only takes bytes."""

    path: Path
    handle: Any = field(repr=False)

    def write(self, data: bytes) -> int:
        """See Link."""
        with _told(str(self.path)):
            return int(self.handle.write(data))

    def read(self) -> bytes:
        """See Link."""
        return b""

    def waiting(self) -> int:
        """See Link."""
        return 0

    def discard(self) -> None:
        """See Link."""

    def close(self) -> None:
        """See Link."""
        with _told(str(self.path)):
            self.handle.close()


def write_whole(link: Link, data: bytes, patience: float) -> None:
    """Hand over all of it. Raises MachineError for a port that takes nothing for so many s."""
    until = time.monotonic() + patience
    while data:
        data = data[link.write(data) :]
        if data and time.monotonic() > until:
            raise MachineError("the port takes nothing", fix="Look at the cable.")


def open_link(port: str, settings: WireSettings) -> Link:
    """Open a port: a device path or name, `socket://host:port`, `rfc2217://host:port`, `file:PATH`.

    Raises MachineError: no such port, no permission (naming the group to join), busy.
    """
    if port.startswith("file:"):
        path = Path(port.removeprefix("file:"))
        with _told(str(path)):
            return FileLink(path, path.open("wb"))
    import serial

    flow = FLOWS[settings.flow]
    with _told(port):
        opened = serial.serial_for_url(
            port,
            baudrate=settings.baud,
            timeout=0,
            write_timeout=None if "://" in port else 0,
            exclusive=None if "://" in port else True,
            xonxoff=flow.xonxoff,
            rtscts=flow.rtscts,
        )
    return PortLink(opened, heeds_dsr=flow.dsr)


def find_port(port: str, identity: str) -> str:
    """Return the port's name now: another one when the device with that USB identity moved.

    identity: `vendor:product:serial` in hex, as `identity_of` gives it, or "".
    """
    if not identity or Path(port).exists() or "://" in port:
        return port
    from serial.tools.list_ports import comports

    return next((p.device for p in comports() if _identity(p) == identity), port)


def identity_of(port: str) -> str:
    """Return the USB identity of the device behind a port, or ""."""
    if "://" in port or port.startswith("file:"):
        return ""
    from serial.tools.list_ports import comports

    real = os.path.realpath(port)
    return next((_identity(p) for p in comports() if os.path.realpath(p.device) == real), "")


def _identity(port: Any) -> str:
    return f"{port.vid:04x}:{port.pid:04x}:{port.serial_number or ''}" if port.vid else ""


def _descriptor(port: Any) -> int | None:
    try:
        return int(port.fileno())
    except Exception:  # a network port of pyserial has none, and says so in several ways
        return None


@contextlib.contextmanager
def _told(name: str) -> Iterator[None]:
    """Turn a port's faults into words."""
    try:
        yield
    except OSError as fault:  # pyserial's SerialException is one
        raise _fault(name, fault) from fault
    except ValueError as fault:
        raise MachineError(f"port {name}: {fault}") from fault


def _fault(name: str, fault: OSError) -> MachineError:
    text = str(fault).lower()
    if isinstance(fault, FileNotFoundError) or "no such file" in text:
        return MachineError(f"there is no port {name}", fix="Is the cable in and the machine on?")
    if isinstance(fault, PermissionError) or "permission" in text:
        return MachineError(
            f"you may not use port {name}",
            fix=f"Join the group that owns it ({SERIAL_GROUPS}), then log in again.",
        )
    if "busy" in text or "lock" in text:
        return MachineError(f"port {name} is busy", fix="Another program has it open: close that.")
    why = "" if "readiness" in text or "input/output" in text else f": {fault}"
    return MachineError(f"port {name} was lost{why}", fix="Look at the cable; then: plotout resume")
