"""Machines: what they are (model) and where that is written (profiles)."""

from plotout.machine.model import (
    Bed,
    Calibration,
    Machine,
    Motion,
    Tool,
    ToolKind,
)

__all__ = ["Bed", "Calibration", "Machine", "Motion", "Tool", "ToolKind"]
