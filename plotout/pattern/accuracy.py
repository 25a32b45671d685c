"""How surely an edge, and whatever is measured on edges, is known from its pricks."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import isfinite
from typing import NamedTuple

import numpy as np

from plotout.geometry.polyline import at_shares, length
from plotout.geometry.strokes import FloatArray
from plotout.geometry.sureness import (
    DRAWN,
    IfSo,
    Known,
    Otherwise,
    known_together,
    two_sigma,
)
from plotout.units import says_anything

_NEAR = 1, 3  # places near a likely curve's end: past its corner, which may lie a little off it
_ALIKE = 1e-6  # mm: lengths that are nowhere off
MOST_NAMED = 3  # explanations, the likeliest, of what is wrong


class Measured(NamedTuple):
    """How surely a measure of the outline, mm, is known.

    to: mm, two sigma. otherwise: how much greater it is by other explanations of the pricks.
    """

    to: float = 0.0
    otherwise: tuple[Otherwise, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Accuracy:
    """Of an edge. known: of its length; otherwise: what that is by other explanations.

    likely: (m, k, 2), the edge as likely as its pricks show it, or None; edge by edge, those of one
    drawing make m outlines. if_so: the same by each other explanation of the outline's pricks.
    """

    known: Known = DRAWN
    likely: FloatArray | None = None
    otherwise: tuple[Otherwise, ...] = ()
    if_so: tuple[IfSo, ...] = ()

    def turned(self) -> Accuracy:
        """Return that of the edge in the other direction."""
        return self._with(lambda lines: lines[:, ::-1])

    def divided(self, share: float) -> tuple[Accuracy, Accuracy]:
        """Return those of both parts of the edge, divided at a share of its length."""
        return (
            self._with(lambda lines: _part(lines, 0.0, share)),
            self._with(lambda lines: _part(lines, share, 1.0)),
        )

    def headings_to(self, points: FloatArray) -> tuple[float, float]:
        """Return to how many degrees, two sigma, it is known how the edge starts and ends.

        points: the edge, (n, 2). Without likely outlines, as if its ends lay off it by as much as
        its length is known to.
        """
        if self.likely is None:
            angle = math.degrees(math.atan2(self.known.to, length(points)))
            return angle, angle
        return _spread(self.likely), _spread(self.likely[:, ::-1])

    def _with(self, change: Callable[[FloatArray], FloatArray]) -> Accuracy:
        if_so = tuple(one._replace(lines=change(one.lines)) for one in self.if_so)
        likely = None if self.likely is None else change(self.likely)
        return replace(self, likely=likely, if_so=if_so)


def against_next(accuracies: Sequence[Accuracy]) -> list[float]:
    """Return for each edge of an outline how far its length is wrong the other way from the next's.

    0: each by itself; -1: what it is too long, the next is too short, since it is between them that
    the pricks don't show where one ends. It is the correlation of both in the likely outlines, and
    no stronger than two sigma of their sum bear out.
    """
    drawn = [accuracy.likely for accuracy in accuracies]
    sizes = [None if lines is None else _sizes(lines) for lines in drawn]
    pairs = zip(sizes, [*sizes[1:], *sizes[:1]], strict=True)
    return [
        0.0 if one is None or other is None or one is other else _against(one, other)
        for one, other in pairs
    ]


def _sizes(lines: FloatArray) -> FloatArray:
    """Return how much longer than their median lines, (m, k, 2), are: (m,), mm."""
    sizes = np.hypot(*np.diff(lines, axis=1).transpose(2, 0, 1)).sum(axis=1)
    return np.asarray(sizes - np.median(sizes))


def _against(one: FloatArray, other: FloatArray) -> float:
    """Return the correlation of two sizes' errors, (m,) each, from 0 to -1."""
    to, other_to, both_to = (two_sigma(off) for off in (one, other, one + other))
    if min(to, other_to) < _ALIKE:
        return 0.0
    borne_out = (both_to**2 - to**2 - other_to**2) / (2.0 * to * other_to)
    return float(np.clip(max(np.corrcoef(one, other)[0, 1], borne_out), -1.0, 0.0))


def _spread(lines: FloatArray) -> float:
    """Return two sigma of the directions, degrees, in which lines, (m, k, 2), start."""
    first, last = _NEAR if lines.shape[1] > _NEAR[1] else (0, 1)
    steps = (lines[:, last] - lines[:, first]) @ np.array([1.0, 1.0j])
    turned = np.degrees(np.angle(steps * steps.mean().conj()))
    return two_sigma(turned - np.median(turned))


def _part(lines: FloatArray, low: float, high: float) -> FloatArray:
    """Return a part of lines, (m, k, 2), between two shares of their lengths."""
    shares = np.linspace(low, high, lines.shape[1])
    return np.stack([at_shares(line, shares) for line in lines])


def measured_to(
    measure: Callable[[Sequence[FloatArray]], float],
    lines: Sequence[FloatArray],
    accuracies: Sequence[Accuracy],
    measured: Sequence[int],
) -> Measured:
    """Return how surely a measure of the outline is known.

    By what it is of the likely outlines; where a drawing has none, as well as the lengths of the
    edges that are measured, which are told by index. lines: the edges, (n, 2) each.
    """
    known = known_together(accuracies[index].known for index in measured).to
    drawn = [accuracy.likely for accuracy in accuracies if accuracy.likely is not None]
    if len(drawn) < len(accuracies) or not isfinite(known):
        return Measured(known)
    here = measure(lines)

    def off(drawn: Sequence[FloatArray]) -> FloatArray:
        outlines = zip(*drawn, strict=True)
        return np.array([measure(outline) for outline in outlines]) - here

    to = two_sigma(off(drawn))
    found = []
    for every in zip(*(accuracy.if_so for accuracy in accuracies), strict=True):
        by = off([one.lines for one in every])
        middle = float(np.median(by))
        other = Otherwise(every[0].why, middle, two_sigma(by - middle), every[0].chance, to)
        if other.is_another:
            found.append(other)
    return Measured(to, tuple(sorted(found, key=lambda one: -one.chance)))


def known_in_words(to: float) -> str:
    """Return in words to how many mm, two sigma, something is known."""
    return f"known only to {to:.1f} mm (two sigma)" if says_anything(to) else "not known"


def unless(wrong: str, explained: Sequence[str]) -> str:
    """Return in words that something is wrong, or else what explains it and would not show."""
    some = " or ".join(explained[:MOST_NAMED])
    more = ", or another of its pricks did" if len(explained) > MOST_NAMED else ""
    advice = "measure these edges, or prick again there"
    return f"{wrong}; or {some}{more}, which would not show: {advice}"


def may_be(doubt: str, suspected: Sequence[str]) -> str:
    """Return in words that something isn't known, and what may be so: look there first."""
    if not suspected:
        return doubt
    return f"{doubt}; it may be that {' or '.join(suspected[:MOST_NAMED])}: look there first"


def doubtful(what: str, best: str, known_to: float, tolerance: float, sure: str = "") -> str:
    """Return in words that pricks don't show something to the tolerance, mm, and what they show.

    sure: what they do show surely.
    """
    known = known_in_words(known_to)
    return (
        f"its pricks can't show to {tolerance:g} mm {what}: {best} is {known}{sure}; "
        "measure its edges, or prick them more exactly and more densely"
    )
