"""Fits of a curve's pricks without some of them."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from plotout.kit import FEWEST_PRICKS, End, curve_fit
from plotout_pricks.table import Pricks
from plotout_pricks.tidy import Tidy
from plotout_pricks.variants import Fitted


def without(item: Tidy, left_out: Collection[int]) -> Pricks:
    """Return a run without some of its pricks."""
    return replace(item.run, points=np.delete(item.run.points, list(left_out), axis=0))


@dataclass(frozen=True, eq=False)
class CurveFits:
    """Fits of a curve, each made once. ends: what its two ends are asked to be."""

    item: Tidy
    ends: Sequence[End | None]
    _made: dict[frozenset[int], Fitted] = field(default_factory=dict, init=False)

    def without(self, left_out: Collection[int]) -> Fitted:
        """Return the curve fitted without some of its pricks, by index."""
        some = frozenset(left_out)
        if some not in self._made:
            run = without(self.item, sorted(some))
            few = len(run.points) < FEWEST_PRICKS
            like = self.without(()).curve if few else None
            fit = curve_fit(run.points, start=self.ends[0], end=self.ends[1], like=like)
            joined = (self.ends[0] is not None, self.ends[1] is not None)
            ends = self.item.run.points[[0, -1]]
            astray = tuple(
                prick if index in some else None
                for prick, index in zip(ends, (0, len(self.item.run.points) - 1), strict=True)
            )
            self._made[some] = Fitted(run, curve=fit.points, fit=fit, joined=joined, astray=astray)
        return self._made[some]
