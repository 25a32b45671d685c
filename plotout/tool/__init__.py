"""From ordered strokes to a Program: blade, kerf, tabs, feeds, time."""

from plotout.tool.compile import compile_sheet
from plotout.tool.hole import as_line

__all__ = ["as_line", "compile_sheet"]
