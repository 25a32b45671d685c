"""The conversations with a plotter: to identify it, to stop it, and to read its state.

Source: HP 7550A Interfacing and Programming Manual (Hewlett-Packard). `OP` and `OA` are answered in
their turn; ESC . B and L at once, and ESC . K drops what it holds.
"""

from __future__ import annotations

import time
from dataclasses import replace

from plotout import Account, Heard, MachineError, Safe, Talk

RESTED = 2.0  # s without change in its buffer: longer than most moves take
PATIENCE = 600.0  # s for a machine to finish what it holds
UNSEEN = 1.5  # s after which an unconfirmed lift is reported
WORKS_OFF = 60.0  # s for a machine to finish what it can't drop
HELD = 6.0  # s without change, after which what a machine holds is no move at work
PAUSE = 60.0  # s for one that is paused at its panel to be let go on
STILL = 6  # equal answers in a row, 0.3 s apart, of an idle machine
DROP = b"\x1b.K"
ROOM = b"\x1b.B"
SIZE = b"\x1b.L"
STANDS = 15.0  # s in which one that works goes on taking
LIFT = b"PU;"
AWAY = b"SP0;"
STOP = b";OP;OA;%sOA;"
DOWN = "Its pen is still down: lift it by the machine's own keys."
EMPTYING = "Waiting for the machine to finish what it holds."
PAUSED = (
    "The machine stands still, and does not report where it is. If it is paused at its panel, let "
    "it go on there. Waiting for that."
)
UNANSWERED = (
    "The machine was sent a stop and a lift, but does not answer: press its own stop key or "
    "switch it off, and check that its pen is up."
)


def held(talk: Talk, buffer: int) -> int:
    """Return the bytes that it neither works nor drops: anything sent would complete them, and
    draw a wrong line.
    """
    talk.say(DROP)
    last, since = -1, time.monotonic()
    while time.monotonic() - since < HELD:
        heard = talk.ask(ROOM, ("room",))
        if heard is None or heard.value >= _whole(talk, heard.value, buffer):
            return 0
        if heard.value != last:
            if last < 0:
                talk.tell(EMPTYING)
            last, since = heard.value, time.monotonic()
        talk.hear(0.05)
    size = talk.ask(SIZE, ("room",))  # the profile may give more than there is
    return max(0, (size.value if size else max(buffer, last + 1)) - last)


def identify(talk: Talk) -> tuple[str, ...]:
    """Return how it identifies itself. An incomplete rest of an earlier job is discarded first."""
    name = talk.ask(DROP + b"OI;", ("other", "strange"), 0.3)
    return () if name is None else (name.text.strip(),)


def receive_buffer(talk: Talk) -> int:
    """Return the bytes of its buffer, or the room of an idle machine that doesn't tell that."""
    size = talk.ask(SIZE, ("room",), 2.0) or talk.ask(ROOM, ("room",))
    return size.value if size else 64


def account(talk: Talk) -> Account:
    """Return its state when everything before the questions is done."""
    _rest(talk)
    talk.say(DROP)  # else an incomplete instruction would swallow the question
    count = talk.ask(b"OP;", ("count",))
    place = talk.ask(b"OA;", ("place",))
    if count is None and place is None:
        count, place = _once_it_goes_on(talk)
    return _account(count, place)


def _once_it_goes_on(talk: Talk) -> tuple[Heard | None, Heard | None]:
    """Wait for the answers to OP and OA of one that tells its room, but works nothing. Raises
    MachineError if they don't come.
    """
    talk.tell(PAUSED)
    said = talk.hear(PAUSE, lambda heard: heard.kind == "place")
    count = next((heard for heard in said if heard.kind == "count"), None)
    place = next((heard for heard in said if heard.kind == "place"), None)
    if count is None and place is None:
        raise MachineError(
            "the machine does not report where it is",
            fix="If it is paused at its panel, let it go on; then: plotout resume. If it never "
            "reports that, look at the sheet: plotout resume --from N.",
        )
    return count, place


def glance(talk: Talk, buffer: int) -> Account | None:
    """Return its state at once: it holds nothing when its whole buffer is free."""
    heard = talk.ask(ROOM, ("room",))
    if heard is None:
        return None
    return Account(heard.value >= _whole(talk, heard.value, buffer), count=heard.value)


def make_safe(talk: Talk, lift: bytes) -> Safe:
    """Ask for position and count before the lift, and for the pen after it, in one message, so that
    the pen doesn't wait for an answer.
    """
    said = _stopped(talk, lift or LIFT)
    places = [answer for answer in said if answer.kind == "place"]
    before = said[: said.index(places[0])] if places else []  # marks may still be answered
    count = next((answer for answer in reversed(before) if answer.kind == "count"), None)
    account = replace(_account(count, places[0] if places else None), dropped=True)
    if len(places) > 1:
        down = places[1].down
        return Safe(not down, account, DOWN if down else "", by_count=False)
    return Safe(None, account, UNANSWERED, by_count=False)


def _whole(talk: Talk, free: int, buffer: int) -> int:
    """Return the bytes of the whole buffer, which may be more than its profile says. A machine that
    then does not tell its size may only tell it when it is empty.
    """
    if free <= buffer:
        return buffer
    size = talk.ask(SIZE, ("room",))
    return free + 1 if size is None else size.value


def _account(count: Heard | None, place: Heard | None) -> Account:
    return Account(
        idle=True,
        stands=True,
        fresh=None if count is None else count.value < 0,
        count=None if count is None or count.value < 0 else count.value,
        at=place.at if place else None,
        down=place.down if place else None,
    )


def _stopped(talk: Talk, lift: bytes) -> list[Heard]:
    """Make it drop what it holds and lift; return its answers until that is confirmed.

    A machine that finishes what it can't drop still reports its room. One that stands still without
    an answer was starting when it was asked: it is asked again.
    """
    said: list[Heard] = []
    stop = STOP % lift
    for _ in range(2):
        talk.urge(DROP)
        try:
            talk.say(stop, STANDS)  # if it can't drop what it holds, the line may stand a while
        except MachineError:  # it was reset, and has forgotten that it stopped the line
            talk.urge(stop)
        until = time.monotonic() + UNSEEN
        rooms: list[int] = []
        while len(rooms) < STILL or len(set(rooms[-STILL:])) > 1:
            said += talk.hear(0.3, lambda answer: answer.kind == "place")
            if sum(answer.kind == "place" for answer in said) > 1:
                return said
            if time.monotonic() < until:
                continue
            talk.urge(ROOM)  # it takes no room, and passes a line that stays stopped
            new = talk.hear(1.0, lambda answer: answer.kind in ("room", "place"))
            said += new
            rooms += [answer.value for answer in new if answer.kind == "room"]
            if not new or time.monotonic() > until + WORKS_OFF:
                return said
    return said


def _rest(talk: Talk) -> None:
    """Wait until the machine has finished what it holds."""
    last, since = "", time.monotonic()
    give_up = since + PATIENCE
    while time.monotonic() - since < RESTED:
        heard = talk.ask(ROOM, ("room",))
        if heard is None:
            raise MachineError(
                "the machine does not answer", fix="Check its power, the cable and the speed."
            )
        if heard.text != last:
            last, since = heard.text, time.monotonic()
        if time.monotonic() > give_up:
            raise MachineError("the machine does not come to rest", fix="Check the machine.")
        talk.hear(0.05)
