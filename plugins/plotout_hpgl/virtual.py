"""A virtual HP-GL machine.

Source: HP 7550A Interfacing and Programming Manual: instructions end at a semicolon or the next
letter; ESC . B (free room), L (buffer size), E (error), K (drop what is held), I (ENQ/ACK block);
device control is answered at once, `OA`, `OI` and `OE` in their turn. `FR` advances the roll by a
frame as long as `PS` says, and coordinates begin anew (HP-GL/2 Reference Guide, from memory).
"""

from __future__ import annotations

import re
from collections import deque
from dataclasses import dataclass, field

from plotout.kit import Head
from plotout_hpgl.decoding import END, Encoded

_NUMBER = re.compile(rb"[-+]?\d+(?:\.\d*)?")
_PLAIN = re.compile(rb"([A-Za-z]{2}[^;A-Za-z]*)(?:;|(?=[A-Za-z]))")  # the next one ends it, too
_LABEL = re.compile(rb"([Ll][Bb][^\x03]*)\x03")
_PAIR = re.compile(rb"[\s,]*([-+]?\d+(?:\.\d*)?)[\s,]+([-+]?\d+(?:\.\d*)?)(?=[,;\sA-Za-z\x1b])")
_PAIRS_END = re.compile(rb"[\s,]*(;|[A-Za-z])")
_PAIR_BEGUN = re.compile(rb"[\s,]*(?:[-+]?\d*\.?\d*(?:[\s,]+[-+]?\d*\.?\d*)?)?")
_NO_PAIR = re.compile(rb"[^;A-Za-z]*;?")
_KNOWN = frozenset(
    b"IN DF SP VS FS AS PA PR PU PD PE OA OI OE OP IP SC IW LT CT WU PW NR PG CO BP PS RO FR DP DC "
    b"OD OS NP QL TR PC CR EC SS SM VN CA CS SI SL DI LA ST LM MT PT AC IM".split()
) | {b""}


READY = 16  # bit 4 of the status: ready for data
INITIALIZED = 8  # bit 3: by power or IN, until it was told
ENTERED = 4  # bit 2: a point was entered
LOOKS = 2  # questions before the user has found a mark


@dataclass(slots=True)
class Digitised:
    """The place entered by a user (DP, OD, DC and OS of the same manual, from memory)."""

    waiting: bool = False
    entered: tuple[float, float] | None = None
    looks: int = 0

    def begin(self) -> None:
        """DP: allow a place to be entered."""
        self.waiting, self.entered, self.looks = True, None, 0

    def end(self) -> None:
        """DC: end that."""
        self.waiting, self.entered = False, None

    def status(self, head: Head) -> int:
        """OS: the status; after a few questions the user has found the next mark."""
        self.looks += 1
        if self.waiting and self.looks > LOOKS and head.places:
            head.to_next_mark()
            self.waiting, self.entered = False, head.at
        return READY + (ENTERED if self.entered is not None else 0)

    def place(self) -> str:
        """OD: the entered place, which is then no longer new."""
        (x, y), self.entered = self.entered or (0.0, 0.0), None
        return f"{x:.0f},{y:.0f},0"


@dataclass(slots=True)
class HpglMachine:
    """The machine's state. buffer: bytes; held: bytes not yet used.

    frame: length of a frame of the roll; origin: how far the roll has advanced; plotter units.
    """

    buffer: int = 1024
    name: str = "PLOTOUT-VIRTUAL"
    head: Head = field(default_factory=Head)
    held: bytearray = field(default_factory=bytearray)
    answers: deque[bytes] = field(default_factory=deque)
    overruns: int = 0
    error: int = 0
    relative: bool = False
    initialized: bool = False
    points: list[int] = field(default_factory=lambda: [0, 0, 1000, 1000])
    digitised: Digitised = field(default_factory=Digitised)
    frame: float = 0.0
    origin: float = 0.0
    greeting: bytes = b""
    unit: float = 0.025
    _control: bytes = b""
    _rest_of: bytes = b""
    _encoded: Encoded | None = None

    def receive(self, data: bytes) -> None:
        """Receive bytes: obey device control at once, put the rest into the buffer."""
        for byte in data:
            self._take(bytes([byte]))

    def _take(self, byte: bytes) -> None:
        if self._control or byte == b"\x1b":
            self._control += byte
            self._try_control()
        elif byte == b"\x05":
            self.answers.append(b"\x06")
        elif len(self.held) >= self.buffer:
            self.overruns += 1
        else:
            self.held += byte

    def _try_control(self) -> None:
        text = self._control
        if text[1:2] == b"%":
            if text[-1:].isalpha():
                self._control = b""  # into HP-GL/2, where it is already
            return
        if len(text) < 3:
            return
        letter = text[2:3]
        if letter in b"@HIMNPQST" and not text.endswith(b":"):
            return  # its numbers are still to come
        self._control = b""
        if letter == b"B":
            self.answers.append(b"%d\r" % (self.buffer - len(self.held)))
        elif letter == b"L":
            self.answers.append(b"%d\r" % self.buffer)
        elif letter == b"E":
            self.answers.append(b"0\r")
        elif letter == b"K":
            if self.held or self._rest_of or self._encoded is not None:
                self.head.discard()
            self.held.clear()
            self._rest_of, self._encoded = b"", None

    def step(self) -> float | None:
        """Do the next small step that is held. Return its seconds, None if there is none."""
        if self._encoded:
            return self._next_move(self._encoded)
        if self._rest_of:
            return self._next_pair()
        found = self._instruction()
        if found is None:
            return None
        return self._do(found[:2].upper(), found[2:])

    def _instruction(self) -> bytes | None:
        """Take one instruction off the buffer; None if none is complete."""
        while self.held and self.held[:1] in b"; \t\r\n":
            del self.held[:1]
        if len(self.held) < 2:
            return None
        word = bytes(self.held[:2]).upper()
        if not word.isalpha():  # no instruction begins like this: report it and skip it
            self.error = 1
            del self.held[:1]
            return b""
        if word in (b"PU", b"PD", b"PA", b"PR"):  # its pairs are drawn as they arrive
            del self.held[:2]
            self._rest_of = word
            self._begin(word)
            return b""
        if word == b"PE":
            del self.held[:2]
            self._encoded = Encoded(self.head.at[0] - self.origin, self.head.at[1])
            return b""
        found = (_LABEL if word == b"LB" else _PLAIN).match(self.held)
        if found is None:
            if len(self.held) >= self.buffer:  # no end can arrive any more
                self.error = 1
                self.held.clear()
            return None
        text = bytes(found[1])
        del self.held[: found.end()]
        return text

    def _begin(self, word: bytes) -> None:
        if word == b"PU":
            self.head.lift()
        elif word == b"PD":
            self.head.lower()
        else:
            self.relative = word == b"PR"

    def _next_pair(self) -> float | None:
        """Draw the next pair of numbers of a PU, PD, PA or PR, once both are complete."""
        found = _PAIR.match(self.held)
        if found:
            x, y = float(found[1]), float(found[2])
            del self.held[: found.end()]
            at = self.head.at
            there = (at[0] + x, at[1] + y) if self.relative else (self.origin + x, y)
            return self.head.go(there)
        if _PAIRS_END.match(self.held):
            self._rest_of = b""
            return 0.0
        if not _PAIR_BEGUN.fullmatch(self.held):  # what can't become a pair is reported and skipped
            self.error, self._rest_of = 2, b""
            self.held[:] = _NO_PAIR.sub(b"", self.held, count=1)
            return 0.0
        return None

    def _do(self, word: bytes, rest: bytes) -> float:
        if word not in _KNOWN:
            self.error = 1
        elif word in (b"IN", b"DF"):
            self.head.lift()
            self.relative = False
            self.points = [0, 0, 1000, 1000]
            self.initialized = self.initialized or word == b"IN"
        elif word == b"SP":
            self._select(rest)
        elif word == b"PS":
            self.frame = next((float(n) for n in _NUMBER.findall(rest)), 0.0)
        elif word == b"FR":
            self.head.lift()
            self.origin += self.frame
        elif word == b"IP":
            self._scaling_points([int(float(n)) for n in _NUMBER.findall(rest)])
        elif word == b"DP":
            self.digitised.begin()
        elif word == b"DC":
            self.digitised.end()
        elif word in (b"OA", b"OI", b"OE", b"OP", b"OD", b"OS"):
            self.answers.append(self._told(word).encode() + b"\r")
        return 0.0

    def _select(self, rest: bytes) -> None:
        self.head.lift()
        found = _NUMBER.search(rest)
        self.head.tool = int(found[0]) if found else 0
        self.head.holds_tool = self.head.tool > 0

    def _told(self, word: bytes) -> str:
        """Return the answer to an output instruction."""
        if word == b"OA":
            x, y = self.head.at
            return f"{x - self.origin:.0f},{y:.0f},{self.head.down:d}"
        if word == b"OP":
            return ",".join(map(str, self.points))
        if word == b"OI":
            return self.name
        if word == b"OS":
            fresh, self.initialized = self.initialized, False
            return str(self.digitised.status(self.head) + INITIALIZED * fresh)
        if word == b"OD":
            return self.digitised.place()
        error, self.error = self.error, 0
        return str(error)

    def _scaling_points(self, numbers: list[int]) -> None:
        """P1 and P2; P2 keeps its distance where only P1 is given; the defaults where neither."""
        x, y, far_x, far_y = self.points
        if len(numbers) == 2:
            numbers += [numbers[0] + far_x - x, numbers[1] + far_y - y]
        self.points = numbers if len(numbers) == 4 else [0, 0, 1000, 1000]

    def _next_move(self, encoded: Encoded) -> float | None:
        """Draw the next move of a PE, once it is complete."""
        for index, byte in enumerate(self.held):
            if byte == END:
                del self.held[: index + 1]
                self._encoded = None
                return 0.0
            move = encoded.take(byte)
            if move:
                del self.held[: index + 1]
                x, y, down = move
                if down:
                    self.head.lower()
                else:
                    self.head.lift()
                return self.head.go((self.origin + x, y))
        self.held.clear()
        return None

    def stumble(self) -> None:
        """Report a parameter out of range."""
        self.error = 3

    def reset(self) -> None:
        """Switch off and on."""
        self.held.clear()
        self.answers.clear()
        self.head.reset()
        self.head.holds_tool = False  # until the next SP
        self._control = self._rest_of = b""
        self._encoded = None
        self.points = [0, 0, 1000, 1000]
        self.initialized = True
        self.relative = False
