"""The options of a profile for SVG."""

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
    """A profile's `[options]` for SVG: a colour per kind of work.

    The defaults are distinct to colour-blind eyes: M. Okabe and K. Ito, Color Universal Design
    (2008), from memory.
    """

    draw: Annotated[str, _colour("draw")] = "#000000"
    score: Annotated[str, _colour("score")] = "#e69f00"
    punch: Annotated[str, _colour("punch")] = "#cc79a7"
    cut: Annotated[str, _colour("cut")] = "#0072b2"

    def wrong(self) -> Iterator[Fault]:
        """Give the values that are not colours."""
        for field in fields(self):
            if not re.fullmatch(r"#[0-9A-Fa-f]{6}", getattr(self, field.name)):
                yield Fault(
                    (field.name,), f"{field.name} is not a colour", 'Write it as "#0072b2".'
                )
