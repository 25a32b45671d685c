"""The options of a profile for HP-GL."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from plotout.kit import Choice, table

_SAYS = "The form of vertices."


@table
@dataclass(frozen=True, slots=True)
class HpglOptions:
    """A profile's `[options]` for HP-GL."""

    polylines: Annotated[str, Choice(_SAYS, ("absolute", "relative"))] = "absolute"


@table
@dataclass(frozen=True, slots=True)
class Hpgl2Options:
    """A profile's `[options]` for HP-GL/2, which also has the encoded form."""

    polylines: Annotated[str, Choice(_SAYS, ("encoded", "absolute", "relative"))] = "encoded"
