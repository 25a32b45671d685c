"""A conversation with a machine at a port: what languages are given to ask and to listen."""

from __future__ import annotations

import time
from collections.abc import Callable, Collection
from dataclasses import dataclass, field

from plotout.language import Heard, Language
from plotout.sending.hearing import Hearing
from plotout.sending.link import Link, write_whole

NAP = 0.002  # s between looks
PATIENCE = 5.0  # s for a port that takes nothing


@dataclass(slots=True)
class PortTalk:
    """See `plotout.language.Talk`. overheard: told of all that the machine says."""

    link: Link
    language: Language
    hearing: Hearing = field(init=False)
    overheard: list[Heard] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.hearing = Hearing(self.language)

    def say(self, data: bytes) -> None:
        """See Talk."""
        write_whole(self.link, data, PATIENCE)

    def hear(self, seconds: float, until: Callable[[Heard], bool] | None = None) -> list[Heard]:
        """See Talk."""
        said: list[Heard] = []
        end = time.monotonic() + seconds
        while True:
            new = self.hearing.take(self.link.read())
            said += new
            self.overheard += new
            if time.monotonic() >= end or (until is not None and any(map(until, new))):
                return said
            time.sleep(NAP)

    def ask(self, question: bytes, kinds: Collection[str], seconds: float = 1.0) -> Heard | None:
        """See Talk."""
        self.say(question)
        said = self.hear(seconds, lambda heard: heard.kind in kinds)
        return next((heard for heard in said if heard.kind in kinds), None)
