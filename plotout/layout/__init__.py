"""From Cards to Sheets: stock, laying, tiles, registration."""

from plotout.layout.calibration import corrected
from plotout.layout.lay import lay
from plotout.layout.leftover import LeftOver, as_stock, left_over
from plotout.layout.stock import Stock, StockSheet, stock_for
from plotout.layout.stockfile import load_stock, stock_on

__all__ = [
    "LeftOver",
    "Stock",
    "StockSheet",
    "as_stock",
    "corrected",
    "lay",
    "left_over",
    "load_stock",
    "stock_for",
    "stock_on",
]
