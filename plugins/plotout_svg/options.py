"""The options of a profile for SVG."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated, Any

from plotout import UserError
from plotout.kit import Words, shown, table

_HEX = r"#[0-9A-Fa-f]{6}"


@dataclass(frozen=True)
class Colour(Words):
    """A colour, as #rrggbb."""

    def read(self, value: Any) -> Any:
        """See Kind."""
        text = super().read(value)
        if not re.fullmatch(_HEX, text):
            raise UserError(f"{shown(value)} is not a colour", fix='Write it as "#0072b2".')
        return text

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        return {"type": "string", "pattern": f"^{_HEX}$"}

    @property
    def form(self) -> str:
        """See Kind."""
        return "colour"

    @property
    def sample(self) -> str:
        """See Kind."""
        return '"#0072b2"'


def _colour(work: str) -> Colour:
    return Colour(f"Colour of lines to {work}, as #rrggbb.")


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
