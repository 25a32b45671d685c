"""HP-GL and HP-GL/2, as far as the sender must know them.

Source: HP 7550A Interfacing and Programming Manual (Hewlett-Packard).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING

from plotout import (
    Account,
    Asking,
    Buffer,
    FloatArray,
    Heard,
    Language,
    Machine,
    Point,
    Safe,
    Stop,
    Talk,
)
from plotout_hpgl import encoding, in_force, talking
from plotout_hpgl.decoding import decode, lifts_first, lifts_within
from plotout_hpgl.pieces import INSTRUCTION, NUMBERS, in_pieces, parted
from plotout_hpgl.reach import plain_moves
from plotout_hpgl.unplaced import UNPLACED, is_unplaced
from plotout_hpgl.unsafe import unsafe

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from plotout_hpgl.marking import HpglMarking
    from plotout_hpgl.virtual import HpglMachine

_PLACED = r"\s*([-+]?\d{1,9}(?:\.\d*)?)\s*"
_POSITION = re.compile(rf"^{_PLACED},{_PLACED},\s*\+?0*([01])(?:\.0*)?\s*$")
_TALLY = re.compile(rf"^{','.join([_PLACED] * 4)}$")
_WORDS = re.compile(r"[A-Za-z]{3}")
_ALONE = re.compile(r"^\s*\+?\d{1,9}\s*$")
_LAST_PAIR = re.compile(rb"(?i:PD)(?:([-+\d.,]*),)?([-+\d.]+,[-+\d.]+|);\s*$")
_NUMBER = rb"[\x3f-\x7e]*[\xbf-\xfe]"  # in a PE, base 64
_LAST_MOVE = re.compile(rb"(?i:PE)([^;]*?)([<=]*" + _NUMBER + _NUMBER + rb");\s*$")
_COUNT = re.compile(rb"IP(\d+),0(?:,\d+,\d+)?;")
_SETS_POINTS = re.compile(rb"(?:IN|DF);?|PS[-\d., ]*;?", re.IGNORECASE)
_SPAN = (701, 709)  # from P1 to P2: marks P1's x as our count
_MOST_ERROR = 8
_INITIALIZED = 8  # in the status: since it was last asked (HP 7550A manual, OS; from memory)
_ERRORS = {
    1: "an unknown instruction",
    2: "a wrong number of parameters",
    3: "a parameter out of range",
    5: "an unknown character set",
    6: "a position out of reach",
    7: "a shape too large for its memory",
}  # HP 7550A manual, OE; from memory
ROUND = 30_000  # plotter units are 16 bits in older machines: the count wraps round


class Hpgl(Language):
    """HP-GL and HP-GL/2. `OP` and `OA` are answered in their turn; ESC . B at once.

    The count of units done is left in the scaling point P1 (`IP`), which moves nothing while
    coordinates are plotter units, and is read back by `OP`. P2 follows P1 at the distance that
    `opened` sets; a machine that was reset has another.
    """

    name = "hpgl"
    flows = ("enquiry", "enq-ack", "xon-xoff", "rts-cts", "dtr", "paced")
    buffer = 1024
    has_ending = True
    count_every = 160  # a count and its mark take some 22 bytes
    ask = talking.ROOM
    ask_kinds = ("room",)
    room = talking.ROOM
    mark = b"OE;OP;"
    lift = talking.LIFT
    after_stop = (
        "When it is stopped, a plotter may first finish what it holds, {} bytes at most, with its "
        "tool down. Its own stop key is quicker; then stop the job here, too (q): what the key has "
        "dropped may not be noticed."
    )

    def counted(self, message: bytes, done: int) -> bytes:
        """See Language. The count is left just before the last move, not after it: wherever a
        line is cut off, the count and the position together show whether the unit was finished.
        Where the unit itself ends the count (IN), it is given anew at once, so that a reset shows.
        """
        at = done % ROUND
        if in_force.feeds(message):  # after it, or the count would be lost
            begin = message if message.endswith(b";") else message + b";"
            return begin + b"IP%d,0,%d,%d;" % (at, at + _SPAN[0], _SPAN[1])
        if _sets_points(message):
            message = self.opened(message, done - 1)
        count = b"IP%d,0;" % at
        pairs = _LAST_PAIR.search(message)
        if pairs:
            before = b"PD" + pairs[1] + b";" if pairs[1] else b""
            return message[: pairs.start()] + before + count + b"PD" + pairs[2] + b";"
        encoded = _LAST_MOVE.search(message)
        if encoded and not any(flag in encoded[0] for flag in (b">", b"7")):
            before = b"PE" + encoded[1] + b";" if encoded[1] else b""
            return message[: encoded.start()] + before + count + b"PE" + encoded[2] + b";"
        return message + count

    def parted(self, begun: bytes, rest: bytes, done: int) -> tuple[bytes, bytes] | None:
        """See Language: its own count, sent before its last move, is taken back, and sent again."""
        between, own = parted(begun, rest), _COUNT.findall(begun)
        if between is None or not own:
            return between
        return between[0] + b"IP%d,0;" % (done % ROUND), b"IP%s,0;" % own[-1] + between[1]

    def renews(self, message: bytes) -> bool:
        """See Language: an advance, IN and the like, after which the count is given anew."""
        found = INSTRUCTION.finditer(message) if self.must_count(message) else ()
        return any(_ends_count(match[0]) for match in found)

    def initializes(self, message: bytes) -> bool:
        """See Language: IN. An advance leaves the status as it is."""
        return any(match[0][:2].upper() == b"IN" for match in INSTRUCTION.finditer(message))

    def must_count(self, unit: bytes) -> bool:
        """See Language: an advance of the roll; and what may reset the points."""
        return in_force.feeds(unit) or bool(_SETS_POINTS.search(unit))

    def same_count(self, value: int, done: int) -> bool:
        """See Language: the count wraps round."""
        return value == done % ROUND

    def opened(self, head: bytes, done: int) -> bytes:
        """See Language. As early as possible, just after anything that sets the points itself:
        a reset that loses anything (say, the pen) also loses the span, and so is noticed.
        """
        at = done % ROUND
        begin = b"IP%d,0,%d,%d;" % (at, at + _SPAN[0], _SPAN[1])
        cut = _sets_points(head)
        return head[:cut] + begin + head[cut:]

    def unit_starts(self, data: Buffer) -> Iterator[int]:
        """Begin a unit at the first PU after the pen was down, or at a PE that lifts it first; a
        roll's advance is a unit, and so is one that follows it at once.
        """
        down, fed = True, False  # so that the first PU begins the first unit
        for match in INSTRUCTION.finditer(data):
            word = bytes(match[0][:2]).upper()
            feeds = word in in_force.FEEDS
            if feeds and fed:
                yield match.start()
            fed = feeds or (fed and word not in (b"PU", b"PD", b"PE"))
            if word == b"PE" and lifts_first(bytes(match[0][2:])):
                if down:
                    yield match.start()
                down = True
            elif word == b"PU":
                if down:
                    yield match.start()
                down = False
            elif feeds or word in (b"PD", b"PE"):
                down = True

    def strokes_apart(self, data: Buffer) -> Iterator[tuple[int, int, bytes]]:
        """See Language: PE that holds several strokes."""
        return encoding.apart(data)

    def pieces(self, data: bytes, most: int) -> Iterator[bytes]:
        """See Language: whole instructions; a long list of pairs in pieces of whole pairs. What
        ends the count begins a piece, so that it can be asked before.
        """
        return in_pieces(data, most, _ends_count if self.must_count(data) else _never)

    def state(self, data: Buffer, end: int) -> bytes:
        """See Language."""
        return in_force.state(data, end)

    def not_restored(self, data: Buffer, end: int) -> tuple[str, ...]:
        """See Language."""
        return in_force.not_restored(data, end)

    def chooses(self, message: bytes) -> bytes:
        """See Language: SP, or a pen within PE."""
        return in_force.pen(message)

    def stops(self, unit: bytes, start: Stop) -> list[Stop]:
        """Follow PU, PD, PA, PR and PE."""
        stops: list[Stop] = []
        at, down, relative = start.at, False, False
        for match in INSTRUCTION.finditer(unit):
            text = bytes(match[0])
            word = text[:2].upper()
            relative = word == b"PR" or (relative and word != b"PA")
            if word == b"PE":
                for x, y, pen in decode(text[2:], at):
                    at = (x, y)
                    stops.append(Stop(at, pen))
                continue
            down = word == b"PD" or (down and word != b"PU")
            if word in (b"PU", b"PD", b"PA", b"PR"):
                numbers = [float(n) for n in NUMBERS.findall(text)]
                if word == b"PD" and not numbers:
                    stops.append(Stop(at, True))  # a dot, or the first point of what follows
                for x, y in zip(numbers[::2], numbers[1::2], strict=False):
                    at = (at[0] + x, at[1] + y) if relative else (x, y)
                    stops.append(Stop(at, down))
        return stops

    def reached(self, units: bytes, start: Stop) -> tuple[FloatArray, NDArray[np.bool_]]:
        """See Language."""
        return plain_moves(units) or super().reached(units, start)

    def unsafe(self, data: Buffer, passed: Callable[[int], None]) -> Iterator[str]:
        """See Language."""
        return unsafe(data, passed)

    def unit_mm(self, head: bytes, step: float) -> float:
        """See Language: plotter units."""
        return step

    def report_mm(self, step: float) -> float:
        """See Language: plotter units."""
        return step

    def rounding_mm(self, step: float) -> float:
        """See Language: whole plotter units."""
        return step

    def hear(self, line: str) -> Heard:
        """Read an answer: three numbers are a position; four are P1 and P2. One is an error's
        number (`OE`) up to 8, else free room: senders leave more room than that. Words may be a
        greeting.
        """
        points = _TALLY.match(line)
        if points:
            x, y, far_x, far_y = (round(float(group)) for group in points.groups())
            ours = (far_x - x, far_y - y) == _SPAN
            return Heard("count", line, value=x if ours else -1)
        place = _POSITION.match(line)
        if place:
            at = (float(place[1]), float(place[2]))
            return Heard("place", line, at=at, down=place[3] == "1")
        if _ALONE.match(line):
            number = int(line.strip())
            if 0 < number <= _MOST_ERROR:
                return Heard("error", line.strip(), number, means=_ERRORS.get(number, ""))
            return Heard("room" if number else "other", line, value=number)
        return Heard("strange" if _WORDS.search(line) else "other", line)

    def held(self, talk: Talk, buffer: int) -> int:
        """See Language."""
        return talking.held(talk, buffer)

    def identify(self, talk: Talk) -> tuple[str, ...]:
        """See Language: OI."""
        return talking.identify(talk)

    def receive_buffer(self, talk: Talk) -> int:
        """See Language: ESC . L."""
        return talking.receive_buffer(talk)

    def account(self, talk: Talk) -> Account:
        """See Language: OP and OA."""
        return talking.account(talk)

    def glance(self, talk: Talk, buffer: int) -> Account | None:
        """See Language: ESC . B."""
        return talking.glance(talk, buffer)

    def settle(self, talk: Talk) -> bool:
        """See Language: ESC . K."""
        talk.say(talking.DROP)
        return False

    def stands_at(self, talk: Talk) -> Point | None:
        """See Language: OA, whose answer waits its turn."""
        place = talk.ask(b"OA;", ("place",))
        return None if place is None else place.at

    def is_down(self, talk: Talk, account: Account, lift: bytes) -> bool:
        """See Language: OA, since its room says nothing of its pen."""
        place = talk.ask(b"OA;", ("place",)) if account.down is None else None
        return bool(account.down if place is None else place.down)

    def initialized(self, talk: Talk) -> bool | None:
        """See Language: bit 3 of the status, which OS clears."""
        status = talk.ask(b"OS;", ("room", "error", "other"), 2.0)
        return None if status is None else bool(status.value & _INITIALIZED)

    def forgot(self, talk: Talk) -> bool | None:
        """See Language: the scaling points that hold its count."""
        count = talk.ask(b"OP;", ("count",))
        return None if count is None else count.value < 0

    def make_safe(self, talk: Talk, lift: bytes) -> Safe:
        """See Language."""
        return talking.make_safe(talk, lift)

    def lift_for(self, head: bytes, units: bytes) -> bytes:
        """See Language: puts the pen away only if the file takes one; else nothing would take it
        again.
        """
        words = (match[0][:2].upper() for match in INSTRUCTION.finditer(head + units))
        return talking.LIFT + (talking.AWAY if b"SP" in words else b"")

    def doubtful(self, data: Buffer, passed: Callable[[int], None]) -> Iterator[str]:
        """See Language: strokes that begin nowhere, or within one instruction."""
        if is_unplaced(data):
            yield UNPLACED
        for match in INSTRUCTION.finditer(data):
            passed(match.start())
            if match[0][:2].upper() == b"PE" and lifts_within(bytes(match[0][2:])):
                yield "PE lifts its pen within one instruction: all its strokes are counted as one"
                return

    def not_shown(self, unit: bytes) -> str:
        """See Language: lettering, after which the pen is nobody knows where."""
        words = {match[0][:2].upper() for match in INSTRUCTION.finditer(unit)}
        return "the machine's own lettering (LB)" if b"LB" in words else ""

    def travels(self, lift: bytes, places: Sequence[Point]) -> Iterator[bytes]:
        """See Language."""
        yield b"IN;PA;"
        yield from (b"PU%.0f,%.0f;" % place for place in places)

    def to_start(self, lift: bytes, place: Point) -> bytes:
        """See Language."""
        return b"PU;PA;PU%.0f,%.0f;" % place

    def go_back(self, lift: bytes, stop: Stop) -> bytes:
        """See Language."""
        return self.to_start(lift, stop.at)

    def block_handshake(self, block: int) -> bytes:
        """See Language: ESC . I."""
        return b"\x1b.I%d;5;6:" % block

    def marking(self, talk: Talk, machine: Machine, asking: Asking) -> HpglMarking:
        """See Language."""
        from plotout_hpgl.marking import HpglMarking

        return HpglMarking(talk, machine, asking)

    def virtual(self, buffer: int, speed: float = 0.0) -> HpglMachine:
        """See Language."""
        from plotout_hpgl.virtual import HpglMachine

        machine = HpglMachine(buffer)
        machine.head.speed = speed
        return machine


def _never(_instruction: bytes) -> bool:
    return False


def _ends_count(instruction: bytes) -> bool:
    """Return whether an instruction sets the scaling points itself, or has the count given anew."""
    return bool(_SETS_POINTS.match(instruction)) or in_force.feeds(instruction)


def _sets_points(data: bytes) -> int:
    """Return where the last instruction ends that sets the scaling points; 0 without one."""
    if not _SETS_POINTS.search(data):  # which may also be letters within PE or LB
        return 0
    matches = (match for match in INSTRUCTION.finditer(data) if _SETS_POINTS.match(match[0]))
    return max((match.end() for match in matches), default=0)
