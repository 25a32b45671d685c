"""The options of a profile for DXF."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from plotout.kit import Count, table


def _colour(work: str) -> Count:
    says = f"Colour of lines to {work}: the format's index, 7 is black or white."
    return Count(says, 1, 255, example="30")


@table
@dataclass(frozen=True, slots=True)
class DxfOptions:
    """A profile's `[options]` for DXF: a colour per kind of work, by which it can be sorted.

    The defaults, black, orange, magenta and blue, are distinct to colour-blind eyes (from memory
    of M. Okabe and K. Ito, Color Universal Design, 2008).
    """

    draw: Annotated[int, _colour("draw")] = 7
    score: Annotated[int, _colour("score")] = 30
    punch: Annotated[int, _colour("punch")] = 6
    cut: Annotated[int, _colour("cut")] = 5
