"""Turns a Piece into its Cards: allow, notch, fold, split, derive, letter, punch.

Names load when first used: many commands read and derive pieces and make no card.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from plotout._lazy import lazy

if TYPE_CHECKING:
    from plotout.finish.every_card import finish

__all__ = ["finish"]

__getattr__, __dir__ = lazy(__name__, {"plotout.finish.every_card": ("finish",)})
