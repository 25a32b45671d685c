"""From Cards to Sheets: stock, laying, tiles, registration."""

from plotout.layout.again import Again, laid, lay_again
from plotout.layout.calibration import corrected
from plotout.layout.found import as_found, part_of
from plotout.layout.frames import frames, joints, stages, with_joints
from plotout.layout.lay import lay
from plotout.layout.layfile import KeptLay, kept, load_lay
from plotout.layout.leftover import LeftOver, as_stock, left_over
from plotout.layout.stock import Stock, StockSheet, stock_for
from plotout.layout.stockfile import load_stock, stock_on
from plotout.layout.whole import Laid, SplitBy

__all__ = [
    "Again",
    "KeptLay",
    "Laid",
    "LeftOver",
    "SplitBy",
    "Stock",
    "StockSheet",
    "as_found",
    "as_stock",
    "corrected",
    "frames",
    "joints",
    "kept",
    "laid",
    "lay",
    "lay_again",
    "left_over",
    "load_lay",
    "load_stock",
    "part_of",
    "stages",
    "stock_for",
    "stock_on",
    "with_joints",
]
