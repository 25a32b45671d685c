"""G-code for a controller that only reads lines, as the firmwares of printers do.

It obeys nothing at once: a question waits its turn as a move does. But it numbers and checks what
it reads (`N12 M400*33`), refuses a line that is damaged or out of turn, and says which one it
wants (`Resend: 12`): so it can't lose a line unnoticed, work one twice, or work the rest of
another, and its own count of lines tells whether it was reset.

Source: the public notes on the G-code dialect of such firmwares, from memory: `ok` for every line
(also `ok P15 B3`, `ok N12`), `Resend: n` or `rs n`, `echo:busy: processing`, `start`; M110 sets
the last line's number, M400 is answered when all moves are done, M114 gives the place that the
moves accepted so far lead to, M115 a name, M211 the travel; G4 P counts milliseconds; of several
codes in a line only the first is obeyed.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from plotout import (
    Account,
    Asking,
    Buffer,
    Differences,
    Heard,
    Machine,
    Point,
    Safe,
    Talk,
)
from plotout_gcode import taking_turns, talking
from plotout_gcode.language import Gcode
from plotout_gcode.words import blocks

if TYPE_CHECKING:
    from plotout_gcode.marking import GcodeMarking
    from plotout_gcode.virtual_lines import LineMachine

_SHORT = re.compile(rb"(?mi)^[ \t]*(?:N\d+[ \t]*)?([XYZABCIJRS])[-+. \d]")
_FEED_ALONE = re.compile(rb"(?i)^(?:N\d+ *)?F[ \d.]+$")
_COMMENT = re.compile(rb"\([^)]*\)|;[^\n]*")
_DWELL = re.compile(rb"(\bG0?4\b.*?P) *(\d*\.?\d+)", re.IGNORECASE)
_PLACE = re.compile(
    r"^(?:echo:)?(ok )?(?:c: ?)?x: ?(-?\d+\.?\d*) *y: ?(-?\d+\.?\d*) *z: ?(-?\d+\.?\d*)(?=[ e]|$)"
)
_UNKNOWN = re.compile(r"unknown (?:command|[gm]-?code)[^\"]*(?:\"(.*)\")?")
_REFUSED = re.compile(r"^error:.*(?:line number|checksum)")
_NAMED = "firmware_name:"  # the answer to M115: its versions are no greeting
_HALTED = re.compile(r"halted|kill\(\)")
_NEEDLESS = re.compile(
    r"\d*|(?:(?:G17|G21|G40|G49|G54|G61|G64|G80|G90|G94|M2|M5|M7|M8|M9|M30)\b ?)+"
)
"""What a machine that doesn't know it does anyway, or nobody misses. Digits are the end of a line
whose beginning it threw away with a damaged one: of its checksum, or it would have been refused.
"""


class GcodeLines(Gcode):
    """RS-274/NGC in lines that are numbered and checked."""

    name = "gcode-lines"
    dwells = frozenset({b"P", b"S"})
    flows = ("ok",)
    in_turn = True
    ask = taking_turns.numbered(b"M114", 1)
    ask_kinds = ("place", "again")
    mark = b"M400\nM114\n"
    assumed = b"G21\nG90\n"
    no_line = b""
    turn = b""
    go_on = b""
    after_stop = (
        "This machine can't be stopped at once: it first does all that it has accepted, {} bytes "
        "of lines and usually some 16 moves, with its tool down. Its own stop button or its power "
        "switch is quicker. Before the first stroke it goes with its tool up to two corners of the "
        "work: a move beyond its travel would end there without an error."
    )

    def split(self, data: bytes) -> Iterator[bytes]:
        """See Language. Seconds of a dwell become the milliseconds of such machines, and a feed
        alone, as it is set before resuming, one in a move to nowhere.
        """
        for line in super().split(data):
            if line.strip(b"% \n"):
                whole = b"G1 " + line if _FEED_ALONE.match(line) else line
                yield _DWELL.sub(lambda found: found[1] + _ms(found[2]), whole)

    def counted(self, message: bytes, done: int) -> bytes:
        """See Language: lines have numbers of their own."""
        return message

    def opening(self, done: int, data: Buffer) -> bytes:
        """See Language: it is asked for its place instead."""
        return b""

    def waits(self, message: bytes) -> float:
        """See Language: its dwells count milliseconds by now."""
        return super().waits(message) / 1000.0

    def numbered(self, message: bytes, number: int) -> bytes:
        """See Language; nothing of a line that is only a comment."""
        plain = _COMMENT.sub(b"", message).strip()
        return taking_turns.numbered(plain, number) if plain else b""

    def expect(self, number: int) -> tuple[bytes, ...]:
        """See Language: M110."""
        return taking_turns.expect(number)[::-1]

    def unsafe(self, data: Buffer, passed: Callable[[int], None]) -> Iterator[str]:
        """See Language. A beam burns along travels: such a machine has no laser mode."""
        yield from super().unsafe(data, passed)
        short = _SHORT.search(data)
        if short:
            number = data[: short.start()].count(b"\n") + 1
            yield (
                f"line {number} begins with {short[1].decode()}: a machine that only reads lines "
                "wants a G or an M at the beginning of each"
            )
        lit = by_z = burns = several = False
        for at, words in blocks(data, stretches=True):
            passed(at)
            if not several and sum(letter in (b"G", b"M") for letter, _ in words) > 1:
                several, number = True, data[:at].count(b"\n") + 1
                yield (
                    f"line {number} has several codes: a machine that only "
                    "reads lines obeys the first of them alone; write each in a line of its own"
                )
            codes = {letter + number for letter, number in words}
            letters = {letter for letter, _ in words}
            by_z = by_z or b"Z" in letters
            if codes & {b"M3", b"M4"}:
                lit = True
            if codes & {b"M5", b"M2", b"M30"}:
                lit = False
            burns = burns or (lit and b"G0" in codes and bool(letters & {b"X", b"Y"}))
        if burns and not by_z:
            yield "its beam is on along travels: a machine that only reads lines has no laser mode"

    def travels(self, lift: bytes, places: Sequence[Point]) -> Iterator[bytes]:
        """See Language; a beam is switched off first."""
        yield b"M5\n"
        yield from super().travels(lift, places)

    def rounding_mm(self, step: float) -> float:
        """See Language: places have two decimals."""
        return 0.01

    def hear(self, line: str) -> Heard:
        """Read a place, and what a machine doesn't know; other words can't be a loss: see above."""
        text = line.strip()
        low = text.lower()
        place = _PLACE.match(low)
        if place:
            x, y, z = (float(value) for value in place.groups()[1:])
            with_ok = int(bool(place[1]) or low.endswith("ok"))
            return Heard("place", text, with_ok, (x, y), z, down=z < 0.0)
        unknown = _UNKNOWN.search(low)
        if unknown:
            needless = unknown[1] and _NEEDLESS.fullmatch(unknown[1].upper().strip())
            means = "a code that it does not know"
            return Heard("other", text) if needless else Heard("error", text, means=means)
        if text.startswith("!!") or (low.startswith("error") and _HALTED.search(low)):
            return Heard("error", text, halted=True, means="it does nothing more")
        heard = super().hear(line)
        if heard.kind == "error" and _REFUSED.search(low):  # which one it wants was lost
            return Heard("other", text)
        if heard.kind == "busy" and "paused" in low:
            return replace(heard, kind="other")
        harmless = heard.kind in ("strange", "status") or low.startswith(_NAMED)
        return replace(heard, kind="other") if harmless else heard

    def identify(self, talk: Talk) -> tuple[str, ...]:
        """See Language: M115. Raises MachineError for a machine that doesn't check its lines."""
        return taking_turns.identify(talk)

    def differences(self, talk: Talk, machine: Machine) -> Differences:
        """See Language: M211."""
        return taking_turns.differences(talk, machine)

    def receive_buffer(self, talk: Talk) -> int:
        """See Language: such machines don't report it."""
        return self.buffer

    def account(self, talk: Talk) -> Account:
        """See Language."""
        return taking_turns.account(talk)

    def glance(self, talk: Talk, buffer: int) -> Account | None:
        """See Language; of a machine that rests."""
        account = taking_turns.account(talk)
        return account if account.idle else None

    def is_down(self, talk: Talk, account: Account, lift: bytes) -> bool:
        """See Language: it only reports a height."""
        return account.height is not None and talking.is_below(account.height, lift)

    def initialized(self, talk: Talk) -> bool | None:
        """See Language: by its count of lines."""
        return taking_turns.was_reset(talk)

    def settle(self, talk: Talk) -> bool:
        """See Language: half a line is refused, since it has no checksum."""
        taking_turns.do(talk, b"M5")
        return False

    def forgot(self, talk: Talk) -> bool | None:
        """See Language: it would refuse the next line."""
        return None

    def in_force(self, talk: Talk) -> str:
        """See Language: such machines don't say."""
        return ""

    def zero(self, talk: Talk) -> str:
        """See Language: such machines don't say."""
        return ""

    def make_safe(self, talk: Talk, lift: bytes) -> Safe:
        """See Language."""
        return taking_turns.make_safe(talk, lift)

    def marking(self, talk: Talk, machine: Machine, asking: Asking) -> GcodeMarking:
        """See Language: its own steps are not numbered."""
        from plotout_gcode.marking import GcodeMarking

        return GcodeMarking(talk, machine, asking)

    def virtual(self, buffer: int, speed: float = 0.0) -> LineMachine:
        """See Language."""
        from plotout_gcode.virtual_lines import LineMachine

        machine = LineMachine(buffer)
        machine.head.speed = speed
        return machine


def _ms(seconds: bytes) -> bytes:
    return b"%d" % round(1000.0 * float(seconds))
