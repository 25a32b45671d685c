"""What a profile says of how its HP-GL is written."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from plotout.kit import Choice, table

_SAYS = "How vertices are written."


@table
@dataclass(frozen=True, slots=True)
class HpglOptions:
    """A profile's `[options]` for HP-GL."""

    polylines: Annotated[str, Choice(_SAYS, ("absolute", "relative"))] = "absolute"


@table
@dataclass(frozen=True, slots=True)
class Hpgl2Options:
    """A profile's `[options]` for HP-GL/2, which alone has the encoded form."""

    polylines: Annotated[str, Choice(_SAYS, ("encoded", "absolute", "relative"))] = "encoded"
