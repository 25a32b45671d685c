"""The order of the work: least travel under precedence.

Names load when first used, so that the loops can be compiled, when the package is built, without
the libraries that the rest needs.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from plotout._lazy import lazy

if TYPE_CHECKING:
    from plotout.loops.compiled import first_time
    from plotout.route.ordering import Route, order

__all__ = ["Route", "first_time", "order"]

_HOME = {
    "plotout.loops.compiled": ("first_time",),
    "plotout.route.ordering": ("Route", "order"),
}

__getattr__, __dir__ = lazy(__name__, _HOME)
