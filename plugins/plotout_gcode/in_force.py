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
    """The words in force. wait: the dwells between the spindle's start and its first work, in which
    it came up to speed. flood: M7 and M8, as far as they are on. lifted_by_z: the tool is let down
    by Z, not switched.
    """

    modes: dict[str, bytes] = field(default_factory=dict)
    tool: bytes = b""
    power: bytes = b""
    spindle: bytes = b""
    wait: bytes = b""
    flood: dict[bytes, None] = field(default_factory=dict)
    lifted_by_z: bool = False
    _starts: bool = False
    _motion: bytes = b"G0"

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
        self._motion = next(filter(None, map(motion_of, words)), self._motion)
        self._starts = self._starts and not self._begins_work(words)

    def _begins_work(self, words: list[Word]) -> bool:
        """Return whether a line goes below the stock's surface, or feeds across it."""
        down = any(letter == b"Z" and float(number) < 0.0 for letter, number in words)
        across = any(letter in (b"X", b"Y") for letter, _ in words)
        return down or (across and self._motion != b"G0")

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

    def lines(self, after: list[Word]) -> list[bytes]:
        """Return what restores it. after: the words of the line that follows.

        A spindle runs again, and is waited for as before its first work. A beam that is never
        switched off, but has no power, or none in G0, is switched on again just so.
        """
        runs = self.spindle in (b"M3", b"M4")
        last = [self.power, self.spindle, self.wait] if runs else [self.power]
        if runs and not self.lifted_by_z:
            sets = any(letter == b"S" for letter, _ in after)
            last = [b"G0", b"S0" if sets else self.power, self.spindle]
        said = (*self.modes.values(), self.tool, *self.flood, *last)
        return [line for line in said if line]
