"""Finds a strip that contradicts the others: creased, or from another print than they are.

One scale is solved for all strips, so that a single false one would bend the plane. Where the marks
fit badly, each strip is left out in turn: without the false one, the others fit.
"""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from plotout import FloatArray
from plotout_photo.camera import Kind
from plotout_photo.marks import Seen
from plotout_photo.solve import SeenWronglyError, Solution, alone
from plotout_photo.start import similar
from plotout_photo.strips import corners_of, outline, strip_of

WELL = 0.045  # pixels rms: marks that fit so well contradict nothing
BETTER, CLEAR = 0.5, 1.6  # of the residual that is left without it; of that, without another
LONGER = 0.0005  # share by which a false print is longer or shorter: less is told as another cause
FEWEST = 3  # strips that must remain


@dataclass(frozen=True, slots=True, eq=False)
class Odd:
    """A strip that was left out. solution, dropped: as `alone` gives them, without it.

    longer: the share by which it is longer than meant, by the others. edge: (n, 2) around it, mm.
    """

    strip: int
    solution: Solution
    dropped: tuple[int, ...]
    longer: float
    edge: FloatArray

    @property
    def told(self) -> str:
        """Return a note on it."""
        if abs(self.longer) < LONGER:
            return (
                f"strip {self.strip} does not fit the others, though it is as long as meant: it "
                "does not lie flat, or something covers the edges of its marks. It is left out"
            )
        how = "longer" if self.longer > 0 else "shorter"
        return (
            f"strip {self.strip} contradicts the others, by which it is "
            f"{abs(100 * self.longer):.2f} % {how} than meant: it is creased, or from another "
            "print. It is left out"
        )


def odd_one(
    kind: Kind, seen: Sequence[Seen], solution: Solution
) -> tuple[Odd | None, tuple[Solution, ...]]:
    """Return the strip that contradicts the others, if one clearly does.

    If marks fit badly, but none does, returns what is solved without each strip.
    """
    strips = solution.model.strips
    if solution.rms < WELL or len(strips) <= FEWEST:
        return None, ()
    tried = {}
    for strip in strips:
        rest = [mark for mark in seen if strip_of(mark.number) != strip]
        with contextlib.suppress(SeenWronglyError):
            tried[strip] = alone(kind, rest, solution.model.thickness)
    if len(tried) < len(strips):  # so wrong that some can't be solved without it
        return None, tuple(one for one, _ in tried.values())
    best, second, *_ = sorted(strips, key=lambda strip: tried[strip][0].rms)
    found, dropped = tried[best]
    if found.rms > BETTER * solution.rms or tried[second][0].rms < CLEAR * found.rms:
        return None, tuple(one for one, _ in tried.values())
    own = [mark for mark in seen if strip_of(mark.number) == best]
    table = found.table(0, np.vstack([mark.corners for mark in own]))
    a, b, _ = similar(table, np.vstack([corners_of(mark.number) for mark in own]))
    around = outline(4.0)
    edge = a * (around[:, 0] + 1j * around[:, 1]) + b
    return Odd(best, found, dropped, abs(a) - 1.0, np.column_stack([edge.real, edge.imag])), ()
