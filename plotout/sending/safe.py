"""Stopping: what the machine has not begun is thrown away, and the tool comes up."""

from __future__ import annotations

import contextlib
import time

from plotout.errors import MachineError
from plotout.sending.cutfile import CutFile
from plotout.sending.hearing import Hearing
from plotout.sending.language import Heard
from plotout.sending.link import Link, write_whole

HALT = 0.3  # s that a machine may take to slow down
NEAR = 0.03  # mm within which two places are one
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
            _write(link, language.hold + language.ask)
            said = _heard(link, hearing, HALT)
            _write(link, language.drop + language.park + lift)
        else:
            _write(
                link, (language.ask if language.by_line else b"") + language.drop + language.park
            )
            said = _heard(link, hearing, HALT / 3) if language.by_line else []
    except MachineError:
        pass
    return said


def finished_by(file: CutFile, status: Heard, done: int, sent: int) -> bool:
    """Return whether the machine's last line number tells of a unit from `done` to `sent`.

    The number is that of the line at work: it is finished when the tool is up again, or where
    the line leads to.
    """
    unit = status.value - 1
    if not done <= unit <= sent or status.at is None:
        return False
    *_, (_, _, work) = file.work(unit, unit + 1)
    if not work or not status.down:
        return True
    far = (abs(a - b * file.scale) for a, b in zip(status.at, work[-1], strict=True))
    return max(far) <= NEAR


def _heard(link: Link, hearing: Hearing, seconds: float) -> list[Heard]:
    """Listen until the machine says that it stands, but no longer than so many seconds."""
    said: list[Heard] = []
    until = time.monotonic() + seconds
    while time.monotonic() < until and not any(heard.halted for heard in said):
        said += hearing.take(link.read())
        time.sleep(0.002)
    return said


def _write(link: Link, data: bytes) -> None:
    """Write what the port takes; what comes after is tried all the same."""
    with contextlib.suppress(MachineError):
        write_whole(link, data, PATIENCE)
