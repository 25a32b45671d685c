"""From ordered strokes to a Program: blade, kerf, tabs, feeds, time."""

from plotout.tool.compile import compile_sheet

__all__ = ["compile_sheet"]
