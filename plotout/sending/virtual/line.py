"""The line to a virtual machine: a pseudo-terminal with a speed, and with faults on request."""

from __future__ import annotations

import contextlib
import math
import os
import time
import tty
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from plotout.errors import Place, UserError, nearest
from plotout.virtual_machine import VirtualMachine

FAULTS = ("drop", "reset", "stall", "fill", "garble", "error", "vanish")
FLOWS = ("xon-xoff", "rts-cts")  # flow controls by which it stops the line itself
TICK = 0.001  # s
AWAY = 0.3  # s that a dropped line stays away, or that the line or the machine stands still
LATE = 0.05  # s of the line's bytes that are made up for if this process was late
FIFO = 16  # bytes that still arrive after the machine has stopped the line: the port's own store
_LOST = {"drop": AWAY, "vanish": math.inf}
XON, XOFF = b"\x11", b"\x13"


@dataclass(frozen=True, slots=True)
class Fault:
    """What goes wrong, and after how many bytes received.

    drop: the line is lost and comes back. vanish: it is lost for good. stall: it carries nothing
    for a while. fill: the machine works nothing for a while, and fills up. garble: one byte
    arrives changed. error: the machine has an error. reset: its power fails and comes back.
    """

    what: str
    at_byte: int


def fault_from(text: str) -> Fault:
    """Return the fault of `what@byte`, such as "drop@2000". Raises UserError."""
    what, _, byte = text.partition("@")
    if what not in FAULTS:
        raise UserError(f"there is no fault '{what}'", fix=nearest(what, FAULTS))
    if not byte.isdigit():
        raise UserError(f"'{text}' does not say after how many bytes", fix=f"Write {what}@2000.")
    return Fault(what, int(byte))


@dataclass(slots=True)
class VirtualLine:
    """A pseudo-terminal at `link` that leads to a machine.

    baud: 0 for no limit. flow: "xon-xoff" or "rts-cts" if the machine stops the line when it is
    full, else "". hurry: the machine's speed as a multiple of real time.
    received: bytes. waits: how often the machine had finished all that it held.
    """

    machine: VirtualMachine
    link: Path
    baud: int = 0
    flow: str = ""
    hurry: float = 1.0
    faults: list[Fault] = field(default_factory=list)
    received: int = 0
    waits: int = 0
    _master: int = -1
    _slave: int = -1
    _free_at: float = 0.0
    _budget: float = 0.0
    _busy: bool = False
    _stopped: bool = False
    _slack: int = FIFO
    _stalled_until: float = 0.0
    _out: bytearray = field(default_factory=bytearray)

    def open(self) -> None:
        """Make the pseudo-terminal and the link to it.

        Raises UserError if a file of the user's has that name, or nothing can be made there; a link
        of another run is replaced.
        """
        beside = self.link.parent / f"{self.link.name}.new"
        for name in (self.link, beside):
            if name.exists() and not name.is_symlink():
                raise UserError(
                    "it exists already, and is no port of a virtual machine",
                    fix="Name another --link.",
                    place=Place(name),
                )
        self._master, self._slave = os.openpty()
        tty.setraw(self._slave)
        os.set_blocking(self._master, False)
        try:
            beside.unlink(missing_ok=True)
            beside.symlink_to(os.ttyname(self._slave))
            beside.replace(self.link)
        except OSError as fault:
            self.close()
            raise UserError(
                f"no port can be made there: {fault.strerror}",
                fix="Name a --link in a folder that you may write to.",
                place=Place(self.link),
            ) from None

    def close(self) -> None:
        """Close the line; the machine continues with what it holds."""
        with contextlib.suppress(OSError):
            self.link.unlink(missing_ok=True)
        for descriptor in (self._master, self._slave):
            with contextlib.suppress(OSError):
                os.close(descriptor)
        self._master = self._slave = -1
        self._out.clear()

    def run(self, going: Callable[[], bool]) -> None:
        """Serve the machine while `going()`."""
        if self._master < 0:
            self.open()
        last, last_bytes = time.monotonic(), 0
        back_at = 0.0
        try:
            while going():
                now = time.monotonic()
                self._work(now, now - last)
                if self._master >= 0:
                    rate = self.baud / 10
                    self._budget = min(self._budget + (now - last) * rate, FIFO + rate * LATE)
                    self._give()
                    back_at = now + self._take(now)
                elif now >= back_at:
                    self.open()
                if last_bytes == self.received:
                    time.sleep(TICK)
                last, last_bytes = now, self.received
        finally:
            self.close()

    def _work(self, now: float, passed: float) -> None:
        while now >= self._free_at:
            seconds = self.machine.step()
            if seconds is None:
                break
            self._free_at = max(self._free_at, now - passed) + seconds / self.hurry
        idle = now >= self._free_at and not self.machine.held
        self.waits += idle and self._busy
        self._busy = not idle

    @property
    def idle(self) -> bool:
        """Return whether the machine has done all that it received."""
        return not self._busy and not self.machine.held

    def _take(self, now: float) -> float:
        """Take what was received; return for how many seconds the line is then away."""
        if now < self._stalled_until:
            return 0.0
        most = min(int(self._budget) if self.baud else 4096, self._until_full())
        for fault in self.faults:
            if fault.at_byte > self.received:
                most = min(most, fault.at_byte - self.received)
        data = b""
        if most > 0:
            with contextlib.suppress(BlockingIOError, OSError):
                data = os.read(self._master, most)
        if self.baud:
            self._budget -= len(data)
        if self._stopped:
            self._slack -= len(data)
        self.received += len(data)
        due = [f for f in self.faults if f.at_byte <= self.received]
        self.faults = [f for f in self.faults if f.at_byte > self.received]
        for fault in due:
            data = self._fail(fault, data, now)
        self._hand_over(data, now)
        away = max((_LOST.get(fault.what, 0.0) for fault in due), default=0.0)
        if away:
            self.close()
        return away

    def _hand_over(self, data: bytes, now: float) -> None:
        head = self.machine.head
        head.left = left = max(0.0, self._free_at - now) * self.hurry
        self.machine.receive(data)
        if head.left < left:
            self._free_at = now  # it was halted

    def _until_full(self) -> int:
        """Return how many bytes may come before the machine's stop takes effect."""
        if not self.flow:
            return 4096
        free = self.machine.buffer - len(self.machine.held)
        stop_at = max(2 * FIFO, self.machine.buffer // 4)
        if not self._stopped and free <= stop_at:
            self._stopped, self._slack = True, FIFO
            self._out += XOFF if self.flow == "xon-xoff" else b""
        elif self._stopped and free > self.machine.buffer // 2:
            self._stopped = False
            self._out += XON if self.flow == "xon-xoff" else b""
        if self._stopped:
            return self._slack
        return free - stop_at

    def _fail(self, fault: Fault, data: bytes, now: float) -> bytes:
        if fault.what == "garble" and data:
            return data[:-1] + bytes([data[-1] ^ 0x08])
        if fault.what == "stall":
            self._stalled_until = now + AWAY
        elif fault.what == "fill":
            self._free_at = max(self._free_at, now) + AWAY
        elif fault.what == "error":
            self.machine.stumble()
        elif fault.what == "reset":
            self.machine.head.left = max(0.0, self._free_at - now) * self.hurry
            self.machine.reset()
            self._stopped = False
            self._out.clear()
            self._free_at = now
            return b""
        return data

    def _give(self) -> None:
        answers = self.machine.answers
        while answers:
            self._out += answers.popleft()
        if self._out:
            with contextlib.suppress(BlockingIOError, OSError):
                del self._out[: os.write(self._master, self._out)]
