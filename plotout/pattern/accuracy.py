"""How surely an edge, and whatever is measured on edges, is known from its pricks."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import isfinite

import numpy as np

from plotout.geometry.polyline import at_shares
from plotout.geometry.strokes import FloatArray
from plotout.geometry.sureness import DRAWN, Known, Otherwise, known_together, two_sigma
from plotout.units import says_anything

MOST_NAMED = 3  # explanations, the likeliest, of what is wrong


@dataclass(frozen=True, slots=True, eq=False)
class Accuracy:
    """Of an edge. known: of its length; otherwise: what that is by other explanations.

    likely: (m, k, 2), the edge as likely as its pricks show it, or None; edge by edge, those of one
    drawing make m outlines.
    """

    known: Known = DRAWN
    likely: FloatArray | None = None
    otherwise: tuple[Otherwise, ...] = ()

    def turned(self) -> Accuracy:
        """Return that of the edge in the other direction."""
        return replace(self, likely=None if self.likely is None else self.likely[:, ::-1])

    def divided(self, share: float) -> tuple[Accuracy, Accuracy]:
        """Return those of both parts of the edge, divided at a share of its length."""
        if self.likely is None:
            return self, self
        count = self.likely.shape[1]
        low, high = (np.linspace(*ends, count) for ends in ((0.0, share), (share, 1.0)))
        parts = [np.stack([at_shares(line, part) for line in self.likely]) for part in (low, high)]
        parts[1][:, 0] = parts[0][:, -1]
        return replace(self, likely=parts[0]), replace(self, likely=parts[1])


def measured_to(
    measure: Callable[[Sequence[FloatArray]], float],
    lines: Sequence[FloatArray],
    accuracies: Sequence[Accuracy],
    measured: Sequence[int],
) -> float:
    """Return to how many mm (two sigma) a measure of the outline is known.

    By what it is of the likely outlines; where a drawing has none, as well as the lengths of the
    edges that are measured, which are told by index. lines: the edges, (n, 2) each.
    """
    known = known_together(accuracies[index].known for index in measured).to
    drawn = [accuracy.likely for accuracy in accuracies if accuracy.likely is not None]
    if len(drawn) < len(accuracies) or not isfinite(known):
        return known
    here = measure(lines)
    off = [measure([line[index] for line in drawn]) - here for index in range(len(drawn[0]))]
    return two_sigma(np.array(off))


def known_in_words(to: float) -> str:
    """Return in words to how many mm, two sigma, something is known."""
    return f"known only to {to:.1f} mm (two sigma)" if says_anything(to) else "not known"


def unless(wrong: str, explained: Sequence[str]) -> str:
    """Return in words that something is wrong, or else what explains it and would not show."""
    some = " or ".join(explained[:MOST_NAMED])
    more = ", or another of its pricks did" if len(explained) > MOST_NAMED else ""
    advice = "measure these edges, or prick again there"
    return f"{wrong}; or {some}{more}, which would not show: {advice}"


def doubtful(what: str, best: str, known_to: float, tolerance: float) -> str:
    """Return in words that pricks don't show something to the tolerance, mm, and what they show."""
    return (
        f"its pricks can't show to {tolerance:g} mm {what}: {best} is {known_in_words(known_to)}; "
        "measure its edges, or prick them more densely"
    )
