"""Machines: their model, their profiles in TOML, their cautions."""

from plotout.machine.caution import caution
from plotout.machine.model import (
    AUTOMATIC,
    Bed,
    Calibration,
    Drop,
    Machine,
    Motion,
    SendingSettings,
)
from plotout.machine.tools import Tool, ToolKind

__all__ = [
    "AUTOMATIC",
    "Bed",
    "Calibration",
    "Drop",
    "Machine",
    "Motion",
    "SendingSettings",
    "Tool",
    "ToolKind",
    "caution",
]
