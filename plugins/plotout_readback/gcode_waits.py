"""A program that waits: for somebody, or for a while, perhaps with a beam that burns meanwhile.

M3 also burns at a standstill, M4 does not; in laser mode nothing burns after G0: the public notes
of the most used open-source three-axis control, version 1.1, from memory.
"""

from __future__ import annotations

from collections.abc import Iterator

from plotout import Machine

LONG_WAIT = 600.0  # s: more than any spindle takes to start, by the profile's own limit


class Waits:
    """What is wrong with the waits of a program on a machine, in words."""

    def __init__(self, machine: Machine) -> None:
        self._changes_itself = machine.options.get("change") == "automatic"
        self._laser_mode = machine.sending.language != "gcode-lines"  # that only reads lines

    def for_somebody(self, change: bool, *, down: bool, spins: bool) -> str:
        """Return what can hurt whoever is waited for, or "". change: of the tool; down: that is
        down; spins: the spindle does.
        """
        if down:
            return "it waits for somebody with the tool down (M0, M1, M6)"
        if spins and not (change and self._changes_itself):
            return "it waits for somebody with the spindle on (M0, M1, M6 before M5)"
        return ""

    def unclear(self, seconds: float, lit_by: int, motion: float) -> Iterator[str]:
        """Yield what can't be known of a dwell. lit_by: 3 or 4, of M3 or M4, of a beam with power;
        else 0. motion: 0 to 3, of G0 to G3; negative before the first.
        """
        if seconds > LONG_WAIT:
            yield f"G4: it waits for {seconds:g} s"
        if seconds <= 0.0:
            return
        if lit_by == 4 and not self._laser_mode:
            yield "G4 after M4: not every firmware then switches the beam off"
        elif lit_by == 3 and motion <= 0.0 and self._laser_mode:
            yield "G4 after G0: in laser mode a beam burns only after G1 to G3"
