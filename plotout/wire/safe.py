"""Stopping: what the machine has not begun is thrown away, and the tool comes up."""

from __future__ import annotations

import time

from plotout.errors import MachineError
from plotout.wire.cutfile import CutFile
from plotout.wire.hearing import Hearing
from plotout.wire.language import Heard
from plotout.wire.link import Link

HALT = 0.3  # s that a machine may take to slow down
PATIENCE = 5.0  # s for a port that takes nothing


def make_safe(link: Link, file: CutFile, hearing: Hearing) -> list[Heard]:
    """Bring the tool up and off; return what the machine said meanwhile.

    A machine that is lifted by Z is first halted, so that it keeps its place; a beam is switched
    off at once. Never raises: when the line is gone, nothing more can be said to the machine.
    """
    language, lift = file.language, file.lift()
    said: list[Heard] = []
    try:
        link.discard()
        if language.hold and lift:
            said = _halted(link, file, hearing)
        _write(link, language.drop + language.park + lift)
    except MachineError:
        pass
    return said


def _halted(link: Link, file: CutFile, hearing: Hearing) -> list[Heard]:
    said: list[Heard] = []
    _write(link, file.language.hold + file.language.ask)
    until = time.monotonic() + HALT
    while time.monotonic() < until and not any(heard.halted for heard in said):
        said += hearing.take(link.read())
        time.sleep(0.002)
    return said


def _write(link: Link, data: bytes) -> None:
    until = time.monotonic() + PATIENCE
    while data and time.monotonic() < until:
        data = data[link.write(data) :]
