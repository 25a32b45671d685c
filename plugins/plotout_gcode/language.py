"""RS-274/NGC (G-code), as far as the sender must know it.

Source: NIST IR 6556 (words, modal groups). `ok`, `error:`, `!`, `~`, `?` and control-X: the public
interface notes of the most used open-source three-axis control, version 1.1.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from plotout import (
    Account,
    Asking,
    Buffer,
    Differences,
    FloatArray,
    Heard,
    Language,
    Machine,
    Point,
    Safe,
    Stop,
    Talk,
)
from plotout_gcode import resuming, stopping, taking_turns, talking
from plotout_gcode.arcs import centre_of
from plotout_gcode.hearing import hear
from plotout_gcode.kept import apart_from, in_force, zero
from plotout_gcode.reach import STRETCH, places
from plotout_gcode.settings import differences, receive_buffer
from plotout_gcode.status import work_place
from plotout_gcode.unplaced import unplaced
from plotout_gcode.unsafe import too_long, unsafe
from plotout_gcode.words import (
    Going,
    blocks,
    has_heights,
    heights,
    is_by_z,
    is_out,
    last_motion,
    lifts,
    motion_of,
    words_of,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from plotout_gcode.marking import GcodeMarking
    from plotout_gcode.virtual import GcodeMachine

_MACHINE = re.compile(rb"(?m)^\(machine ([^()\n]+)\)")
_SPEED = re.compile(rb"(?i)S|M *0*5")
_SPINDLE = re.compile(rb"(?i)S *[\d.]|M *0*[34](?!\d)")
_DWELL = re.compile(rb"(?i)\bG0?4\b[^\n(;]*P *(\d{1,9}(?:\.\d*)?)")
_NUMBER = re.compile(rb"(?i)N *\d+[ \t]*")
_CODE = re.compile(rb"^[^(;$]+")
_OURS = re.compile(rb"^N\d+ ?")
_OBEYED = bytes(n for n in range(256) if n in b"!?~" or n > 126 or (n < 32 and n not in b"\t\r\n"))
"""What a control obeys at once wherever it stands, in a comment too: `!`, `?`, `~`, control-X and
bytes from 128 on (the interface notes).
"""
_HARMLESS = bytes.maketrans(_OBEYED + b"\t", b"." * len(_OBEYED) + b" ")
"""A tab says no more than a space (NIST IR 6556, 3.3), but not every firmware takes it for one."""
MM_PER_INCH = 25.4


class Gcode(Language):
    """RS-274/NGC sent line by line. A dwell of no length is answered when all motion is done.

    The count of units done is a line number (N) on each unit's last line; controls that report
    line numbers (`Ln:` in their status, common practice) give it back.
    """

    name = "gcode"
    dwells = frozenset({b"P"})
    """Letters by which G4 says how long."""
    flows: tuple[str, ...] = ("ok", "xon-xoff", "rts-cts", "dtr", "paced")
    buffer = 128
    acknowledges = True
    has_ending = True
    ask = b"?"
    mark = b"G4 P0\n"
    assumed = b"G17 G21 G90 G94\n"
    no_line = talking.NO_LINE
    turn = b"$G\n"
    fillers = (b"\n", b"G40\n")  # no path compensation: never is any in force
    forgets = frozenset({22})  # no feed is in force
    go_on = b"~"
    otherwise = (
        'If it only reads lines, as firmwares of printers do, write language = "gcode-lines" '
        "under [sending]."
    )

    def split(self, data: bytes) -> Iterator[bytes]:
        """See Language: line by line, without what would be obeyed before its turn, without `%`,
        which marks the ends of a file, and without the file's own numbers: the machine would report
        them for our count.
        """
        for line in data.splitlines():
            plain = line.strip(b" \t\x00\x1a")
            if b"N" in plain or b"n" in plain:
                plain = _CODE.sub(lambda code: _NUMBER.sub(b"", code[0]), plain)
            if plain.strip(b"%"):
                yield plain.translate(_HARMLESS) + b"\n"

    def counted(self, message: bytes, done: int) -> bytes:
        """See Language."""
        return b"N%d " % done + message if message[:1].isalpha() else message

    def lasting(self, message: bytes) -> int | None:
        """See Language: the spindle's speed. M5 may set it to nothing."""
        if not _SPEED.search(message):
            return None
        words = words_of(message)
        stops = 0 if (b"M", b"5") in words else None
        return next((int(float(number)) for letter, number in words if letter == b"S"), stops)

    def renews(self, message: bytes) -> bool:
        """See Language: the feed."""
        return b"F" in message.upper() and any(letter == b"F" for letter, _ in words_of(message))

    def waits(self, message: bytes) -> float:
        """See Language: G4 P, s."""
        found = _DWELL.search(message)
        return float(found[1]) if found else 0.0

    def numbered(self, message: bytes, number: int) -> bytes:
        """See Language: in place of our own count; the checksum is the XOR of what precedes `*`."""
        return taking_turns.numbered(_OURS.sub(b"", message.strip()), number)

    def expect(self, number: int) -> tuple[bytes, ...]:
        """See Language: M110."""
        return taking_turns.expect(number)

    def awaits_hand(self, message: bytes) -> bool:
        """See Language: M0, a stop in the program."""
        return any(word == (b"M", b"0") for _, words in blocks(message) for word in words)

    def opening(self, done: int, data: Buffer) -> bytes:
        """See Language. First, so that no number of an earlier job is taken for ours. A machine
        that was reset has no feed, nor a speed of its spindle: so it is given one at once, not only
        at its first cut, and a speed if it turns no spindle.
        """
        speed = b"" if _SPINDLE.search(data) else b" S1"
        modes = self.assumed.strip()
        return b"N%d %s G4 P0 F%d%s\n" % (done, modes, talking.FEED, speed)

    def unit_starts(self, data: Buffer) -> Iterator[int]:
        """Begin a unit at the first line that lifts or switches off after work was done; after a
        ramp out of the stock, at the line that follows it.
        """
        worked, ramped, going = True, False, Going(is_by_z(data))
        for at, words in blocks(data, stretches=True):
            works = going.works(words)
            up = going.is_up if going.by_z else lifts(words)
            if worked and (ramped or (up and not works)):
                yield at
                worked = False
            worked, ramped = worked or works, works and going.is_up

    def state(self, data: Buffer, end: int) -> bytes:
        """See Language."""
        return self.resumed(data, end, b"")

    def resumed(self, data: Buffer, end: int, to_start: bytes) -> bytes:
        """See Language: what runs is switched on when the tool is where its work begins."""
        return resuming.resumed(data, end, to_start)

    def not_restored(self, data: Buffer, end: int) -> tuple[str, ...]:
        """See Language."""
        return resuming.not_restored(data, end)

    def stops(self, unit: bytes, start: Stop) -> list[Stop]:
        """Follow X, Y and Z of G0 to G3 in the file's units, in absolute coordinates, line by line
        of what is sent. A tool that is lowered by Z works below its zero, also in its plunge, and
        in a ramp out of the stock.
        """
        return list(self._stops(unit, start, is_by_z(unit)))

    def motion_after(self, units: bytes, before: bytes) -> bytes:
        """See Language: G0 to G3, which hold until the next."""
        return last_motion(units) or before

    def reached(self, units: bytes, start: Stop) -> tuple[FloatArray, NDArray[np.bool_]]:
        """See Language. A line without a motion repeats the last one. A dot is reached at once."""
        last, by_z = start, is_by_z(units)
        beam = Going(by_z)
        found, works = [np.array([start.at])], [np.zeros(1, dtype=np.bool_)]
        for match in STRETCH.finditer(units):
            if match[1]:
                some = places(match[1])
                x, y = some[-1].tolist()
                working = _works(by_z, last.height, across=True)
                last = Stop((x, y), working, last.height, motion=b"G1")
            else:
                if not by_z and beam.burns_dot(words_of(match[0])):
                    found.append(np.array([last.at]))
                    works.append(np.ones(1, dtype=np.bool_))
                stops = list(self._stops(match[0], last, by_z))
                motion = self.motion_after(match[0], last.motion)
                last = stops[-1] if stops else replace(last, motion=motion)
                if not stops:
                    continue
                some = np.array([stop.at for stop in stops])
            found.append(some)
            works.append(np.full(len(some), last.working))
        return np.vstack(found)[1:], np.concatenate(works)[1:]

    def begins_anywhere(self, unit: bytes) -> bool:
        """See Language: one that goes by heights may begin along the stock, or in it."""
        return super().begins_anywhere(unit) and not has_heights(unit)

    def ends_up(self, unit: bytes) -> bool:
        """See Language: by a ramp out of the stock."""
        last = dict(words_of(unit[unit.rstrip().rfind(b"\n") + 1 :]))
        return float(last.get(b"Z", 0.0)) > 0.0 and is_by_z(unit)

    def _stops(self, units: bytes, start: Stop, by_z: bool) -> Iterator[Stop]:
        """Give the stops of some lines. by_z: see `is_by_z`. A dot is a stop of its own, where the
        beam came to rest before: to be there is not to have burnt it.
        """
        (x, y), z = start.at, start.height
        motion = start.motion or b"G0"
        beam, works = Going(by_z), False
        for line, message in enumerate(self.split(units)):
            words = words_of(message)
            values = dict(words)
            if not by_z and beam.burns_dot(words) and not works:
                works = True
                yield Stop((x, y), works, z, line, motion=motion)
            motion = next(filter(None, map(motion_of, words)), motion)
            if not values.keys() & {b"X", b"Y", b"Z"}:
                continue
            begin, before = (x, y), z
            x, y = float(values.get(b"X", x)), float(values.get(b"Y", y))
            z = float(values[b"Z"]) if b"Z" in values else z
            across = b"X" in values or b"Y" in values
            arc = motion in (b"G2", b"G3") and across
            turns = motion == b"G3"
            centre = centre_of(values, begin, (x, y), anticlockwise=turns) if arc else None
            ramps = across and by_z and is_out(before, z)
            works = motion != b"G0" and (ramps or _works(by_z, z, across))
            yield Stop((x, y), works, z, line, centre, motion == b"G2", motion)

    def unsafe(self, data: Buffer, passed: Callable[[int], None]) -> Iterator[str]:
        """See Language."""
        return unsafe(data, passed, self.dwells)

    def doubtful(self, data: Buffer, passed: Callable[[int], None]) -> Iterator[str]:
        """See Language."""
        nowhere = unplaced(data)
        if nowhere is not None:
            line = data[:nowhere].count(b"\n") + 1
            yield (
                f"line {line} works before the file has said where in X and Y: that begins "
                "wherever the tool happens to be, also when it is resumed"
            )
        yield from too_long(data)

    def made_for(self, data: Buffer) -> str:
        """See Language: a comment among the first lines, as plotout writes it."""
        header = _MACHINE.search(data, 0, 2000)
        return header[1].decode("latin-1") if header else ""

    def unit_mm(self, head: bytes, step: float) -> float:
        """See Language: G20 is for inches."""
        codes = {letter + number for _, words in blocks(head) for letter, number in words}
        return MM_PER_INCH if b"G20" in codes else 1.0

    def hear(self, line: str) -> Heard:
        """See Language."""
        return hear(line)

    def identify(self, talk: Talk) -> tuple[str, ...]:
        """See Language: $I."""
        return talking.identify(talk)

    def differences(self, talk: Talk, machine: Machine) -> Differences:
        """See Language: $$, and the room that it reports."""
        return differences(talk, machine, self.buffer)

    def receive_buffer(self, talk: Talk) -> int:
        """See Language."""
        return receive_buffer(talk) or self.buffer

    def account(self, talk: Talk) -> Account:
        """See Language."""
        return talking.account(talk)

    def stands_at(self, talk: Talk) -> Point | None:
        """See Language: in work coordinates, whose zero is only in some of its reports."""
        place = work_place(talk)
        return None if place is None else (place.x, place.y)

    def is_down(self, talk: Talk, account: Account, lift: bytes) -> bool:
        """See Language."""
        return talking.is_down(talk, lift, on=bool(account.down))

    def settle(self, talk: Talk) -> bool:
        """See Language."""
        return talking.settle(talk)

    def forgot(self, talk: Talk) -> bool | None:
        """See Language: it has no feed."""
        return talking.has_no_feed(talk)

    def make_safe(self, talk: Talk, lift: bytes) -> Safe:
        """See Language."""
        return stopping.make_safe(talk, lift)

    def lift_for(self, head: bytes, units: Buffer) -> bytes:
        """See Language: to the greatest Z between the strokes, straight up; or by M5. A halted
        machine has forgotten units and distances.
        """
        inches = b"G20" if self.unit_mm(head, 1.0) != 1.0 else b"G21"
        highest = max(heights(units), key=float, default=None)
        lift = b"M5" if highest is None else b"G0 Z" + highest
        return inches + b"\nG90\n" + lift + b"\n"

    def highest_lift(self, head: bytes, data: Buffer) -> bytes:
        """See Language."""
        return self.lift_for(head, data)

    def travels(self, lift: bytes, places: Sequence[Point]) -> Iterator[bytes]:
        """See Language."""
        yield from self.split(lift)
        yield from (b"G0 X%.5f Y%.5f\n" % place for place in places)

    def in_force(self, talk: Talk) -> str:
        """See Language."""
        return in_force(talk)

    def apart_from(self, in_force: str, message: bytes) -> str:
        """See Language: M5 in the line of M0, for instance."""
        return apart_from(in_force, message)

    def zero(self, talk: Talk) -> str:
        """See Language."""
        return zero(talk)

    def go_back(self, lift: bytes, stop: Stop) -> bytes:
        """See Language. What runs stays on: a beam doesn't burn in G0. A ramp into the stock may
        begin at the height at which it rested.
        """
        up = b"".join(line + b"\n" for line in lift.splitlines() if line != b"M5")
        above = max(0.0, stop.height or 0.0)
        height = b"G0 Z%.5f\n" % above if above else b""
        motion = b"G1\n" if stop.motion == b"G1" else b""
        return up + b"G0 X%.5f Y%.5f\n" % stop.at + height + motion

    def marking(self, talk: Talk, machine: Machine, asking: Asking) -> GcodeMarking:
        """See Language."""
        from plotout_gcode.marking import GcodeMarking

        return GcodeMarking(talk, machine, asking)

    def virtual(self, buffer: int, speed: float = 0.0) -> GcodeMachine:
        """See Language."""
        from plotout_gcode.virtual import GcodeMachine

        machine = GcodeMachine(buffer)
        machine.head.speed = speed
        return machine


def _works(by_z: bool, height: float | None, across: bool) -> bool:
    """Return whether a feed works: in the stock, where heights tell; else across it."""
    return height <= 0.0 if by_z and height is not None else across
