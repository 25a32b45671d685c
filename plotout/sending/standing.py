"""Whether a machine was reset after its user said that all is in place, before the job began.

A machine greets when it is reset, so its words are watched all the time. But words that nobody
knows may be a greeting or not, and some machines say nothing. What a reset changes is asked for as
well: whether the machine was initialized, and where it believes it is: a fresh one believes that it
is at its origin. At the origin itself unknown words count as a greeting.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from plotout.conversation import Point
from plotout.errors import MachineError
from plotout.sending.talk import MOST_LATE, PortTalk

SILENCE = 15.0  # s without an answer
NEAR = 0.03  # mm, or the machine's own units
IS_DOWN = (
    "Caution: by its own report the machine's tool is down, or its beam on. Lift it, or switch it "
    "off, at the machine before you home or move it."
)
Place = tuple[float, ...]


@dataclass(slots=True)
class Standing:
    """A machine that stands and waits for a job. buffer: bytes of its receive buffer, by its
    profile.

    at: where it believes it is, in its own units, as far as it says so at once. moved: it is not
    where it was before the user said that all is in place: somebody moved it, or it was reset.
    tells: it says whether it was initialized since it was last asked that.
    """

    talk: PortTalk
    buffer: int
    at: Place | None = field(init=False, default=None)
    moved: bool = field(init=False, default=False)
    tells: bool = field(init=False, default=False)
    _answers: bool = field(init=False, default=True)

    def __post_init__(self) -> None:
        self.at = self._rests_at()
        if self._greeted():
            raise was_reset()
        self.talk.overheard.clear()

    @property
    def place(self) -> Point | None:
        """Where it believes it is, without a height."""
        return (self.at[0], self.at[1]) if self.at else None

    def rests(self) -> None:
        """Note that the machine has nothing left to do: from now on its status counts."""
        self.tells = self.talk.language.initialized(self.talk) is not None

    def agreed(self) -> None:
        """Look before the job begins; from now on nobody moves it by hand.

        Raises MachineError if it may have been reset since this was made.
        """
        self.talk.hear(0.0)
        initialized = self.tells and self._was_initialized()
        begun = time.monotonic()
        before, self.at = self.at, self._rests_at()
        while before and not self.at and time.monotonic() - begun < MOST_LATE:
            self.at = self._rests_at()  # one that starts answers late, or elsewhere
        heard = list(self.talk.overheard)
        if self.tells and not self._answers:  # its power may have failed since it told that
            self.talk.hear(MOST_LATE, lambda one: one.kind == "room")
            initialized = initialized or self._was_initialized()
        if initialized or self._greeted():
            raise was_reset()
        if before and not self.at:
            raise was_reset() if self._answers else _silent(begun)
        self._judge(before, (one.text for one in heard if one.kind == "strange"))
        self.moved = before is not None and self.at is not None and not _same(before, self.at)
        self.talk.overheard.clear()

    def _was_initialized(self) -> bool:
        """Return whether it was initialized; one that has said so before must say so now."""
        begun = time.monotonic()
        while time.monotonic() - begun < SILENCE:
            initialized = self.talk.language.initialized(self.talk)
            if initialized is not None:
                return initialized
        raise _silent(begun)

    def begun(self, strange: Iterable[str]) -> None:
        """Look once more when the job's first message is answered: nothing has moved yet.

        strange: unknown words that the machine said since `agreed`. Raises MachineError.
        """
        place, heard = self._place(), list(self.talk.overheard)
        if self.at and place and not _same(self.at, place):
            raise was_reset()
        if self._greeted():
            raise was_reset()
        self._judge(place, (*strange, *(one.text for one in heard if one.kind == "strange")))

    def _greeted(self) -> bool:
        """Return whether it has greeted since it was last looked at."""
        return any(one.kind == "reset" for one in self.talk.overheard)

    def _judge(self, before: Place | None, strange: Iterable[str]) -> None:
        stays = before is not None and self.at is not None and _same(before, self.at)
        if any(strange) and not (stays and max(map(abs, before or ())) > NEAR):
            raise was_reset()

    def _rests_at(self) -> Place | None:
        """Return its place, also of one that keeps a count, and tells its place only at rest."""
        place, language = self._place(), self.talk.language
        if place or not self._answers or language.acknowledges:
            return place
        return language.stands_at(self.talk)

    def _place(self) -> Place | None:
        account = self.talk.language.glance(self.talk, self.buffer)
        self._answers = account is not None
        if account is None or account.at is None:
            return None
        return account.at if account.height is None else (*account.at, account.height)


def _same(one: Place, other: Place) -> bool:
    return math.dist(one, other) <= NEAR if len(one) == len(other) else False


def tells_tool_down(talk: PortTalk, buffer: int, lift: bytes, said: Callable[[str], None]) -> None:
    """Tell the user of a machine at rest whose tool is down, as a job that was killed leaves it.

    lift: the file's.
    """
    account = talk.language.glance(talk, buffer)
    if account is not None and talk.language.is_down(talk, account, lift):
        said(IS_DOWN)


def _silent(since: float) -> MachineError:
    return MachineError(
        f"the machine has said nothing for {time.monotonic() - since:.0f} s",
        fix="Nothing was cut. Check its power and the cable; then home it, and start again, or, if "
        "strokes were done before: plotout resume",
    )


def was_reset() -> MachineError:
    """Return the error for a machine that may have lost its place before a job began."""
    return MachineError(
        "the machine seems to have been reset just now: it may have lost its position",
        fix="Home it, or register the sheet again; then start again, or, if strokes were "
        "done before: plotout resume",
    )
