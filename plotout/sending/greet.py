"""Before the first byte: which machine answers, and does it match the profile?"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

from plotout import plugins
from plotout.conversation import Heard
from plotout.errors import MachineError, counted
from plotout.language import Language
from plotout.machine import SendingSettings
from plotout.sending.ports import open_link
from plotout.sending.standing import was_reset
from plotout.sending.talk import PortTalk

STARTING = 7.0  # s that a machine may take to start when its port is opened
ASK_EVERY = 0.4  # s between questions
STARTS_IN = 5.0  # s from then, if it answers nothing
SAID_AFTER = 1.0  # s after which the user is informed of the wait
STARTED = "The machine has just started: it knows its position only if it was homed since."
ON_HOLD = (
    "The machine is on hold (it says '{}'). It may still hold lines of the job, and its tool may "
    "be down: don't let it go on at its panel. When you go on here, it drops them first; then its "
    "settings are compared."
)
LEFT = 0.05  # s in which what a port still held comes in
MOST_LATE = 2.5  # s that an answer takes
STILL = 3.0  # s in one place
PROBED = 2.0  # s per language if the machine is unknown


@dataclass(frozen=True, slots=True)
class Met:
    """What answered at a port. settings: those that a profile's `sending` table could hold."""

    settings: SendingSettings
    words: tuple[str, ...]


def greet(
    talk: PortTalk,
    wait: float | None = None,
    tell: Callable[[str], None] = lambda _text: None,
    buffer: int = 0,
) -> tuple[str, ...]:
    """Ask a machine that can answer for its name; return its answer.

    A machine that starts when its port is opened hears nothing meanwhile: it is asked again. wait:
    s that it may take to start. buffer: bytes of its receive buffer in its profile; 0: unknown.

    Raises MachineError if nothing answers, the answer is garbage (a wrong speed), another kind of
    machine answers, it is locked, or it holds an instruction that was cut off.
    """
    language, talk.tell = talk.language, tell
    wait = STARTING if wait is None else wait
    left = talk.hear(LEFT)  # what was said to an earlier program is no answer to us
    talk.overheard.clear()
    begun = time.monotonic()
    said = [heard for heard in left if heard.kind == "reset"]
    reported, asked = False, 0
    while time.monotonic() - begun < wait:
        talk.say(language.ask)
        asked += 1
        new = talk.hear(ASK_EVERY, lambda heard: heard.kind in language.ask_kinds)
        said += new
        answer = next((heard for heard in new if heard.kind in language.ask_kinds), None)
        if answer is not None:
            _let_come(talk, new, asked)
            held = language.held(talk, buffer) if buffer else 0
            if held:
                raise _holds(held)
            before = len(talk.overheard)
            words = language.identify(talk)
            _not_reset(talk, answer, before)
            if any(heard.kind == "reset" for heard in said):
                tell(STARTED)
            talk.overheard.clear()  # from now on a greeting means a reset
            return words
        refusing = next((heard for heard in new if _is_locked(heard)), None)
        if refusing is not None and refusing.means:
            raise MachineError(
                f"the machine can't do a job now: {refusing.means}",
                fix="Nothing has moved. End that at its panel, or by its manual; then start again.",
            )
        if refusing is not None or any(heard.kind == "locked" for heard in new):
            raise MachineError(
                "the machine is locked: it does not know its position, or an alarm has stopped it",
                fix="Home it, or unlock it according to its manual; then start again.",
            )
        if not reported and time.monotonic() - begun > SAID_AFTER:
            reported = True
            tell("Waiting for the machine to start.")
    if not said and language.acknowledges and not language.in_turn and talk.command(b"\n"):
        raise MachineError(
            "the machine takes lines, but does not answer the question for its state "
            f"({language.ask.decode()}): what it has done could not be known",
            fix="Nothing has moved. If it has answered that before, switch it off and on, and home "
            f"it. {language.otherwise}".strip(),
        )
    raise _nobody(language, said)


def let_start(talk: PortTalk) -> None:
    """Wait until a machine that answers nothing has started, in case it does that when its port is
    opened: what it is sent meanwhile is lost. One that greets has started.
    """
    left = talk.opened_at + STARTS_IN - time.monotonic()
    if left > SAID_AFTER:
        talk.tell(
            f"Waiting {left:.0f} s: a machine that starts when its port is opened would lose what "
            "it is sent."
        )
    if left > 0.0:
        talk.hear(left, lambda heard: heard.kind == "reset")
    talk.hear(LEFT)


def rest(
    talk: PortTalk, patience: float, tell: Callable[[str], None], *, held: bool = False
) -> bool:
    """Wait until a machine that takes whole lines has finished what it was sent before: its answers
    to that are none to us. One whose words for that nobody knows rests if it stays where it is.
    held: it may also stand in a hold, of which its user is told. Return whether it does.

    Raises MachineError if it doesn't come to rest within `patience` s.
    """
    language = talk.language
    until, told = time.monotonic() + patience, False
    if language.in_turn:
        while not language.account(talk).idle:
            if time.monotonic() > until:
                raise MachineError("the machine does not come to rest", fix="Let it finish.")
            tell("The machine is still at work. Waiting until it rests.")
        return False
    last: object = None
    since = time.monotonic()
    while language.acknowledges:
        heard = talk.ask(language.ask, language.ask_kinds)
        if heard is None or heard.idle:
            return False
        if held and heard.halted:
            tell(ON_HOLD.format(heard.text))
            return True
        if (heard.at, heard.height) != last:
            last, since = (heard.at, heard.height), time.monotonic()
        if not heard.halted and time.monotonic() - since > STILL:
            return False
        if heard.halted or time.monotonic() > until:
            raise MachineError(
                f"the machine has not finished something else: it says '{heard.text}'",
                fix=f"{_sentence(heard.means)}Let it finish, or end that at its panel; then start "
                "again.",
            )
        if not told:
            told = True
            tell("The machine is still at work. Waiting until it rests.")
        talk.hear(ASK_EVERY)
    return False


def _let_come(talk: PortTalk, first: list[Heard], asked: int) -> None:
    """Let the answers to all that a machine was asked come: late, they would be taken for those to
    other questions. One that was starting has lost some of these.
    """
    kinds, missing = talk.language.ask_kinds, asked - 1
    missing -= sum(heard.kind in kinds for heard in first) - 1
    since = time.monotonic()
    while missing > 0 and time.monotonic() - since < MOST_LATE:
        missing -= sum(heard.kind in kinds for heard in talk.hear(ASK_EVERY, lambda _: True))
    if asked > 1:  # so it is learnt how late it answers
        talk.ask(talk.language.ask, kinds, MOST_LATE)


def _not_reset(talk: PortTalk, first: Heard, before: int) -> None:
    """Refuse a machine that greets, or is elsewhere, after its first answer. before: what it had
    said by then.
    """
    now = talk.ask(talk.language.ask, talk.language.ask_kinds)
    rested = first.idle and now is not None and now.idle
    moved = rested and now is not None and (now.at, now.height) != (first.at, first.height)
    if any(heard.kind == "reset" for heard in talk.overheard[before:]):
        raise was_reset()
    if moved:
        raise MachineError(
            "the machine says that it is idle, but was elsewhere a moment ago: it still works what "
            "it was sent before, or was reset just now",
            fix="Nothing was sent. If it moves, its tool may be down: let it finish, and start "
            "again. If it was reset, home it, or register the sheet again, first. If strokes were "
            "done before: plotout resume",
        )


def _sentence(means: str) -> str:
    return f"{means[0].upper()}{means[1:]}. " if means else ""


def _holds(held: int) -> MachineError:
    return MachineError(
        f"the machine holds {counted(held, 'byte')} that it neither works nor discards: probably "
        "the beginning of an instruction, which would become a wrong line",
        fix="Its tool may be down: look, and lift it. If it is paused, let it go on at its panel. "
        "Otherwise switch the machine off and on, and home it; then send or resume again. If it "
        "holds nothing, correct `buffer` in its profile: 'plotout ports' asks the machine for it.",
    )


def _is_locked(heard: Heard) -> bool:
    """Return whether it is in alarm: it answers the question with an error."""
    return heard.kind == "error" and heard.at is not None


def _nobody(language: Language, said: list[Heard]) -> MachineError:
    text = "".join(heard.text for heard in said)
    if not text:
        return MachineError("nothing answers", fix="Check its power, the cable and the speed.")
    if not text.strip("0"):  # of free room
        return MachineError(
            "its buffer is full, and it works nothing: it answers 0 each time",
            fix="Its tool may be down: look, and lift it. If it is paused, let it go on at its "
            "panel. Otherwise switch it off and on, and home it; then send or resume again.",
        )
    if _garbage(text):
        return MachineError("the machine's answer is garbage", fix="Check the speed (baud).")
    return MachineError(
        f"the answer is not in {language.name}: {text[:60]!r}",
        fix=f"Check that this is the profile's machine. {language.otherwise}".strip(),
    )


def probe(port: str, baud: int, wait: float = PROBED) -> Met:
    """Find out what is at a port, and suggest settings. Raises MachineError if nothing is."""
    fault = MachineError("nothing answers", fix="Check its power and the cable.")
    known = plugins.languages()
    for name in sorted(known, key=lambda one: (known[one].acknowledges, one)):
        language = known[name]
        trial = SendingSettings(name, language.flows[0], baud, language.buffer)
        link = open_link(port, trial)
        try:
            talk = PortTalk(link, language)
            words = greet(talk, wait)
            buffer = language.receive_buffer(talk)
            return Met(SendingSettings(name, language.flows[0], baud, buffer), words)
        except MachineError as wrong:
            fault = wrong
        finally:
            link.close()
    raise fault


def _garbage(text: str) -> bool:
    odd = sum(ord(sign) > 126 or (ord(sign) < 32 and sign not in "\r\n\t\x06") for sign in text)
    return odd * 4 > len(text)
