"""Before the first byte: who is there, and does it speak as the profile says."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

from plotout import plugins
from plotout.errors import MachineError
from plotout.language import Heard, Language
from plotout.machine import WireSettings
from plotout.sending.link import open_link
from plotout.sending.talk import PortTalk

STARTING = 7.0  # s that a machine may take to start when its port is opened
ASK_EVERY = 0.4  # s between questions
SAID_AFTER = 1.0  # s after which the user is told what is waited for
PROBED = 2.0  # s for each language when nobody knows what is there


@dataclass(frozen=True, slots=True)
class Met:
    """What answered on a port. settings: those that a profile's `wire` table could hold."""

    settings: WireSettings
    words: tuple[str, ...]


def greet(
    talk: PortTalk,
    wait: float | None = None,
    tell: Callable[[str], None] = lambda _text: None,
) -> tuple[str, ...]:
    """Ask a machine that can answer who it is; return its words.

    A machine that starts when its port is opened hears nothing meanwhile: it is asked again. wait:
    s, of what a machine may take to start unless it is given.

    Raises MachineError when nothing answers, what comes is garbage (a wrong speed), another kind
    of machine answers, or it is locked.
    """
    language = talk.language
    wait = STARTING if wait is None else wait
    raw = talk.link.read()  # what was said to somebody before us
    talk.hearing.take(raw)
    begun = time.monotonic()
    said: list[Heard] = []
    reported = False
    while time.monotonic() - begun < wait:
        talk.say(language.ask)
        new = talk.hear(ASK_EVERY, lambda heard: heard.kind == language.ask_kind)
        said += new
        if any(heard.kind == language.ask_kind for heard in new):
            words = language.identify(talk)
            talk.overheard.clear()  # from now on a greeting means a reset
            return words
        if any(heard.kind == "locked" or _is_locked(heard) for heard in new):
            raise MachineError(
                "the machine is locked: it does not know its place, or an alarm has stopped it",
                fix="Home it, or unlock it as its manual says; then begin again.",
            )
        if not reported and time.monotonic() - begun > SAID_AFTER:
            reported = True
            tell("Waiting for the machine to start.")
    raise _nobody(language, said)


def _is_locked(heard: Heard) -> bool:
    """A machine in alarm answers the question, with an error instead of its state."""
    return heard.kind == "error" and heard.at is not None


def _nobody(language: Language, said: list[Heard]) -> MachineError:
    text = "".join(heard.text for heard in said)
    if not text:
        return MachineError("nothing answers", fix="Is it on, the cable in, and the speed right?")
    if _garbage(text):
        return MachineError("what the machine answers is garbage", fix="Is the speed (baud) right?")
    return MachineError(
        f"what answers here does not speak {language.name}: {text[:60]!r}",
        fix="Is this the machine that the profile is for?",
    )


def probe(port: str, baud: int, wait: float = PROBED) -> Met:
    """Find out what is on a port, and suggest settings. Raises MachineError when nothing is."""
    fault = MachineError("nothing answers", fix="Is it on, and the cable in?")
    known = plugins.languages()
    for name in sorted(known, key=lambda one: (known[one].acknowledges, one)):
        language = known[name]
        trial = WireSettings(name, language.flows[0], baud, language.buffer)
        link = open_link(port, trial)
        try:
            talk = PortTalk(link, language)
            words = greet(talk, wait)
            buffer = language.receive_buffer(talk)
            return Met(WireSettings(name, language.flows[0], baud, buffer), words)
        except MachineError as wrong:
            fault = wrong
        finally:
            link.close()
    raise fault


def _garbage(text: str) -> bool:
    odd = sum(ord(sign) > 126 or (ord(sign) < 32 and sign not in "\r\n\t\x06") for sign in text)
    return odd * 4 > len(text)
