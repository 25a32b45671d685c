"""Before the first byte: who is there, and does it speak as the profile says."""

from __future__ import annotations

import time
from dataclasses import dataclass, replace

from plotout.errors import MachineError
from plotout.sending.hearing import Hearing
from plotout.sending.language import LANGUAGES, Language
from plotout.sending.link import Link, WireSettings, open_link

WAIT = 2.0  # s for an answer: small controls take more than a second to start


@dataclass(frozen=True, slots=True)
class Met:
    """What answered on a port. settings: those that a profile's `wire` table could hold."""

    settings: WireSettings
    words: tuple[str, ...]


def greet(link: Link, language: Language, wait: float = WAIT) -> tuple[str, ...]:
    """Ask a machine that can answer who it is; return its words.

    Raises MachineError when nothing answers, what comes is garbage (a wrong speed), or another
    kind of machine answers.
    """
    link.read()
    link.write(language.ask)
    expected = "status" if language.by_line else "room"
    raw, kinds = _collect(link, language, wait, expected)
    if expected in kinds:
        link.write(language.who)
        words, _ = _collect(link, language, min(wait, 0.3), "")
        lines = (line.strip() for line in words.decode("latin-1").splitlines())
        return tuple(line for line in lines if line and language.hear(line).kind == "other")
    if _garbage(raw):
        raise MachineError("what the machine answers is garbage", fix="Is the speed (baud) right?")
    if raw:
        raise MachineError(
            f"what answers here does not speak {language.name}: {raw[:60]!r}",
            fix="Is this the machine that the profile is for?",
        )
    raise MachineError("nothing answers", fix="Is it on, the cable in, and the speed right?")


def probe(port: str, settings: WireSettings, wait: float = WAIT) -> Met:
    """Find out what is on a port, and suggest settings. Raises MachineError when nothing is."""
    fault = MachineError("nothing answers", fix="Is it on, and the cable in?")
    for name, language in LANGUAGES.items():
        flow = "ok" if language.by_line else "enquiry"
        trial = replace(settings, language=name, flow=flow)
        link = open_link(port, trial)
        try:
            words = greet(link, language, wait)
            buffer = 128 if language.by_line else _buffer(link, language, wait)
            return Met(replace(trial, buffer=buffer), words)
        except MachineError as wrong:
            fault = wrong
        finally:
            link.close()
    raise fault


def _buffer(link: Link, language: Language, wait: float) -> int:
    link.write(b"\x1b.L")
    raw, _ = _collect(link, language, wait, "room")
    digits = raw.split(b"\r")[0].strip()
    return int(digits) if digits.isdigit() else 64


def _collect(link: Link, language: Language, wait: float, until: str) -> tuple[bytes, set[str]]:
    """Listen for `wait` s, or until this kind of answer is heard."""
    hearing = Hearing(language)
    raw, kinds = b"", set[str]()
    end = time.monotonic() + wait
    while time.monotonic() < end and until not in kinds:
        data = link.read()
        raw += data
        kinds |= {heard.kind for heard in hearing.take(data)}
        time.sleep(0.005)
    return raw, kinds


def _garbage(raw: bytes) -> bool:
    odd = sum(byte > 126 or (byte < 32 and byte not in b"\r\n\t\x06") for byte in raw)
    return bool(raw) and odd * 4 > len(raw)
