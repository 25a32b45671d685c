"""Letters that A. V. Hershey's fonts lack, as single strokes at a cap height of 1.

Their shapes are our own, in the font's proportions, mostly of its own strokes: a thorn is a p with
a longer stem, an eng an n with a hook, and Spanish marks are turned by half a turn.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from plotout.geometry.strokes import FloatArray

Glyph = tuple[list[FloatArray], float]

_STEM = 4.0 / 21.0  # from the left, in Hershey's letters: of a capital, which is 21 units high
_X_HEIGHT = 2.0 / 3.0
_RAISED, _SMALL = 0.45, 0.55  # of a capital: where small figures stand, and how high they are
_BOWL = 5.0 / 21.0  # by which a thorn's bowl lies lower than a P's


def _line(*points: tuple[float, float]) -> FloatArray:
    return np.array(points, float)


_FINAL_SIGMA = np.array(
    [[0.55, 0.55], [0.45, 0.66], [0.28, 0.66], [0.12, 0.5], [0.1, 0.25], [0.25, 0.05], [0.45, 0.0],
     [0.5, -0.12], [0.42, -0.26], [0.28, -0.28]]
)  # fmt: skip
_ESZETT = np.array(
    [[0.14, 0.0], [0.14, 0.74], [0.17, 0.87], [0.24, 0.96], [0.34, 1.0], [0.45, 0.98], [0.53, 0.91],
     [0.56, 0.81], [0.54, 0.71], [0.48, 0.63], [0.37, 0.57], [0.5, 0.53], [0.6, 0.44], [0.64, 0.32],
     [0.62, 0.18], [0.55, 0.07], [0.44, 0.01], [0.33, 0.0], [0.27, 0.02]]
)  # fmt: skip
_ETH_STEM = _line((0.76, 0.36), (0.73, 0.54), (0.66, 0.7), (0.54, 0.85), (0.36, 0.98))
_ETH_BAR = _line((0.36, 0.72), (0.68, 0.91))
_HOOK = _line((0.0, 0.0), (0.0, -0.14), (-0.05, -0.25), (-0.14, -0.31), (-0.26, -0.31))
_SHARP_S = _line(
    (_STEM, 0.0), (_STEM, 0.7), (0.22, 0.83), (0.3, 0.94), (0.42, 1.0), (0.76, 1.0), (0.5, 0.6),
    (0.63, 0.57), (0.74, 0.5), (0.79, 0.39), (0.79, 0.24), (0.74, 0.12), (0.65, 0.03), (0.52, 0.0),
    (0.42, 0.02)
)  # fmt: skip
_POUND = _line(
    (0.76, 0.8), (0.71, 0.91), (0.62, 0.98), (0.51, 1.0), (0.41, 0.97), (0.34, 0.89), (0.32, 0.76),
    (0.32, 0.3), (0.28, 0.13), (0.16, 0.0), (0.8, 0.0)
)  # fmt: skip
_DRAWN: dict[str, tuple[list[FloatArray], float]] = {
    "ς": ([_FINAL_SIGMA], 0.7),
    "ß": ([_ESZETT], 0.76),
    "ẞ": ([_SHARP_S], 0.93),
    "£": ([_POUND, _line((0.16, 0.47), (0.62, 0.47))], 0.95),
}
_ADDED = {
    "ð": ("o", [_ETH_STEM, _ETH_BAR]),
    "þ": ("p", [_line((_STEM, _X_HEIGHT), (_STEM, 1.0))]),
    "ŋ": ("n", [np.add(_HOOK, (15.0 / 21.0, 0.0))]),
    "Ŋ": ("N", [np.add(_HOOK, (18.0 / 21.0, 0.0))]),
    "€": ("C", [_line((0.03, 0.58), (0.62, 0.58)), _line((0.03, 0.42), (0.57, 0.42))]),
}
"""Letters that are another one with further strokes."""
_TURNED = {"¡": "!", "¿": "?"}
_SUPERIOR = dict(zip("⁰¹²³⁴⁵⁶⁷⁸⁹ªº", "0123456789ao", strict=True))
FURTHER = frozenset([*_DRAWN, *_ADDED, *_TURNED, *_SUPERIOR, "Þ", "÷"])


def further_glyph(letter: str, glyph: Callable[[str], Glyph]) -> Glyph:
    """Return the polylines of one of the further letters, and its width.

    glyph: gives those of a letter that the font has.
    """
    if letter in _DRAWN:
        return _DRAWN[letter]
    if letter in _ADDED:
        base, strokes = _ADDED[letter]
        lines, width = glyph(base)
        return [*lines, *strokes], width
    if letter in _TURNED:
        lines, width = glyph(_TURNED[letter])
        return [np.subtract((width, _X_HEIGHT), line) for line in lines], width
    if letter in _SUPERIOR:
        lines, width = glyph(_SUPERIOR[letter])
        return [np.add(line * _SMALL, (0.0, _RAISED)) for line in lines], width * _SMALL
    return _thorn(glyph) if letter == "Þ" else _division(glyph)


def _thorn(glyph: Callable[[str], Glyph]) -> Glyph:
    (stem, bowl), width = glyph("P")
    return [stem, np.subtract(bowl, (0.0, _BOWL))], width


def _division(glyph: Callable[[str], Glyph]) -> Glyph:
    (bar,), width = glyph("-")
    (dot,), _ = glyph(".")
    dot = dot + bar.mean(axis=0) - (dot.min(axis=0) + dot.max(axis=0)) / 2.0
    return [bar, np.add(dot, (0.0, 0.26)), np.subtract(dot, (0.0, 0.26))], width
