"""Where a sheet's marks really are, asked of the machine while the user has its tool over them.

HP-GL: `DP` lets the user move the tool by the machine's own keys; when its ENTER is pressed, bit 2
of the status byte (`OS`) is set and `OD` gives the place; `DC` ends it (HP 7550A Interfacing and
Programming Manual, digitising by polling; from memory). G-code: `?` is answered by a status with
the place in work coordinates (WPos), or in the machine's own (MPos) with their offset (WCO):
common practice of small controls. Steps towards a mark are plain RS-274 words.
"""

from __future__ import annotations

import contextlib
import re
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from plotout.errors import MachineError, UserError
from plotout.machine import Machine
from plotout.machine.axes import machine_matrix
from plotout.sending.greet import greet
from plotout.sending.language import LANGUAGES, Point
from plotout.sending.link import Link, WireSettings, find_port, open_link, write_whole
from plotout.sending.lock import locked

POLL = 0.2  # s between looks
PATIENCE = 600.0  # s for the user to find one mark
ANSWER = 10.0  # s for the machine to answer a question
OFFSET_ASKED = 40  # questions after which a control that gives no offset is taken to have none
LONGEST = 50.0  # mm: more than that is no step towards a mark

_STEP = re.compile(r"([xy])\s*([-+]?(?:\d+\.?\d*|\.\d+))", re.IGNORECASE)
_DIGITISED = re.compile(r"^\s*([-+]?[\d.]+),([-+]?[\d.]+),[01]\s*$")
_PLACE = re.compile(r"\b(WPos|MPos|WCO):([-\d.]+),([-\d.]+)")


@dataclass(frozen=True, slots=True)
class Asking:
    """How the user is told and asked. typed: asked a question, gives what was typed."""

    said: Callable[[str], None]
    agreed: Callable[[str], bool]
    typed: Callable[[str], str]


def find_marks(
    port: str, settings: WireSettings, machine: Machine, names: Sequence[str], asking: Asking
) -> dict[str, Point]:
    """Return where marks lie on the bed, mm, by name; those that the user leaves out are missing.

    Raises MachineError for a machine that doesn't answer in time, or has an alarm, and UserError
    where it can't be asked. However it ends, the machine no longer waits for a mark.
    """
    if not settings.answers:
        raise UserError(
            f"{machine.title} can't be asked where its tool is",
            fix="Measure the marks, and write their places into the file.",
        )
    language = LANGUAGES[settings.language]
    with locked(port):
        link = open_link(find_port(port, settings.identity), settings)
        try:
            for words in greet(link, language):
                asking.said(f"The machine says: {words}")
            if not asking.agreed("Is the tool up, and is it safe to move it over the sheet?"):
                raise UserError("no marks were found", fix="Nothing has moved.")
            ways = _Gcode if language.by_line else _Hpgl
            way = ways(_Talk(link), machine, asking)
            try:
                found = {name: way.place(name) for name in names}
            finally:
                way.end()
        finally:
            link.close()
    return {name: on_bed(machine, at) for name, at in found.items() if at is not None}


def on_bed(machine: Machine, at: Point) -> Point:
    """Return a place in the machine's own mm as mm on its bed."""
    matrix = machine_matrix(machine, machine.bed.length, machine.bed.width)
    x, y = matrix[:, :2].T @ (np.array(at) - matrix[:, 2])  # its axes are square
    return float(x), float(y)


@dataclass(slots=True)
class _Talk:
    """One question at a time."""

    link: Link
    _rest: str = ""

    def say(self, data: bytes) -> None:
        """Send something short, whole."""
        write_whole(self.link, data, ANSWER)

    def ask(self, question: bytes, known: Callable[[str], bool]) -> str:
        """Return the first line of the answer that is `known`. Raises MachineError without one."""
        self.say(question)
        until = time.monotonic() + ANSWER
        while time.monotonic() < until:
            *lines, self._rest = re.split(r"[\r\n]+", self._rest + self._heard())
            for line in lines:
                if re.match(r"\s*(error|alarm)", line, re.IGNORECASE) or "<Alarm" in line:
                    raise MachineError(
                        f"the machine answered '{line.strip()}'",
                        fix="Its manual says what that means; put it right, then begin anew.",
                    )
                if known(line):
                    return line
            time.sleep(0.005)
        raise MachineError("the machine does not answer", fix="Is it on, and the cable in?")

    def _heard(self) -> str:
        return self.link.read().decode("latin-1")


@dataclass(slots=True)
class _Hpgl:
    """Marks found by the machine's own keys."""

    talk: _Talk
    machine: Machine
    asking: Asking

    def place(self, name: str) -> Point | None:
        """Wait until the user has entered a mark; return it in machine mm, None if left out."""
        if _left_out(self.asking.typed(f"Mark '{name}': Enter to begin, s to leave it out")):
            return None
        self.talk.say(b"DP;")
        self.asking.said(
            "Move the tool over it with the machine's own keys, then press ENTER there."
        )
        until = time.monotonic() + PATIENCE
        while not int(self.talk.ask(b"OS;", lambda line: line.strip().isdigit())) & 4:
            if time.monotonic() > until:
                raise MachineError(
                    f"mark '{name}' was not entered within {PATIENCE / 60:.0f} minutes",
                    fix="Begin anew, or measure the marks and write their places into the file.",
                )
            time.sleep(POLL)
        x, y = _DIGITISED.match(
            self.talk.ask(b"OD;", lambda line: bool(_DIGITISED.match(line)))
        ).groups()  # type: ignore[union-attr]
        return float(x) * self.machine.step, float(y) * self.machine.step

    def end(self) -> None:
        """The machine is not to wait for a mark any more."""
        with contextlib.suppress(MachineError):  # the line may be gone
            self.talk.link.write(b"DC;")


@dataclass(slots=True)
class _Gcode:
    """Marks found by steps that are typed, or by the machine's own keys."""

    talk: _Talk
    machine: Machine
    asking: Asking
    _offset: Point | None = field(default=None)

    def place(self, name: str) -> Point | None:
        """Step towards a mark until the user is content; return it in machine mm, or None."""
        self.asking.said(f"Mark '{name}': move the tool over it, by the machine's own keys or here")
        while True:
            typed = self.asking.typed(
                'Enter: it is there; "x 5 y -0.2": a step in mm; s: leave out'
            )
            if _left_out(typed):
                return None
            if not typed.strip():
                return self._here()
            self._step(typed)

    def _step(self, typed: str) -> None:
        steps = {axis.upper(): float(by) for axis, by in _STEP.findall(typed)}
        if not steps or _STEP.sub("", typed).strip(" ,"):
            self.asking.said(f"'{typed}' is no step; nothing has moved.")
        elif max(map(abs, steps.values())) > LONGEST:
            self.asking.said(f"No more than {LONGEST:g} mm at a time; nothing has moved.")
        else:
            words = " ".join(f"{axis}{by:g}" for axis, by in steps.items())
            for line in (b"G21 G91", b"G0 " + words.encode(), b"G90"):
                self.talk.ask(line + b"\n", _is_ok)

    def _here(self) -> Point:
        """Return where the tool is, once it stands."""
        self.talk.ask(b"G4 P0\n", _is_ok)
        own: Point | None = None
        for _ in range(OFFSET_ASKED):
            line = self.talk.ask(b"?", lambda text: "Pos:" in text)
            said = {word: (float(x), float(y)) for word, x, y in _PLACE.findall(line)}
            self._offset = said.get("WCO", self._offset)
            if "WPos" in said:
                return said["WPos"]
            own = said.get("MPos", own)
            if own is not None and self._offset is not None:
                return own[0] - self._offset[0], own[1] - self._offset[1]
        if own is None:
            raise MachineError("the machine does not say where it is")
        self._offset = (0.0, 0.0)
        self.asking.said(
            "The machine says no offset of its work zero: its own zero is taken for that."
        )
        return own

    def end(self) -> None:
        """Absolute coordinates hold again, however it ended."""
        with contextlib.suppress(MachineError):
            self.talk.link.write(b"G90\n")


def _is_ok(line: str) -> bool:
    return line.strip() == "ok"


def _left_out(typed: str) -> bool:
    return typed.strip().lower() == "s"
