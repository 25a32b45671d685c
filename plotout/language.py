"""What the sender must know of a machine's language, and of a virtual machine that speaks it.

A language belongs to a plugin, which offers it by the hook `plotout_languages`. The sender knows no
language by name: it cuts files into units, sends them, stops and resumes through what is here.

A unit runs from the lift after one stroke to the end of the next stroke's work, so that a job can
go on at any unit: it begins with the tool up and an absolute move. The last unit is the file's
ending.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from array import array
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, field
from mmap import mmap
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections import deque

    from plotout.machine import Machine

Buffer = bytes | mmap
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Heard:
    """One thing that a machine said.

    kind: "ok" (it took a message), "room" (free bytes), "place" (where the tool is, when all before
    the question is done), "count" (units done, when all before the question is done), "status"
    (where it is and whether it moves, at once), "error", "again" (it wants something sent anew),
    "busy", "locked", "reset", "name", "setting" or "other".
    value: free bytes, units done (-1: not ours), or an error's number. at: where it is, as it
    reports; height: the same, where there is a third axis. idle: it stands and has nothing to do.
    halted: it stands. down: whether the tool is down, None where it isn't said. means: an error's
    number in words.
    """

    kind: str
    text: str = ""
    value: int = 0
    at: Point | None = None
    height: float | None = None
    idle: bool = False
    halted: bool = False
    down: bool | None = None
    means: str = ""


@dataclass(frozen=True, slots=True)
class Stop:
    """A place where a unit's work can come to rest, file units.

    working: it is reached with the tool down. line: which message of its unit leads there.
    centre: of the arc, if it is one, that leads there; clockwise: how that runs.
    """

    at: Point
    working: bool
    height: float | None = None
    line: int = 0
    centre: Point | None = None
    clockwise: bool = False


@dataclass(frozen=True, slots=True)
class Account:
    """What a machine says of itself when it stands.

    idle: it has nothing left to do. stands: it does not move. fresh: it was switched on or
    reset since the job was begun;
    None where it can't say. count: of units done, by what `counted` left with it, or None: so many
    are finished, or the last of them is at the end of its work.
    at, height: where it is, in what it reports (see `Language.report_mm`); down: as in Heard.
    """

    idle: bool
    stands: bool = False
    fresh: bool | None = None
    count: int | None = None
    at: Point | None = None
    height: float | None = None
    down: bool | None = None


@dataclass(frozen=True, slots=True)
class Safe:
    """How stopping a machine went. account: how it stood before the lift.

    tool_up: seen to be up and off (True), seen not to be (False), or not seen (None).
    words: what is wrong and what to do at once by hand, where tool_up is not True.
    lost_place: it may have lost its place while it was stopped.
    """

    tool_up: bool | None
    account: Account = field(default_factory=lambda: Account(idle=False))
    words: str = ""
    lost_place: bool = False


@dataclass(frozen=True, slots=True)
class Differences:
    """How what a machine tells of itself differs from its profile, in words.

    unsafe: what can hurt. notes: the rest.
    """

    unsafe: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


class Talk(Protocol):
    """A conversation with a machine, one question at a time."""

    def say(self, data: bytes) -> None:
        """Send something short, whole. Raises MachineError when the port takes nothing."""

    def hear(self, seconds: float, until: Callable[[Heard], bool] | None = None) -> list[Heard]:
        """Return what the machine says within so many s, or until one of it is as wanted."""

    def ask(self, question: bytes, kinds: Collection[str], seconds: float = 1.0) -> Heard | None:
        """Say something and return the first answer of one of these kinds, None without one."""


@dataclass(frozen=True, slots=True)
class Asking:
    """How the user is told and asked. typed: asked a question, gives what was typed."""

    said: Callable[[str], None]
    agreed: Callable[[str], bool]
    typed: Callable[[str], str]


class Marking(Protocol):
    """Finds where marks lie, with the machine's tool moved over each of them by the user."""

    def place(self, name: str) -> Point | None:
        """Return where mark `name` lies in machine mm, None when the user leaves it out."""

    def end(self) -> None:
        """Leave the machine as it was. Raises nothing."""


class VirtualMachine(Protocol):
    """A machine that is not there: it takes bytes, answers, moves a `Head` and takes its time.

    buffer: its receive buffer in bytes; held: what lies in it; overruns: bytes lost for want of
    room; greeting: said when it starts; unit: mm in what its head counts; answers: bytes to be
    sent back.
    """

    buffer: int
    held: bytearray
    overruns: int
    greeting: bytes
    unit: float

    @property
    def head(self) -> VirtualHead:
        """What it moves."""

    @property
    def answers(self) -> deque[bytes]:
        """Bytes to be sent back, in their turn."""

    def receive(self, data: bytes) -> None:
        """Take bytes off the line."""

    def step(self) -> float | None:
        """Do the next small thing; the seconds that it takes, None if there is nothing."""

    def stumble(self) -> None:
        """Find fault with what comes next."""

    def reset(self) -> None:
        """Power off and on."""


class VirtualHead(Protocol):
    """What the line to a virtual machine needs of its head; `plotout.kit.Head` is one.

    at: where it is, machine units; left: s that the move under way still takes; places: where its
    user finds marks, one after another.
    """

    at: Point
    left: float
    places: deque[Point]

    @property
    def strokes(self) -> Sequence[VirtualStroke]:
        """What it drew."""


class VirtualStroke(Protocol):
    """One stroke that a virtual machine drew. whole: it was ended by lifting, not by a reset."""

    points: list[Point]
    tool: int
    whole: bool


class Language(ABC):
    """How one family of machines is spoken to. What has a default here may be left out.

    name: in a profile's `wire` table. flows: names of the flow controls that it can be sent with,
    the usual one first. buffer: bytes of receive buffer where a profile doesn't say.
    acknowledges: every message is sent whole, and answered "ok" when the machine has taken it.
    ask, ask_kind: a question that is answered at once, whatever the machine does, and the kind of
    its answer. mark: sent after a unit; answered "ok" or "count" when all before it is done.
    has_ending: the last unit of a file only lifts the tool and switches off; it is no stroke.
    """

    name: str
    flows: tuple[str, ...]
    buffer: int
    acknowledges: bool = False
    has_ending: bool = False
    ask: bytes
    ask_kind: str = "status"
    mark: bytes
    go_on: bytes = b""
    """Ends a stop in the program."""
    lift: bytes = b""
    """Tool up, between units, where that is one instruction."""
    room: bytes = b""
    """Asks how many bytes the machine can take now."""

    # --- a file

    @abstractmethod
    def unit_starts(self, data: Buffer) -> array[int]:
        """Return the byte offset of every unit; what lies before the first is the preamble."""

    @abstractmethod
    def stops(self, unit: bytes, start: Stop) -> list[Stop]:
        """Return where a unit's work can come to rest, in turn. start: the last of the one before.

        The last of them is the end of the unit's work.
        """

    @abstractmethod
    def state(self, data: Buffer, end: int) -> bytes:
        """Return the settings in force at byte `end`, to be sent before going on there."""

    def split(self, data: bytes) -> Iterator[bytes]:
        """Give what is sent of `data`, message by message."""
        yield data

    def pieces(self, data: bytes, most: int) -> Iterator[bytes]:
        """Give a message in pieces of about `most` bytes: wherever the line breaks between two of
        them, nothing that the machine holds can be taken for what it is not.
        """
        yield data

    def unit_mm(self, head: bytes, step: float) -> float:
        """Return mm in a file's unit of length. head: its preamble; step: the machine's, mm."""
        return 1.0

    def report_mm(self, step: float) -> float:
        """Return mm in what the machine reports places in. step: the machine's, mm."""
        return 1.0

    def awaits_hand(self, message: bytes) -> bool:
        """Return whether the machine stops at this message until somebody sends it on."""
        return False

    def unsafe(self, data: bytes) -> Iterator[str]:
        """Say in words what in a file can hurt, or can't be stopped and gone on with: that it is
        cut off, say, or sets its own scale.
        """
        yield from ()

    def made_for(self, data: bytes) -> str:
        """Return the name of the machine that a file's header speaks of, "" where none does."""
        return ""

    # --- counting

    def opened(self, head: bytes, done: int) -> bytes:
        """Return a preamble so that the machine begins to count at `done` units."""
        return head

    def counted(self, message: bytes, done: int) -> bytes:
        """Return a unit's last message so that the machine, having done it, knows `done` units."""
        return message

    def same_count(self, value: int, done: int) -> bool:
        """Return whether a machine's count means that so many units are done."""
        return value == done

    # --- a conversation

    @abstractmethod
    def hear(self, line: str) -> Heard:
        """Return what one line from the machine means."""

    def identify(self, talk: Talk) -> tuple[str, ...]:
        """Return what the machine, which answered `ask`, says of itself. Raises MachineError."""
        return ()

    def differences(self, talk: Talk, machine: Machine) -> Differences:
        """Return how what the machine tells of itself differs from its profile."""
        return Differences()

    def receive_buffer(self, talk: Talk) -> int:
        """Return the bytes of the machine's receive buffer, by its own word where it has one."""
        return self.buffer

    @abstractmethod
    def account(self, talk: Talk) -> Account:
        """Return how the machine stands. Nothing that it has taken is thrown away."""

    def glance(self, talk: Talk, buffer: int) -> Account | None:
        """Return at once how the machine stands, by what it says whatever it does; None without an
        answer. buffer: bytes of its receive buffer, as its profile says.
        """
        heard = talk.ask(self.ask, (self.ask_kind,))
        if heard is None:
            return None
        return Account(heard.idle, at=heard.at, height=heard.height, down=heard.down)

    def settle(self, talk: Talk) -> None:
        """Throw away what a machine that stands could not use: a message that was cut short."""
        return

    @abstractmethod
    def make_safe(self, talk: Talk, lift: bytes) -> Safe:
        """Stop the machine, throw away what it has not begun, and bring its tool up and off.

        lift: see `lift_for`. Says of the tool only what was seen. Raises MachineError when the line
        is gone.
        """

    def lift_for(self, head: bytes, unit: bytes) -> bytes:
        """Return the file's own lift with the modes that it needs; empty where it needs none.

        head: the file's preamble; unit: its second, which begins with the lift.
        """
        return b""

    def travels(self, lift: bytes, places: Sequence[Point]) -> Iterator[bytes]:
        """Give messages that lift the tool and take it round these places, file units."""
        raise NotImplementedError(f"{self.name} can't go round the work")

    def block_handshake(self, block: int) -> bytes:
        """Return what sets up ENQ (5) and ACK (6) with blocks of that many bytes."""
        raise NotImplementedError(f"{self.name} has no ENQ/ACK handshake")

    def marking(self, talk: Talk, machine: Machine, asking: Asking) -> Marking | None:
        """Return what finds marks with the machine's own tool; None where it can't be done."""
        return None

    def virtual(self, buffer: int, speed: float = 0.0) -> VirtualMachine:
        """Return a virtual machine. buffer: bytes; speed: its units a second, or 0 for no time.

        Raises NotImplementedError where there is none.
        """
        raise NotImplementedError(f"there is no virtual machine that speaks {self.name}")
