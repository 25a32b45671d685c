"""Corners past the last prick of a curve that tightens towards them: what to prick there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from plotout import FloatArray
from plotout.kit import two_sigma
from plotout_pricks.likely import Outlines

LOOSE = 2.0  # mm, two sigma: a seam is seldom let differ by more (common practice)
TIGHTENS = 0.5  # chance that a curve does, and its bend past its last prick isn't known


def unpricked_corners(
    outlines: Outlines, index: int, corners: Sequence[FloatArray]
) -> Iterator[str]:
    """Yield towards which corners that nobody knows a curve tightens, and what to prick there.

    outlines: as drawn. corners: where each run is met by the one before it, (2,) each.
    """
    run, determined = outlines.runs[index]
    names = [one.fit.run.name for one, _ in outlines.runs]
    for end, ahead in enumerate(run.neighbours):
        if ahead is None or run.fit.joined[end] or ahead.square < TIGHTENS or not determined:
            continue
        at = (index + end) % len(names)
        known = two_sigma(np.hypot(*(outlines.corners[at] - corners[at]).T), outlines.chances[at])
        if known <= LOOSE:
            continue
        gap = float(np.hypot(*(corners[at] - run.fit.run.points[-end])))
        name, other = names[index], names[(at if end else index - 1)]
        where = "past its last prick" if end else "before its first prick"
        yield (
            f"'{name}' bends more and more towards its corner with '{other}', {gap:.0f} mm "
            f"{where}: that corner is known only to {known:.1f} mm; prick '{name}' up to it, or "
            f"measure '{other}'"
        )
