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
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from plotout import job, parallel, plugins, sheet_job  # noqa: F401 loaded before forking
from plotout.cli import keys, main, resume_command, send_command  # noqa: F401
from plotout.proof import summary  # noqa: F401
from plotout.sending import at_port, greet, inspect, link, marking, ports, settings  # noqa: F401

TICK = 0.002  # s
COST = 0.00003  # s that one call takes
MARGINS = {"rts-cts": 8, "dtr": 80}  # bytes that a machine which stops the line can still take
_REPLY = struct.Struct("<dIBBBB")
for _driver in ("hpgl", "gcode"):
    plugins.interpreter_for(_driver)
STUCK = 20.0  # s of real time without a word from the sender


@dataclass
class Wire:
    """The line: baud; stops: how the machine stops it ("rts-cts", "dtr", "xon-xoff" or ""); tells:
    the port knows what has not left it yet, and can drop that, and the state of its lines.

    sent: bytes that went over the line. late: s by which what the machine says comes late.
    """

    machine: Any
    baud: int
    stops: str = ""
    tells: bool = True
    now: float = 0.0
    queue: bytes = b""
    back: bytes = b""
    into: bytes = b""
    plugged: bool = True
    in_use: bool = False
    forced: bool = False
    budget: float = 0.0
    back_budget: float = 0.0
    sent: int = 0
    late: float = 0.0
    coming: deque[tuple[float, bytes]] = field(default_factory=deque)

    def serve(self, seconds: float) -> None:
        """Let time pass."""
        self.now += seconds
        passes = seconds * self.baud / 10.0
        self.budget += passes
        if self.plugged:
            most = min(int(self.budget), len(self.queue))
            if self.stops == "rts-cts" and not self.forced:
                most = min(most, max(0, self.machine.room - MARGINS[self.stops]))
            if most > 0:
                data, self.queue = self.queue[:most], self.queue[most:]
                self.budget -= most
                self.sent += most
                self.machine.feed(data)
        self.budget = min(self.budget, 1.0)  # time in which nothing went is gone
        self.machine.advance(seconds)
        said, self.machine.out = self.machine.out, b""
        self.back = self.back + said if self.plugged and self.in_use else b""
        self.back_budget = min(self.back_budget + passes, passes + 1.0)
        came = int(min(self.back_budget, len(self.back)))
        if came:
            self.coming.append((self.now + self.late, self.back[:came]))
            self.back = self.back[came:]
            self.back_budget -= came
        while self.coming and self.coming[0][0] <= self.now:
            self.into += self.coming.popleft()[1]

    @property
    def stands(self) -> bool:
        """Whether the machine has stopped the line by CTS or DTR."""
        return self.machine.room <= MARGINS.get(self.stops, -1)

    @property
    def shows_on(self) -> bool:
        """Whether the machine's DTR is up: it is on."""
        return self.plugged and self.machine.awake

    def opened(self) -> bool:
        """Open the port; return whether it is there."""
        if not self.plugged:
            return False
        self.in_use, self.forced, self.into, self.back = True, False, b"", b""
        self.coming.clear()
        self.machine.opened()
        return True

    def unplug(self) -> None:
        """Pull the cable: what is on its way is lost."""
        self.plugged = self.in_use = False
        self.queue = self.into = self.back = b""
        self.coming.clear()

    def plug_in(self) -> None:
        """Have the port there again."""
        self.plugged = True


class Sender:
    """plotout with these words, on the clock of `wire`. on_tick: called whenever time has passed.

    terminal: its standard input is a terminal of its own. silence: the longest time, s, in which it
    wrote nothing.
    """

    def __init__(
        self, words: list[str], wire: Wire, out: Path, jobs: Path, terminal: bool = False
    ) -> None:
        self.wire, self.out = wire, out
        self.silence, self._written, self._wrote_at = 0.0, 0, wire.now
        self._ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
        self.master = -1
        if terminal:
            self.pid, self.master = pty.fork()
        else:
            self.pid = os.fork()
        if not self.pid:
            _be_the_sender(words, theirs, self._ours, out, jobs, terminal, wire.stops)
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
            seconds, until_heard = COST, False
            match asked[:1]:
                case b"S":
                    seconds = struct.unpack("<d", asked[1:])[0]
                case b"N":
                    seconds, until_heard = struct.unpack("<d", asked[1:])[0], True
                case b"W":
                    wire.queue += asked[1:] if wire.plugged else b""
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
                if until_heard and wire.into:
                    break
            waits = len(wire.queue) if wire.tells else 0
            data, wire.into = wire.into, b""
            self._look_for_words()
            with contextlib.suppress(OSError):
                on = wire.tells and wire.shows_on
                told = _REPLY.pack(wire.now, waits, wire.plugged, on, wire.stands, wire.tells)
                self._ours.send(told + answer + data)
        wire.in_use = False
        _, status = os.waitpid(self.pid, 0)
        self._ours.close()
        if self.master >= 0:
            with contextlib.suppress(OSError):
                os.close(self.master)
        return os.waitstatus_to_exitcode(status)

    def _look_for_words(self) -> None:
        written = os.path.getsize(self.out) if self.out.exists() else 0
        if written != self._written:
            self._written, self._wrote_at = written, self.wire.now
        self.silence = max(self.silence, self.wire.now - self._wrote_at)

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
    terminal: bool, stops: str,
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
        clock = _Clock(line, stops)
        time.monotonic, time.sleep = clock.monotonic, clock.sleep  # type: ignore[assignment]
        for module in (at_port, greet, marking):
            module.open_link = lambda port, wired: _open(clock, port, wired)
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

    def __init__(self, line: socket.socket, stops: str) -> None:
        self.line = line
        self.now = 0.0
        self.waits = 0
        self.plugged = True
        self.on = self.stands = self.tells = False
        self.stops = stops
        self.into = b""

    def ask(self, question: bytes, answered: int = 0) -> bytes:
        self.line.send(question)
        told = self.line.recv(1 << 17)
        if not told:
            os._exit(71)
        self.now, self.waits, *seen = _REPLY.unpack(told[: _REPLY.size])
        self.plugged, self.on, self.stands, self.tells = map(bool, seen)
        rest = told[_REPLY.size :]
        self.into += rest[answered:]
        return rest[:answered]

    def monotonic(self) -> float:
        return self.now

    def sleep(self, seconds: float) -> None:
        self.ask(b"S" + struct.pack("<d", max(0.0, seconds)))


class _SimulatedPort:
    """As much of a serial port as plotout uses; see `plotout.sending.link.PortLink`."""

    def __init__(self, clock: _Clock, name: str, wired: Any) -> None:
        self.name, self._clock, self._baud = name, clock, wired.baud
        if not clock.ask(b"O", 1)[0]:
            raise FileNotFoundError(name)

    def _there(self) -> None:
        if not self._clock.plugged:
            raise OSError(5, "Input/output error")

    def write(self, data: bytes) -> int:
        self._there()
        self._clock.ask(b"W" + data)
        self._there()
        return len(data)

    def read(self, _most: int) -> bytes:
        self._there()
        self._clock.now += 1e-6
        data, self._clock.into = self._clock.into, b""
        return data

    @property
    def out_waiting(self) -> int:
        self._there()
        return self._clock.waits

    def _line(self, up: bool) -> bool:
        """Return a line's state, where this port tells it."""
        if not self._clock.tells:
            raise OSError(25, "Inappropriate ioctl for device")
        return up

    @property
    def dsr(self) -> bool:
        stops = self._clock.stops == "dtr"
        return self._line(not self._clock.stands if stops else self._clock.on)

    @property
    def cts(self) -> bool:
        return self._line(not self._clock.stands)

    @property
    def rtscts(self) -> bool:
        return True

    @rtscts.setter
    def rtscts(self, on: bool) -> None:
        self._clock.ask(b"F0" if on else b"F1")

    def reset_output_buffer(self) -> None:
        self._clock.ask(b"D")

    def close(self) -> None:
        self._clock.ask(b"C")


@dataclass(slots=True)
class _SimulatedLink(link.PortLink):
    """The sender's own link; only its naps pass on the other clock."""

    def nap(self, seconds: float) -> None:
        self.port._clock.ask(b"N" + struct.pack("<d", seconds))


def _open(clock: _Clock, name: str, wired: Any) -> link.Link:
    with link.told(name):
        port = _SimulatedPort(clock, name, wired)
    of = ports.port_link(port, wired)
    return _SimulatedLink(port, of.heeds, of.rate, of.ahead)


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
