"""A pseudo-terminal with one of the machines at its other end; it can be unplugged."""

from __future__ import annotations

import contextlib
import os
import select
import tty
from pathlib import Path
from typing import Protocol

MARGIN = 8  # bytes that a machine which stops the line still has room for


class Machine(Protocol):
    """What a port needs of a machine."""

    out: bytes

    @property
    def room(self) -> int: ...

    def feed(self, data: bytes) -> None: ...

    def advance(self, seconds: float) -> None: ...

    def opened(self) -> None: ...


class Port:
    """baud: of the line to the machine, 0 for no limit. holds: the machine stops the line when it
    is full (RTS/CTS, XON/XOFF), which a pseudo-terminal shows by not being read.
    """

    def __init__(self, machine: Machine, link: Path, baud: int = 0, holds: bool = False) -> None:
        self.machine = machine
        self.link = link
        self.holds = holds
        self._rate = baud / 10.0
        self._budget = 0.0
        self._master = -1
        self._in_use = False
        self.plug_in()

    def plug_in(self) -> None:
        """Have the port there."""
        self._master, slave = os.openpty()
        tty.setraw(slave)
        os.set_blocking(self._master, False)
        beside = self.link.with_name(self.link.name + ".new")
        beside.unlink(missing_ok=True)
        beside.symlink_to(os.ttyname(slave))
        beside.replace(self.link)
        os.close(slave)
        self._in_use = False

    def unplug(self) -> None:
        """Pull the cable: what is on its way is lost."""
        self.link.unlink(missing_ok=True)
        if self._master >= 0:
            os.close(self._master)
        self._master = -1
        self.machine.out = b""

    def let_go(self) -> None:
        """Close its end in a process that was forked, or the line would never hang up."""
        if self._master >= 0:
            os.close(self._master)

    def serve(self, seconds: float) -> None:
        """Let time pass for the line and the machine."""
        if self._master >= 0:
            self._look()
            self._take(seconds)
        self.machine.advance(seconds)
        if self.machine.out and self._master >= 0 and self._in_use:
            with contextlib.suppress(OSError):
                went = os.write(self._master, self.machine.out)
                self.machine.out = self.machine.out[went:]
        elif not self._in_use:
            self.machine.out = b""  # nobody hears it

    def _look(self) -> None:
        poll = select.poll()
        poll.register(self._master, select.POLLIN)
        gone = any(event & select.POLLHUP for _, event in poll.poll(0))
        if not gone and not self._in_use:
            self.machine.opened()
            if not getattr(self.machine, "stopped", True):
                self.machine.out = b"\x11"  # a line that is opened is not stopped
        self._in_use = not gone  # what a sender that is gone had handed over still comes

    def _take(self, seconds: float) -> None:
        self._budget = min(self._budget + self._rate * seconds, 64.0 + self._rate * 0.02)
        most = int(self._budget) if self._rate else 4096
        if self.holds:
            most = min(most, self.machine.room - MARGIN)
        if most <= 0:
            return
        with contextlib.suppress(OSError):
            data = os.read(self._master, most)
            self._budget -= len(data)
            self.machine.feed(data)
