"""Machines: what they are (model), where that is written (profile), what to beware of (caution)."""

from plotout.machine.caution import caution
from plotout.machine.model import (
    AUTOMATIC,
    Bed,
    Calibration,
    Drop,
    Machine,
    Motion,
    WireSettings,
)
from plotout.machine.tools import Tool, ToolKind

__all__ = [
    "AUTOMATIC",
    "Bed",
    "Calibration",
    "Drop",
    "Machine",
    "Motion",
    "Tool",
    "ToolKind",
    "WireSettings",
    "caution",
]
