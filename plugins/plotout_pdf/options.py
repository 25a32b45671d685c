"""What a profile says of its printer's pages."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from plotout import Machine, UserError, length, page_size

Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Options:
    """Pages and how they join, mm; see the package for what the settings mean."""

    page: tuple[float, float]
    margin: Box
    overlap: float
    style: str
    orientation: str
    by_card: bool


def options(machine: Machine) -> Options:
    """Return the profile's settings. Raises UserError for one that is not understood."""
    said: Mapping[str, Any] = machine.options
    sides = said.get("margin", 5.0)
    if not isinstance(sides, list | tuple):
        sides = [sides] * 4
    if len(sides) != 4:
        raise UserError(
            f"machine '{machine.name}': option margin has {len(sides)} sides",
            fix="Give one length, or four: left, bottom, right, top.",
        )
    left, bottom, right, top = (length(side) for side in sides)
    return Options(
        page=page_size(str(said.get("page", "A4"))),
        margin=(left, bottom, right, top),
        overlap=length(said.get("overlap", 10.0)),
        style=str(said.get("style", "trim")),
        orientation=str(said.get("orientation", "auto")),
        by_card=bool(said.get("by-card", False)),
    )
