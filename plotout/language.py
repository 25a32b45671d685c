"""What the sender must know about a machine's language.

A language belongs to a plugin, which offers it by the hook `plotout_languages`. The sender knows no
language by name: it divides files into units, sends them, stops and resumes by this interface.

A unit runs from the lift after one stroke to the end of the next stroke's work, so that a job can
be resumed at any unit: it begins with the tool up, and with an absolute move or where the last one
ended. The last unit is the file's ending.
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from mmap import mmap
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from plotout.conversation import (
    Account,
    Asking,
    Differences,
    Heard,
    Marking,
    Point,
    Safe,
    Talk,
)
from plotout.errors import UserError
from plotout.geometry.strokes import FloatArray
from plotout.virtual_machine import VirtualMachine

if TYPE_CHECKING:
    from plotout.machine import Machine

Buffer = bytes | mmap


@dataclass(frozen=True, slots=True)
class Stop:
    """A place where a unit's work can come to rest, file units.

    working: it is reached with the tool down. line: the message of its unit that leads there.
    centre: of the arc that leads there, if it is one; clockwise: the arc's direction.
    motion: see `Language.motion_after`.
    """

    at: Point
    working: bool
    height: float | None = None
    line: int = 0
    centre: Point | None = None
    clockwise: bool = False
    motion: bytes = b""


class Language(ABC):
    """The language of one family of machines. What has a default here may be left out.

    name: in a profile's `sending` table. flows: names of its possible flow controls, the usual one
    first. buffer: bytes of receive buffer if a profile doesn't say.
    acknowledges: every message is sent whole, and answered "ok" when the machine has accepted it.
    in_turn: its messages are numbered and checked, and its questions wait their turn like all else:
    nothing is answered at once, and only a place ("place") shows what is done.
    ask, ask_kinds: a question that is always answered at once, at rest if its questions wait their
    turn; and the kinds of its answer.
    mark: sent after a unit; answered "ok", "count" or, in turn, by a place when all before it is
    done.
    first_number: of a job's messages, where they are numbered: no machine's count of strokes looks
    like it, nor does that of a machine that was reset.
    otherwise: what to try with a machine that answers, but in other words.
    count_every: a unit is counted where the file passes a multiple of so many bytes; 0: always.
    has_ending: the last unit of a file only lifts the tool and switches off, and is not a stroke.
    """

    name: str
    flows: tuple[str, ...]
    buffer: int
    acknowledges: bool = False
    has_ending: bool = False
    count_every: int = 0
    ask: bytes
    ask_kinds: tuple[str, ...] = ("status",)
    in_turn: bool = False
    first_number: int = 1_000_000
    otherwise: str = ""
    mark: bytes
    no_line: bytes = b""
    """Is refused, also at the end of half a line: a machine that reads what it is sent answers."""
    fillers: tuple[bytes, ...] = ()
    """Messages that do nothing; many machines acknowledge the first, and most the last."""
    forgets: frozenset[int] = frozenset()
    """Numbers of errors that only a machine gives that has lost a setting of the job's."""
    turn: bytes = b""
    """Is answered in words of its own ("turn") when its turn comes, and acknowledged; it does
    nothing.
    """
    go_on: bytes = b""
    """Ends a pause in the program."""
    assumed: bytes = b""
    """Puts in force what a file is read by where it says nothing: an earlier job may have left
    something else in force. Sent before it; in `opening`, if there is one.
    """
    lift: bytes = b""
    """Lifts the tool between units, if one instruction does."""
    after_stop: str = ""
    """What a machine may go on to do when it is stopped, told before it starts; {}: its buffer."""
    room: bytes = b""
    """Asks how many bytes the machine can accept."""

    # --- a file

    def strokes_apart(self, data: Buffer) -> Iterator[tuple[int, int, bytes]]:
        """Give the instructions of a file that hold several strokes: start and end in bytes, and
        what does the same with an instruction or more to each. That is sent in their place.
        """
        return iter(())

    @abstractmethod
    def unit_starts(self, data: Buffer) -> Iterable[int]:
        """Give the byte offsets of the units in order; what precedes the first is the preamble."""

    @abstractmethod
    def stops(self, unit: bytes, start: Stop) -> list[Stop]:
        """Return where a unit's work can come to rest, in order. start: the previous unit's last.

        The last of them is the end of the unit's work.
        """

    def motion_after(self, units: bytes, before: bytes) -> bytes:
        """Return the motion that places without one of their own are reached by after some units,
        if it was `before` them; nothing where a language has none, or they don't say.
        """
        return before

    def reached(self, units: bytes, start: Stop) -> tuple[FloatArray, NDArray[np.bool_]]:
        """Return the places of the `stops` of some units in a row, (n, 2), and whether each is
        reached with the tool down, (n,). start: where the last unit before them ended.

        A language of large files does this faster than by `stops`.
        """
        stops = self.stops(units, start)
        places = np.array([stop.at for stop in stops], dtype=np.float64).reshape(-1, 2)
        return places, np.array([stop.working for stop in stops], dtype=np.bool_)

    def begins_anywhere(self, unit: bytes) -> bool:
        """Return whether a unit moves to its beginning from anywhere, or not at all."""
        places, working = self.reached(unit, Stop((math.nan, math.nan), False))
        return not len(places) or bool(np.isfinite(places[0]).all() and not working[0])

    def ends_up(self, unit: bytes) -> bool:
        """Return whether a unit's own work ends with the tool up: then the next one need not begin
        with a lift.
        """
        return False

    @abstractmethod
    def state(self, data: Buffer, end: int) -> bytes:
        """Return the settings in force at byte `end`, to be sent before resuming there."""

    def resumed(self, data: Buffer, end: int, to_start: bytes) -> bytes:
        """Return the same, with what brings the lifted tool to where the stroke begins."""
        return self.state(data, end) + to_start

    def not_restored(self, data: Buffer, end: int) -> tuple[str, ...]:
        """Return words before byte `end` whose effect isn't known: a resumed job lacks it."""
        return ()

    def chooses(self, message: bytes) -> bytes:
        """Return what in a message chooses a tool that somebody may put away at the panel in a
        pause: it is sent again when the job goes on. Empty if nothing does.
        """
        return b""

    def not_shown(self, unit: bytes) -> str:
        """Return in words what of a unit may be done although its stroke is not begun."""
        return ""

    def split(self, data: bytes) -> Iterator[bytes]:
        """Give `data` as the messages to send."""
        yield data

    def pieces(self, data: bytes, most: int) -> Iterator[bytes]:
        """Give a message in pieces of about `most` bytes: if the line breaks between two of them,
        the machine can't mistake what it holds for something else.
        """
        yield data

    def unit_mm(self, head: bytes, step: float) -> float:
        """Return mm per unit of length in a file. head: its preamble; step: the machine's, mm."""
        return 1.0

    def report_mm(self, step: float) -> float:
        """Return mm per unit of places that the machine reports. step: the machine's, mm."""
        return 1.0

    def rounding_mm(self, step: float) -> float:
        """Return the mm to which reported places are rounded. step: the machine's, mm."""
        return 0.001

    def lasting(self, message: bytes) -> int | None:
        """Return the number that a message puts in force until another does, or a reset: then
        `turn` gives 0. 0: it may put another in force; None: it leaves that alone.
        """
        del message
        return None

    def renews(self, message: bytes) -> bool:
        """Return whether a message sets what a reset clears, so that neither `turn` nor the count
        shows an earlier one any more: they are asked before it.
        """
        del message
        return False

    def initializes(self, message: bytes) -> bool:
        """Return whether a message does what `initialized` tells: not all do that `renews`."""
        return self.renews(message)

    def waits(self, message: bytes) -> float:
        """Return the s for which a message has the machine stand still, and answer nothing more."""
        return 0.0

    def numbered(self, message: bytes, number: int) -> bytes:
        """Return a message with a number and a checksum, for a machine that refuses a message that
        is damaged or out of order, and asks for it again ("again"); empty if there is no such form.
        """
        return b""

    def expect(self, number: int) -> tuple[bytes, ...]:
        """Return messages, to be tried in turn, after one of which the machine expects that number
        next; see `numbered`.
        """
        return ()

    def awaits_hand(self, message: bytes) -> bool:
        """Return whether the machine stops at this message until somebody releases it."""
        return False

    def unsafe(self, data: Buffer, passed: Callable[[int], None]) -> Iterator[str]:
        """Give in words what in a file can do harm, or can't be stopped and resumed: for example
        that it is cut off, or sets its own scale. passed: to be called from time to time with the
        number of bytes read.
        """
        yield from ()

    def doubtful(self, data: Buffer, passed: Callable[[int], None]) -> Iterator[str]:
        """Yield in words what in a file may only be sent if its user vouches for it. passed: see
        `unsafe`.
        """
        return iter(())

    def made_for(self, data: Buffer) -> str:
        """Return the name of the machine in a file's header, "" without one."""
        return ""

    # --- counting

    def opening(self, done: int, data: Buffer) -> bytes:
        """Return a message before all others, or nothing: with it the machine begins to count at
        `done` units, and knows something that it loses at a reset, and that the file, `data`,
        leaves alone.
        """
        return b""

    def opened(self, head: bytes, done: int) -> bytes:
        """Return a preamble with which the machine does the same."""
        return head

    def counted(self, message: bytes, done: int) -> bytes:
        """Return a unit's last message, after which the machine's count is `done` units."""
        return message

    def parted(self, begun: bytes, rest: bytes, done: int) -> tuple[bytes, bytes] | None:
        """Return what ends a message of which `begun` was sent, so that a mark may follow with the
        count of `done` units, and what then does the same as `rest` of it; None where nothing can
        come between them.
        """
        return None if begun else (b"", rest)

    def must_count(self, unit: bytes) -> bool:
        """Return whether a unit is counted wherever it lies: one that may not be done twice."""
        return False

    def same_count(self, value: int, done: int) -> bool:
        """Return whether a machine's count means that `done` units are done."""
        return value == done

    # --- a conversation

    @abstractmethod
    def hear(self, line: str) -> Heard:
        """Return the meaning of one line from the machine."""

    def held(self, talk: Talk, buffer: int) -> int:
        """Return how many bytes the machine holds that it neither works nor discards when told to:
        an instruction that was cut off. buffer: bytes of its receive buffer in its profile.
        """
        return 0

    def identify(self, talk: Talk) -> tuple[str, ...]:
        """Return how the machine, which answered `ask`, identifies itself. Raises MachineError."""
        return ()

    def differences(self, talk: Talk, machine: Machine) -> Differences:
        """Return how the machine's own settings differ from its profile."""
        return Differences()

    def receive_buffer(self, talk: Talk) -> int:
        """Return the bytes of the machine's receive buffer, as it reports them if it can."""
        return self.buffer

    @abstractmethod
    def account(self, talk: Talk) -> Account:
        """Return the machine's state. Nothing that it has accepted is discarded."""

    def glance(self, talk: Talk, buffer: int) -> Account | None:
        """Return the machine's state at once, by a question that is always answered; None without
        an answer. buffer: bytes of its receive buffer in its profile.
        """
        heard = talk.ask(self.ask, self.ask_kinds)
        if heard is None:
            return None
        return Account(heard.idle, at=heard.at, height=heard.height, down=heard.down)

    def stands_at(self, talk: Talk) -> Point | None:
        """Return where a machine at rest believes it is, as a file's coordinates count, in its own
        units; None if it doesn't say.
        """
        return None

    def is_down(self, talk: Talk, account: Account, lift: bytes) -> bool:
        """Return whether a machine at rest, as a `glance` shows it, reports that its tool is down
        or on. lift: see `lift_for`.
        """
        return bool(account.down)

    def settle(self, talk: Talk) -> bool:
        """Discard an incomplete message held by a machine at rest, and switch its tool off; return
        whether it had to be reset for that, and greets.
        """
        return False

    def initialized(self, talk: Talk) -> bool | None:
        """Return whether the machine was switched on or reset since it was last asked this, by what
        it keeps until it is asked; None if it can't say.
        """
        return None

    def forgot(self, talk: Talk) -> bool | None:
        """Return whether the machine has forgotten what a job's beginning has set (see `opening`),
        as it does at a reset; None if it can't say. Asked of a machine that rests within a job.
        """
        return None

    @abstractmethod
    def make_safe(self, talk: Talk, lift: bytes) -> Safe:
        """Stop the machine, discard what it has not begun, and bring its tool up and off.

        lift: see `lift_for`. Reports only what was confirmed. Raises MachineError when the line is
        gone.
        """

    def lift_for(self, head: bytes, units: bytes) -> bytes:
        """Return the file's own lift with the modes that it needs; empty if it needs none.

        head: the file's preamble; units: its first two, with the lift between
        them; or its only one.
        """
        return b""

    def highest_lift(self, head: bytes, data: Buffer) -> bytes:
        """Return the lift as high as a file ever lifts, over whatever lies in its way: for travels
        that are not its own. head: its preamble; data: the whole of it.
        """
        return self.lift_for(head, b"")

    def travels(self, lift: bytes, places: Sequence[Point]) -> Iterator[bytes]:
        """Give messages that lift the tool and move it round these places, file units.

        Raises UserError where a file's units are all that moves the tool.
        """
        raise UserError(
            f"the language '{self.name}' has no move with the tool up: the machine can't trace "
            "round the work, or resume at a stroke that begins without a move of its own",
            fix="Leave out --trace, or resume at an earlier stroke: --back 1.",
        )

    def to_start(self, lift: bytes, place: Point) -> bytes:
        """Return what brings the lifted tool to a place, file units, when a job is resumed at a
        unit that begins without a move of its own.
        """
        return b"".join(self.travels(lift, [place]))

    def in_force(self, talk: Talk) -> str:
        """Return what a machine at rest has in force, and where its zero lies, in words that stay
        the same while nobody changes that. Empty: unknown.
        """
        return ""

    def apart_from(self, in_force: str, message: bytes) -> str:
        """Return what is `in_force` but for the words that a message itself sets anew."""
        return in_force

    def zero(self, talk: Talk) -> str:
        """Return in words where the zero of a resting machine's work lies; empty: unknown."""
        return ""

    def go_back(self, lift: bytes, stop: Stop) -> bytes:
        """Return what has a machine that rests, and that somebody may have moved at its panel, go
        on from a stop of its job: at its place, with the lifted tool, and with its motion in force.
        lift: see `lift_for`. Empty where every unit begins with a move from anywhere.
        """
        return b""

    def block_handshake(self, block: int) -> bytes:
        """Return the message that sets up ENQ (5) and ACK (6) with blocks of that many bytes.

        Raises UserError where there is none.
        """
        raise UserError(
            f"the language '{self.name}' has no ENQ/ACK handshake",
            fix=f"Write a different flow in the profile's sending table: {', '.join(self.flows)}.",
        )

    def marking(self, talk: Talk, machine: Machine, asking: Asking) -> Marking | None:
        """Return a finder of marks with the machine's own tool; None if that is impossible."""
        return None

    def virtual(self, buffer: int, speed: float = 0.0) -> VirtualMachine:
        """Return a virtual machine. buffer: bytes; speed: its units per second; 0: instantly.

        Raises UserError where there is none.
        """
        raise UserError(
            f"there is no virtual machine that speaks '{self.name}'",
            fix="Its plugin offers none. Send to a real machine: add --port PORT.",
        )
