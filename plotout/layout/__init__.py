"""From Cards to Sheets: stock, laying, tiles, registration."""

from plotout.layout.lay import lay
from plotout.layout.stock import Stock, StockSheet, stock_for

__all__ = ["Stock", "StockSheet", "lay", "stock_for"]
