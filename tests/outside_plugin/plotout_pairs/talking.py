"""The language of a machine that takes pairs, and such a machine that is not there.

A line is a stroke: its tool, then x,y pairs in mm; it is answered `ok` when it is drawn. `?` is
answered at once: where the tool is, whether it is up, and whether there is more to do. `!` stops
it: what it has not begun is thrown away, and its tool comes up. `hello` says that it was started.
"""

import re
from array import array
from collections import deque

from plotout import Account, Heard, Language, Safe, Stop
from plotout.kit import Head


class Pairs(Language):
    """Line by line."""

    name = "pairs"
    flows = ("ok",)
    buffer = 256
    acknowledges = True
    ask = b"?"
    mark = b"\n"

    def unit_starts(self, data):
        return array("q", [match.start() for match in re.finditer(rb"(?m)^\d", data)])

    def split(self, data):
        yield from (line + b"\n" for line in data.split(b"\n") if line)

    def stops(self, unit, start):
        points = [tuple(map(float, pair.split(b","))) for pair in unit.split()[1:]]
        return [Stop(point, working=index > 0) for index, point in enumerate(points)]

    def state(self, data, end):
        return b""

    def hear(self, line):
        if line == "hello":
            return Heard("reset", line)
        if line.startswith("at "):
            _, x, y, pen, work = line.split()
            at, idle = (float(x), float(y)), work == "idle"
            return Heard("status", line, at=at, idle=idle, down=pen == "down")
        return Heard("ok" if line == "ok" else "other", line)

    def account(self, talk):
        heard = talk.ask(b"?", ("status",))
        return Account(heard.idle, at=heard.at, down=heard.down) if heard else Account(idle=False)

    def settle(self, talk):
        talk.say(b"!")
        talk.ask(b"?", ("status",))
        return True

    def make_safe(self, talk, lift):
        before = self.account(talk)
        talk.say(b"!")
        after = talk.ask(b"?", ("status",))
        up = None if after is None else not after.down
        return Safe(up, before, "" if up else "Lift its tool by hand.")

    def virtual(self, buffer, speed=0.0):
        return PairsMachine(buffer, speed)


class PairsMachine:
    """It draws a pair at a time."""

    greeting = b"hello\n"
    unit = 1.0

    def __init__(self, buffer, speed):
        self.buffer = buffer
        self.held = bytearray()
        self.answers = deque()
        self.overruns = 0
        self.head = Head(speed)
        self.pairs = deque()
        self.busy = False

    def receive(self, data):
        for byte in data:
            if byte == ord("?"):
                self.answers.append(self.where())
            elif byte == ord("!"):
                self.held.clear()
                self.pairs.clear()
                self.busy = False
                self.head.halt()
                self.head.lift()
            elif len(self.held) >= self.buffer:
                self.overruns += 1
            else:
                self.held.append(byte)

    def where(self):
        x, y = self.head.here()
        idle = not self.busy and b"\n" not in self.held
        pen = "down" if self.head.down else "up"
        return f"at {x:.3f} {y:.3f} {pen} {'idle' if idle else 'busy'}\n".encode()

    def step(self):
        if self.pairs:
            seconds = self.head.go(self.pairs.popleft())
            self.head.lower()
            return seconds
        if self.busy:
            self.busy = False
            self.head.lift()
            self.answers.append(b"ok\n")
            return 0.0
        end = self.held.find(b"\n")
        if end < 0:
            return None
        tool, *pairs = bytes(self.held[:end]).split() or [b"0"]
        del self.held[: end + 1]
        self.head.tool = int(tool)
        self.pairs.extend(tuple(map(float, pair.split(b","))) for pair in pairs)
        self.busy = True
        return 0.0

    def stumble(self):
        self.held.clear()

    def reset(self):
        self.held.clear()
        self.pairs.clear()
        self.busy = False
        self.head.reset()
        self.answers.append(self.greeting)
