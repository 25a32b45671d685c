"""Whether the pricks of a run have the shape that its kind gives them: a bow, a bend, a corner.

A straight run whose pricks bow or bend is not one with strays: all of its pricks are explained by
another shape. A curve that turns at one place was probably pricked over a corner.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from plotout import FloatArray
from plotout.kit import Hand, fit_line

UNKNOWN = Hand(0.0, 0)
CHANCE = 0.001  # by which scatter alone may look like a bow or a bend
LEAST = 1.0  # mm: straight seams of a garment bow by less (common practice)
CORNER = 35.0, 150.0  # degrees: a curve that turns so far at one place may hold a corner
ELSEWHERE = 1.0 / 3.0  # share of that by which it turns at most at any other place
_AROUND = 0.8  # share of the turn that remains over twice the distance: a stray's turns back
_CLEARER = 0.7  # share of a bow's scatter that a bend may leave, to be told instead
_BESIDE = 2  # pricks beyond those beside a corner, at least: nearer to an end it shows nothing
_FEW = 5  # pricks: fewer show no bow
_SEEN = 10  # pricks: fewer show no corner in a curve


@dataclass(frozen=True, slots=True)
class Bent:
    """How the pricks of a straight run bend. scatter: mm, of the pricks about that shape."""

    words: str
    scatter: float
    bows: bool


def bent(points: FloatArray, numbers: Sequence[int]) -> Bent | None:
    """Return how pricks of a straight run, (n, 2), bow to one side or turn at one place, if so.

    A parabola is compared with a straight line, and two lines that meet with one, by an F test;
    for the place of the bend any gap may be chosen, which is allowed for. numbers: the pricks'.
    """
    count = len(points)
    if count < _FEW:
        return None
    line = fit_line(points)
    along, off = (points - line.at) @ line.along, line.offsets(points)
    flat = np.column_stack([np.ones(count), along])
    straight, _ = _left(flat, off)
    bow_left, bow = _left(np.column_stack([flat, along**2]), off)
    found = []
    height = abs(bow[2]) * (np.ptp(along) / 2.0) ** 2
    if height >= LEAST and _chance(straight, bow_left, 1, count - 3) < CHANCE:
        words = f"its pricks bow by {height:.1f} mm, all to one side: is it a curve?"
        found.append(Bent(words, float(np.sqrt(bow_left / (count - 3))), bows=True))
    places = (along[1:-2] + along[2:-1]) / 2.0  # two pricks at least on either side
    tried = [_left(np.column_stack([flat, np.maximum(along - at, 0.0)]), off) for at in places]
    if count > _FEW and tried:
        at = int(np.argmin([left for left, _ in tried]))
        left, kink = tried[at]
        height = abs(kink[2]) * np.ptp(along) / 4.0
        if height >= LEAST and _chance(straight, left, 2, count - 4) * len(tried) < CHANCE:
            turn = np.degrees(abs(np.arctan(kink[1] + kink[2]) - np.arctan(kink[1])))
            words = (
                f"its pricks turn by {turn:.0f} degrees between {numbers[at + 1]} and "
                f"{numbers[at + 2]}: is there a corner, or is it a curve?"
            )
            found.append(Bent(words, float(np.sqrt(left / (count - 4))), bows=False))
    return min(found, key=lambda one: one.scatter * (_CLEARER if one.bows else 1.0), default=None)


def straight_scatter(points: FloatArray) -> float:
    """Return the scatter of pricks, (n, 2), about a straight line, mm; of two pricks none."""
    off = fit_line(points).offsets(points)
    return float(np.sqrt((off**2).sum() / max(len(points) - 2, 1)))


def straight_hand(points: FloatArray) -> Hand:
    """Return how exactly a straight run, (n, 2), is pricked."""
    return Hand(straight_scatter(points), max(len(points) - 2, 0))


def together(hands: Sequence[Hand]) -> Hand:
    """Return how exactly runs are pricked: their scatter together."""
    spare = sum(hand.freedom for hand in hands)
    if not spare:
        return UNKNOWN
    squares = sum(hand.freedom * hand.scatter**2 for hand in hands)
    return Hand(float(np.sqrt(squares / spare)), spare)


def _left(design: FloatArray, off: FloatArray) -> tuple[float, FloatArray]:
    """Return the sum of squares that a shape leaves, mm2, and its coefficients."""
    found = np.linalg.lstsq(design, off, rcond=None)[0]
    return float(((off - design @ found) ** 2).sum()), np.asarray(found, float)


def _chance(before: float, after: float, more: int, free: int) -> float:
    """Return the chance that scatter alone lets `more` coefficients explain as much."""
    if after <= 0.0:
        return 0.0 if before > 0.0 else 1.0
    from scipy.special import fdtrc  # takes longer to load than a set to read: only if needed

    return float(fdtrc(more, free, (before - after) / more / (after / free)))


def corner_in(points: FloatArray, numbers: Sequence[int]) -> str:
    """Return where pricks of a curve, (n, 2), turn as at a corner, in words; "" if nowhere.

    A corner between two pricks turns the directions to both; a stray turns them there and back.
    """
    step = np.diff(points, axis=0)
    angle = np.unwrap(np.arctan2(step[:, 1], step[:, 0]))
    turns = np.degrees(np.diff(angle))  # at each prick but the first and the last
    if len(points) < _SEEN:
        return ""
    pairs = turns[:-1] + turns[1:]
    at = int(np.abs(pairs).argmax())
    if not _BESIDE <= at < len(pairs) - _BESIDE:
        return ""
    elsewhere = np.abs(np.delete(pairs, slice(max(at - 1, 0), at + 2)))
    around = abs(turns[max(at - 1, 0) : at + 3].sum())
    turn = abs(float(pairs[at]))
    even = elsewhere.max(initial=0.0) <= ELSEWHERE * turn and around >= _AROUND * turn
    if not (CORNER[0] <= turn <= CORNER[1] and even):
        return ""
    return (
        f"it turns by {turn:.0f} degrees between pricks {numbers[at + 1]} and "
        f"{numbers[at + 2]}, and hardly elsewhere: is there a corner? Divide the run there"
    )
