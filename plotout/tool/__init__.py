"""Turns ordered strokes into a Program: blade, kerf, tabs, feeds, time."""

from plotout.tool.assign import as_line
from plotout.tool.compile import compile_sheet
from plotout.tool.said import unsaid
from plotout.tool.timing import timed_frames

__all__ = ["as_line", "compile_sheet", "timed_frames", "unsaid"]
