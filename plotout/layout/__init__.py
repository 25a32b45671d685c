"""Turns Cards into Sheets: stock, laying, tiles, registration. Names load when first used."""

from __future__ import annotations

from typing import TYPE_CHECKING

from plotout._lazy import lazy

if TYPE_CHECKING:
    from plotout.layout.nesting.earlier import EarlierLay, laid, lay_again
    from plotout.layout.nesting.laid import Laid, SplitBy
    from plotout.layout.nesting.lay import lay
    from plotout.layout.nesting.lay_file import KeptLay, kept, load_lay
    from plotout.layout.nesting.left_over import LeftOver, as_stock, left_over
    from plotout.layout.paper.frames import frames, joints, stages, with_joints
    from plotout.layout.registration.registered import as_registered, part_of
    from plotout.layout.stock.model import Stock, StockSheet, stock_for
    from plotout.layout.stock.stock_file import load_stock, stock_on

__all__ = [
    "EarlierLay",
    "KeptLay",
    "Laid",
    "LeftOver",
    "SplitBy",
    "Stock",
    "StockSheet",
    "as_registered",
    "as_stock",
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

_HOME = {
    "plotout.layout.nesting.earlier": ("EarlierLay", "laid", "lay_again"),
    "plotout.layout.nesting.laid": ("Laid", "SplitBy"),
    "plotout.layout.nesting.lay": ("lay",),
    "plotout.layout.nesting.lay_file": ("KeptLay", "kept", "load_lay"),
    "plotout.layout.nesting.left_over": ("LeftOver", "as_stock", "left_over"),
    "plotout.layout.paper.frames": ("frames", "joints", "stages", "with_joints"),
    "plotout.layout.registration.registered": ("as_registered", "part_of"),
    "plotout.layout.stock.model": ("Stock", "StockSheet", "stock_for"),
    "plotout.layout.stock.stock_file": ("load_stock", "stock_on"),
}

__getattr__, __dir__ = lazy(__name__, _HOME)
