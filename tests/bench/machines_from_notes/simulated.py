"""A sender and one of the machines on one clock that nobody waits for.

The sender is plotout's own command line in a process of its own, whose clock, naps and port are
asked of the process that holds the machine. So it can be killed at any byte, and a trial takes as
long as it takes to reckon. What is not tried this way is the system's own port: tests/sending does.
"""

from __future__ import annotations

import contextlib
import os
import pty
import signal
import socket
import struct
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from plotout import job, parallel, plugins, sheet_job  # noqa: F401 loaded before forking
from plotout.cli import keys, main, resume_command, send_command  # noqa: F401
from plotout.proof import summary  # noqa: F401
from plotout.sending import greet, inspect, link, marking, run, settings  # noqa: F401

TICK = 0.002  # s
COST = 0.00003  # s that one call takes
STORE = 4096  # bytes that a port takes
MARGIN = 8  # bytes that a machine which stops the line still has room for
XON, XOFF = b"\x11", b"\x13"
_REPLY = struct.Struct("<dIBBB")
for _driver in ("hpgl", "gcode"):
    plugins.interpreter_for(_driver)
STUCK = 20.0  # s of real time without a word from the sender


@dataclass
class Wire:
    """The line: baud; stops: how the machine stops it ("rts-cts", "xon-xoff" or ""); tells: the
    port knows what has not left it yet, and can drop that.
    """

    machine: Any
    baud: int
    stops: str = ""
    tells: bool = True
    now: float = 0.0
    queue: bytes = b""
    into: bytes = b""
    plugged: bool = True
    in_use: bool = False
    stopped: bool = False
    forced: bool = False
    budget: float = 0.0

    def serve(self, seconds: float) -> None:
        """Let time pass."""
        self.now += seconds
        self.budget = min(self.budget + seconds * self.baud / 10.0, max(1.0, TICK * self.baud))
        if self.plugged:
            most = min(int(self.budget), len(self.queue))
            if self.stops == "rts-cts" and not self.forced:
                most = min(most, max(0, self.machine.room - MARGIN))
            if most > 0:
                data, self.queue = self.queue[:most], self.queue[most:]
                self.budget -= most
                self.machine.feed(data)
        self.machine.advance(seconds)
        said, self.machine.out = self.machine.out, b""
        if self.plugged and self.in_use and said:
            if self.stops == "xon-xoff":
                for byte in said:
                    self.stopped = {XOFF[0]: True, XON[0]: False}.get(byte, self.stopped)
                said = said.replace(XON, b"").replace(XOFF, b"")
            self.into += said

    @property
    def stands(self) -> bool:
        """Whether it is seen that the machine has stopped the line; not every port sees its CTS."""
        full = self.stops == "rts-cts" and self.tells and self.machine.room <= MARGIN
        return self.stopped or full

    @property
    def shows_on(self) -> bool:
        """Whether the machine's DTR is up: it is on."""
        return self.plugged and self.machine.awake

    def opened(self) -> bool:
        """Open the port; return whether it is there."""
        if not self.plugged:
            return False
        self.in_use, self.stopped, self.forced, self.into = True, False, False, b""
        if getattr(self.machine, "stopped", False) and self.stops == "xon-xoff":
            self.stopped = True
        self.machine.opened()
        return True

    def unplug(self) -> None:
        """Pull the cable: what is on its way is lost."""
        self.plugged = self.in_use = False
        self.queue = self.into = b""

    def plug_in(self) -> None:
        """Have the port there again."""
        self.plugged = True


class Sender:
    """plotout with these words, on the clock of `wire`. on_tick: called whenever time has passed.

    terminal: its standard input is a terminal of its own.
    """

    def __init__(
        self, words: list[str], wire: Wire, out: Path, jobs: Path, terminal: bool = False
    ) -> None:
        self.wire, self.out = wire, out
        self._ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
        self.master = -1
        if terminal:
            self.pid, self.master = pty.fork()
        else:
            self.pid = os.fork()
        if not self.pid:
            _be_the_sender(words, theirs, self._ours, out, jobs, terminal)
        theirs.close()
        self.code: int | None = None

    def run(self, on_tick: Callable[[], None]) -> int:
        """Serve it until it has ended; return its exit code, minus the signal that ended it."""
        wire = self.wire
        self._ours.settimeout(STUCK)
        while True:
            try:
                asked = self._ours.recv(65536)
            except TimeoutError:
                os.kill(self.pid, signal.SIGKILL)
                asked = b""
            except ConnectionError:  # killed with an answer on its way
                asked = b""
            if not asked:
                break
            answer = b""
            seconds = COST
            match asked[:1]:
                case b"S":
                    seconds = struct.unpack("<d", asked[1:])[0]
                case b"W":
                    room = STORE - len(wire.queue)
                    wire.queue += asked[1 : 1 + room] if wire.plugged else b""
                    answer = struct.pack("<I", min(room, len(asked) - 1))
                case b"D":
                    wire.queue = b"" if wire.tells else wire.queue
                case b"F":
                    wire.forced = asked[1:] == b"1"
                case b"O":
                    answer = bytes([wire.opened()])
                case b"C":
                    wire.in_use = False
            while seconds > 0.0:
                step = min(seconds, TICK)
                wire.serve(step)
                seconds -= step
                on_tick()
            waits = len(wire.queue) if wire.tells else 0
            data, wire.into = wire.into, b""
            with contextlib.suppress(OSError):
                on = wire.tells and wire.shows_on
                told = _REPLY.pack(wire.now, waits, wire.plugged, on, wire.stands)
                self._ours.send(told + answer + data)
        wire.in_use = False
        _, status = os.waitpid(self.pid, 0)
        self._ours.close()
        if self.master >= 0:
            with contextlib.suppress(OSError):
                os.close(self.master)
        return os.waitstatus_to_exitcode(status)

    def signal(self, number: int) -> None:
        """Send it a signal."""
        os.kill(self.pid, number)

    def press(self, key: bytes) -> None:
        """Press a key at its terminal, and give it real time to see that."""
        os.write(self.master, key)
        time.sleep(0.05)

    def close_terminal(self) -> None:
        """Close its terminal's window."""
        os.close(self.master)
        self.master = -1
        time.sleep(0.05)


def _be_the_sender(
    words: list[str], line: socket.socket, other: socket.socket, out: Path, jobs: Path,
    terminal: bool,
) -> None:  # fmt: skip
    code = 70
    try:
        other.close()
        if not terminal:
            os.setpgid(0, 0)
            os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
        file = os.open(out, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.dup2(file, 1)
        os.dup2(file, 2)
        os.environ["PLOTOUT_JOBS"] = str(jobs)
        clock = _Clock(line)
        time.monotonic, time.sleep = clock.monotonic, clock.sleep  # type: ignore[assignment]
        for module in (run, greet, marking):
            module.open_link = lambda port, wired: _SimulatedLink(clock, port, wired)
        if terminal:  # an interactive interpreter's streams, of what they are now
            sys.stdin = open(0, encoding="utf-8", closefd=False)  # noqa: SIM115
        sys.argv = ["plotout", *words]
        try:
            main()
            code = 0
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else int(bool(end.code))
        sys.stdout.flush()
        sys.stderr.flush()
    finally:
        os._exit(code)


class _Clock:
    """The time that the other process says it is."""

    def __init__(self, line: socket.socket) -> None:
        self.line = line
        self.now = 0.0
        self.waits = 0
        self.plugged = True
        self.on = self.stands = False
        self.into = b""

    def ask(self, question: bytes, answered: int = 0) -> bytes:
        self.line.send(question)
        told = self.line.recv(1 << 17)
        if not told:
            os._exit(71)
        self.now, self.waits, *seen = _REPLY.unpack(told[: _REPLY.size])
        self.plugged, self.on, self.stands = map(bool, seen)
        rest = told[_REPLY.size :]
        self.into += rest[answered:]
        return rest[:answered]

    def monotonic(self) -> float:
        return self.now

    def sleep(self, seconds: float) -> None:
        self.ask(b"S" + struct.pack("<d", max(0.0, seconds)))


class _SimulatedLink:
    """See plotout.sending.link.Link."""

    def __init__(self, clock: _Clock, port: str, wired: Any) -> None:
        self._clock, self._port, self._rate = clock, port, wired.baud / 10.0
        self._empty_at, self._was_on, self._urgent = 0.0, False, False
        with link._told(port):
            if not clock.ask(b"O", 1)[0]:
                raise FileNotFoundError(port)

    def _there(self) -> None:
        with link._told(self._port):
            if not self._clock.plugged:
                raise OSError(5, "Input/output error")

    def write(self, data: bytes) -> int:
        self._there()
        if self._clock.stands and not self._urgent:
            return 0
        went = struct.unpack("<I", self._clock.ask(b"W" + data[:4096], 4))[0]
        self._there()
        self._empty_at = max(self._empty_at, self._clock.now) + went / self._rate
        return int(went)

    def read(self) -> bytes:
        self._there()
        self._clock.now += 1e-6
        data, self._clock.into = self._clock.into, b""
        return data

    def waiting(self) -> int:
        left = self._empty_at - self._clock.now
        return max(self._clock.waits, int(left * self._rate + 0.999) if left > 0.0 else 0)

    def fell(self) -> bool:
        fell = self._was_on and not self._clock.on
        self._was_on = self._clock.on
        return fell

    def urge(self, data: bytes) -> None:
        self._clock.ask(b"F1")
        self._urgent = True
        self.write(data)
        self._urgent = False
        while self.waiting():
            self._clock.sleep(0.001)
        self._clock.ask(b"F0")

    def let_go_on(self, drop: bool) -> None:
        if drop:
            self._clock.ask(b"D")
        self._clock.ask(b"F1")
        self._urgent = True

    def close(self) -> None:
        self._clock.ask(b"C")


def stop_by(sender: Sender, kind: str) -> None:
    """Have a sender stopped in one of the ways that a user has, or that befall one."""
    if kind == "q":
        sender.press(b"q")
    elif kind == "close":
        sender.close_terminal()
    else:
        sender.signal(getattr(signal, f"SIG{kind.upper()}"))


def drain(wire: Wire, until: Callable[[], bool], most: float) -> None:
    """Let time pass without a sender."""
    end = wire.now + most
    while not until() and wire.now < end:
        wire.serve(TICK)
