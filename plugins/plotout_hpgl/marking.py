"""Finds marks: the user moves the pen over them by the machine's own keys, and enters them.

`DP` lets the user move the tool; when ENTER is pressed, bit 2 of the status byte (`OS`) is set and
`OD` gives the place; `DC` ends it (HP 7550A Interfacing and Programming Manual, digitising by
polling; from memory).
"""

from __future__ import annotations

import contextlib
import time
from dataclasses import dataclass

from plotout import Asking, Machine, MachineError, Point, Talk

POLL = 0.2  # s between polls
ANSWER = 10.0  # s for the machine to answer a question
PATIENCE = 600.0  # s for the user to find one mark
ENTERED = 4  # bit 2 of the status


@dataclass(slots=True)
class HpglMarking:
    """Marks found by the machine's own keys."""

    talk: Talk
    machine: Machine
    asking: Asking

    def place(self, name: str) -> Point | None:
        """Wait until the user has entered a mark; return it in machine mm, None if skipped."""
        typed = self.asking.typed(f"Mark '{name}': Enter to begin, s to skip it")
        if typed.strip().lower() == "s":
            return None
        self.talk.say(b"DP;")
        self.asking.said(
            "Move the tool over it with the machine's own keys, then press ENTER there."
        )
        until = time.monotonic() + PATIENCE
        while not self._status() & ENTERED:
            if time.monotonic() > until:
                raise MachineError(
                    f"mark '{name}' was not entered within {PATIENCE / 60:.0f} minutes",
                    fix="Begin again, or measure the marks and write their places into the file.",
                )
            time.sleep(POLL)
        place = self.talk.ask(b"OD;", ("place",), ANSWER)
        if place is None or place.at is None:
            raise MachineError(
                "the machine does not answer", fix="Check that it is on, and its cable."
            )
        return place.at[0] * self.machine.step, place.at[1] * self.machine.step

    def _status(self) -> int:
        heard = self.talk.ask(b"OS;", ("room", "error"), ANSWER)
        if heard is None:
            raise MachineError(
                "the machine does not answer", fix="Check that it is on, and its cable."
            )
        return heard.value

    def end(self) -> None:
        """End the machine's wait for a mark."""
        with contextlib.suppress(MachineError):  # the line may be gone
            self.talk.say(b"DC;")
