"""What comes in from a machine, cut into lines and understood."""

from __future__ import annotations

import re
from dataclasses import dataclass

from plotout.language import Heard, Language

_ENDS = re.compile(rb"[\r\n]+|(?<=\x06)")


@dataclass(slots=True)
class Hearing:
    """Cuts what comes in into lines and says what they mean. reset: a greeting was among them."""

    language: Language
    reset: bool = False
    _rest: bytes = b""

    def take(self, data: bytes) -> list[Heard]:
        """Return the meaning of every line that is now whole."""
        if not data:
            return []
        *lines, self._rest = _ENDS.split(self._rest + data)
        heard = [self.language.hear(line.decode("latin-1")) for line in lines if line]
        self.reset |= any(answer.kind == "reset" for answer in heard)
        return heard
