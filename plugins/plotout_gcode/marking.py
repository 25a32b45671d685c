"""Finds marks: the user steps the tool towards them, or moves it by the machine's own keys.

`?` is answered by a status with the place in work coordinates (WPos), or in the machine's own
(MPos) with their offset (WCO): common practice of small controls. Steps are plain RS-274 words.
"""

from __future__ import annotations

import contextlib
import re
from dataclasses import dataclass

from plotout import Asking, Heard, Machine, MachineError, Point, Talk
from plotout_gcode.status import work_place

ANSWER = 10.0  # s for the machine to answer a question
LONGEST = 50.0  # mm: longest step towards a mark
_STEP = re.compile(r"([xy])\s*([-+]?(?:\d+\.?\d*|\.\d+))", re.IGNORECASE)


@dataclass(slots=True)
class GcodeMarking:
    """Marks found by typed steps, or by the machine's own keys."""

    talk: Talk
    machine: Machine
    asking: Asking

    def place(self, name: str) -> Point | None:
        """Step towards a mark until the user confirms it; return it in machine mm, or None."""
        self.asking.said(f"Mark '{name}': move the tool over it, by the machine's own keys or here")
        while True:
            typed = self.asking.typed(
                'Enter: it is there; "x 5 y -0.2": a step in mm; s: skip'
            ).strip()
            if typed.lower() == "s":
                return None
            if not typed:
                return self._here()
            self._step(typed)

    def end(self) -> None:
        """Restore absolute coordinates, however it ended."""
        with contextlib.suppress(MachineError):
            self.talk.say(b"G90\n")

    def _step(self, typed: str) -> None:
        steps = {axis.upper(): float(by) for axis, by in _STEP.findall(typed)}
        if not steps or _STEP.sub("", typed).strip(" ,"):
            self.asking.said(f"'{typed}' is not a step; nothing has moved.")
        elif max(map(abs, steps.values())) > LONGEST:
            self.asking.said(f"No more than {LONGEST:g} mm at a time; nothing has moved.")
        else:
            words = " ".join(f"{axis}{by:g}" for axis, by in steps.items())
            for line in (b"G21 G91", b"G0 " + words.encode(), b"G90"):
                self._do(line + b"\n")

    def _here(self) -> Point:
        """Return where the tool is, once it is at rest."""
        self._do(b"G4 P0\n")
        place = work_place(self.talk)
        if place is None:
            raise MachineError(
                "the machine does not report where it is in work coordinates",
                fix="See its manual for what its reports hold: WPos, or WCO, is needed.",
            )
        return place.x, place.y

    def _do(self, line: bytes) -> Heard:
        """Send a line and wait until it is accepted. Raises MachineError if it isn't."""
        said = self.talk.command(line, seconds=ANSWER)
        heard = next((one for one in said if one.kind in ("ok", "error")), None)
        if heard is None:
            raise MachineError(
                "the machine does not answer", fix="Check that it is on, and its cable."
            )
        if heard.kind == "error":
            raise MachineError(
                f"the machine answered '{heard.text}'",
                fix="Look up the answer in its manual; correct the cause, then begin again.",
            )
        return heard
