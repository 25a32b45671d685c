"""What a profile says of how its SVG is coloured."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, fields
from typing import Annotated

from plotout.kit import Fault, Words, table


def _colour(work: str) -> Words:
    return Words(f"Colour of lines to {work}, as #rrggbb.")


@table
@dataclass(frozen=True, slots=True)
class SvgOptions:
    """A profile's `[options]` for SVG: the colour of each kind of work.

    The defaults are told apart by colour-blind eyes: M. Okabe and K. Ito, Color Universal Design
    (2008), from memory.
    """

    draw: Annotated[str, _colour("draw")] = "#000000"
    score: Annotated[str, _colour("score")] = "#e69f00"
    punch: Annotated[str, _colour("punch")] = "#cc79a7"
    cut: Annotated[str, _colour("cut")] = "#0072b2"

    def wrong(self) -> Iterator[Fault]:
        """Give what is no colour."""
        for field in fields(self):
            if not re.fullmatch(r"#[0-9A-Fa-f]{6}", getattr(self, field.name)):
                yield Fault((field.name,), f"{field.name} is no colour", 'Write it as "#0072b2".')
