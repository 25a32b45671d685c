"""A conversation with a machine: what it reports, what is known about its state, and who asks."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass, field
from typing import Protocol

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Heard:
    """One message from a machine.

    kind: "ok" (it accepted a message), "room" (free bytes), "place" (where the tool is once all
    before the question is done), "count" (units done once all before the question is done),
    "status" (where it is and whether it moves, at once), "turn" (see `Language.turn`), "error",
    "again" (it asks for a message to be repeated), "busy", "locked", "reset", "name", "setting",
    "strange" (unknown words: perhaps a greeting after a reset) or "other".
    value: free bytes, units done (-1: not ours), an error's number, or that of a message to
    repeat. at: where it is, as reported; height: the same for a third axis. idle: it is at rest
    with nothing to do. halted: it is at rest; of an error: it does nothing more. down: whether the
    tool is down, None if unknown. means: an error's number in words.
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
class Account:
    """The state of a machine at rest.

    idle: it has nothing left to do. stands: it does not move. fresh: it was switched on or reset
    since the job was begun; None if unknown. count: the number of units done, as set by `counted`,
    or None; the last of them may only be at the end of its work.
    at, height: where it is, in its own units (see `Language.report_mm`); down: as in Heard.
    dropped: what it was to do was discarded, so it may stand within a move.
    """

    idle: bool
    stands: bool = False
    fresh: bool | None = None
    count: int | None = None
    at: Point | None = None
    height: float | None = None
    down: bool | None = None
    dropped: bool = False

    @property
    def within(self) -> bool:
        """Return whether it may stand within a move."""
        return self.dropped or not self.idle


@dataclass(frozen=True, slots=True)
class Safe:
    """How stopping a machine went. account: how it stood before the lift.

    tool_up: confirmed up and off (True), confirmed not (False), or unconfirmed (None).
    words: what is wrong and what to do at once by hand, unless tool_up is True.
    lost_place: it may have lost its place while stopped; since_rest: only after it had reported its
    rest, so that `account` is true. by_count: up is a height by the machine's own count, which a
    reset may have spoilt. higher: it was only switched off, since by that count it is higher than
    its lift: up, if the file has led it there. height: by its own report after the lift.
    """

    tool_up: bool | None
    account: Account = field(default_factory=lambda: Account(idle=False))
    words: str = ""
    lost_place: bool = False
    by_count: bool = True
    since_rest: bool = False
    higher: bool = False
    height: float | None = None


@dataclass(frozen=True, slots=True)
class Differences:
    """How a machine's own settings differ from its profile, in words.

    unsafe: differences that can do harm. notes: the rest.
    """

    unsafe: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


class Talk(Protocol):
    """A conversation with a machine, one question at a time. number: of the next message, where
    they are numbered; 0 if none was yet.
    """

    number: int

    @property
    def late(self) -> float:
        """The s that an answer may come later than is usual, by how late others came."""

    @property
    def halted(self) -> bool:
        """Whether the machine has said that it does nothing more."""

    def say(self, data: bytes, seconds: float = 5.0) -> None:
        """Send something short, whole. Raises MachineError if the port accepts nothing so long."""

    def urge(self, data: bytes) -> None:
        """Send a few bytes although the machine has stopped the line."""

    def tell(self, words: str) -> None:
        """Inform the user of a wait."""

    def hear(self, seconds: float, until: Callable[[Heard], bool] | None = None) -> list[Heard]:
        """Return the machine's messages within so many s, or up to one that `until` accepts."""

    def ask(self, question: bytes, kinds: Collection[str], seconds: float = 1.0) -> Heard | None:
        """Send a question and return the first answer of one of these kinds, or None."""

    def command(self, line: bytes, own: Collection[str] = (), seconds: float = 1.0) -> list[Heard]:
        """Send a line that is answered by "ok" or an error when its turn comes, and return what the
        machine says up to that, so many s after its usual delay at most. Answers to earlier ones
        are let come before. own: kinds of the messages that come before its "ok", where there are
        such: one without them may be to something that was sent before.
        """


@dataclass(frozen=True, slots=True)
class Asking:
    """How the user is informed and asked. typed: returns what is typed in answer to a question."""

    said: Callable[[str], None]
    agreed: Callable[[str], bool]
    typed: Callable[[str], str]


class Marking(Protocol):
    """Finds where marks lie; the user moves the machine's tool over one after another."""

    def place(self, name: str) -> Point | None:
        """Return where mark `name` lies in machine mm, None if the user skips it."""

    def end(self) -> None:
        """Restore the machine's state. Raises nothing."""
