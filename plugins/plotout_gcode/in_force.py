"""What a program has put in force up to a place, so that a job can be resumed there.

Source: NIST IR 6556, 3.5 to 3.7 (G20, G21, G90 to G94; M3 to M9; F, S and T).
"""

from __future__ import annotations

from dataclasses import dataclass, field

from plotout_gcode.words import Word, motion_of

MODES = {b"G17": "plane", b"G18": "plane", b"G19": "plane", b"G20": "units", b"G21": "units",
         b"G90": "distance", b"G91": "distance", b"G93": "feed", b"G94": "feed"}  # fmt: skip


@dataclass(slots=True)
class InForce:
    """The words in force. wait: the dwells in which the spindle came up to speed. flood: M7 and M8,
    as far as they are on. lifted_by_z: the tool is let down by Z, not switched.
    """

    modes: dict[str, bytes] = field(default_factory=dict)
    tool: bytes = b""
    power: bytes = b""
    spindle: bytes = b""
    wait: bytes = b""
    flood: dict[bytes, None] = field(default_factory=dict)
    lifted_by_z: bool = False
    _starts: bool = False

    def take(self, words: list[Word]) -> None:
        """Take in the words of a line."""
        self.tool = next((b"T" + number for letter, number in words if letter == b"T"), self.tool)
        for letter, number in words:
            word = letter + number
            if word in MODES:
                self.modes[MODES[word]] = word
            elif letter == b"F":
                self.modes["feed rate"] = word
            elif letter == b"S":
                self.power = word
            elif letter == b"M":
                self._switch(word)
            self.lifted_by_z = self.lifted_by_z or letter == b"Z"
        if self._starts and (b"G", b"4") in words:
            dwell = b"G4 " + b"".join(a + b for a, b in words if a == b"P")
            self.wait += b"\n" + dwell if self.wait else dwell
        self._starts = self._starts and not any(motion_of(word) for word in words)

    def _switch(self, word: bytes) -> None:
        if word == b"M6" and self.tool and b"M6" not in self.tool:
            self.tool += b" M6"
        elif word == b"M0" and self.tool and b"M0" not in self.tool:
            self.tool += b"\nM0"
        elif word in (b"M3", b"M4", b"M5"):
            self.spindle, self.wait, self._starts = word, b"", word != b"M5"
        elif word in (b"M7", b"M8"):
            self.flood[word] = None
        elif word == b"M9":
            self.flood.clear()

    def lines(self) -> list[bytes]:
        """Return what restores it. A spindle that ran while the tool was lifted by Z runs again,
        and is waited for as before; a beam stays off.
        """
        runs = self.lifted_by_z and self.spindle in (b"M3", b"M4")
        running = [self.power, self.spindle, self.wait] if runs else []
        return [line for line in (*self.modes.values(), self.tool, *self.flood, *running) if line]
