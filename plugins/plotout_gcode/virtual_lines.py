"""A virtual G-code machine that only reads lines: it numbers and checks them.

Source: as `lines`.
"""

from __future__ import annotations

import functools
import operator
import re
from dataclasses import dataclass

from plotout_gcode.virtual import GcodeMachine

_NUMBER = re.compile(rb"^(?:M110 )?N(\d+)")


@dataclass(slots=True)
class LineMachine(GcodeMachine):
    """The machine's state. last: number of the last line that it took."""

    name: str = "plotout virtual lines"
    greeting: bytes = b"start\n"
    last: int = 0

    def receive(self, data: bytes) -> None:
        """Receive bytes: nothing is obeyed at once."""
        for byte in data:
            if len(self.held) >= self.buffer:
                self.overruns += 1
            else:
                self.held.append(byte)

    def step(self) -> float | None:
        """Do the next line that is held. Return its seconds, None if there is none."""
        end = self.held.find(b"\n")
        if end < 0 or self.awaits_hand:
            return None
        line = bytes(self.held[:end]).strip()
        del self.held[: end + 1]
        wrong = self._wrong(line)
        if wrong:
            self.held.clear()
            self._say(f"Error:{wrong}, Last Line: {self.last}\nResend: {self.last + 1}\nok")
            return 0.0
        self.lines += 1
        text = re.sub(rb"^N\d+ ?|\*\d+$", b"", line).decode("latin-1")
        if self.lines == self.fail_line:
            self._say("Error:stumbled")
            return 0.0
        seconds = self._obey(text)
        self._say("ok")
        return seconds

    def _wrong(self, line: bytes) -> str:
        body, star, check = line.rpartition(b"*")
        number = _NUMBER.match(line)
        if not number:
            return "No Line Number with checksum" if star else ""
        if not star or functools.reduce(operator.xor, body) != int(check or b"0"):
            return "checksum mismatch"
        if b"M110" not in line and int(number[1]) != self.last + 1:
            return "Line Number is not Last Line Number+1"
        self.last = int(number[1])
        return ""

    def _obey(self, text: str) -> float:
        x, y = self.head.at
        if text.startswith("M114"):
            self._say(f"X:{x:.2f} Y:{y:.2f} Z:{self.z or 0.0:.2f} E:0.00 Count X:0 Y:0 Z:0")
        elif text.startswith("M115"):
            self._say(f"FIRMWARE_NAME:{self.name} PROTOCOL_VERSION:1.0")
        elif not text.startswith(("M110", "M400")):
            try:
                seconds = self._do(text)
                return seconds / 1000.0 if text.startswith("G4") else seconds
            except ValueError:
                self._say(f'echo:Unknown command: "{text}"')
        return 0.0

    def _say(self, text: str) -> None:
        self.answers.append(text.encode() + b"\n")

    def reset(self) -> None:
        """Switch off and on."""
        GcodeMachine.reset(self)
        self.last = 0
