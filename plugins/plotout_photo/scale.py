"""What pictures tell of the strips' own scale: printed longer one way, or against a scanner's dots.

From photographs alone the strips' length is whatever they are meant to have. Only a distance that
was measured tells more; but a print that contradicts itself is known to be false.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from plotout_photo.shot import Shot
from plotout_photo.solve import Solution
from plotout_photo.uncertain import draws

STRETCHED = 0.0008  # least share at which a print's stretch is told
SURE = 4.0  # least sigmas at which it is
SCANNED = 0.004  # share by which a good print and a good scanner may differ: common practice


@dataclass(frozen=True, slots=True)
class Print:
    """wider: the share by which strips are wider for their length than meant; sigma: its own.

    longer: by scan (index of the picture), the share by which strips are longer than meant if the
    scan's stated resolution is true.
    """

    wider: float
    sigma: float
    longer: dict[int, float]
    measured: bool

    @property
    def stretched(self) -> bool:
        """Whether strips are certainly stretched one way."""
        return abs(self.wider) > max(STRETCHED, SURE * self.sigma)

    @property
    def contradicted(self) -> dict[int, float]:
        """The scans of which the resolution contradicts the strips."""
        return {index: share for index, share in self.longer.items() if abs(share) > SCANNED}

    @property
    def doubt(self) -> float:
        """The share, two sigma, by which all lengths may be off because the print is false."""
        if self.measured:
            return 0.0
        shares = [abs(share) for share in self.contradicted.values()]
        return max([abs(self.wider) if self.stretched else 0.0, *shares])


def printed(solution: Solution, shots: Sequence[Shot]) -> Print:
    """Return what is known of the strips' print."""
    model, x = solution.model, solution.x
    longer = {}
    for index, shot in enumerate(shots):
        kind = model.views[index].kind
        if kind.flat and shot.marks:
            ways = (model.camera(x, index) - kind.expected)[3:5]
            longer[index] = float(x[0] + np.expm1(ways.mean()))
    sigma = float(np.std(draws(solution)[:, 1]))
    return Print(float(x[1]), sigma, longer, bool(model.known))
