"""Accents as strokes, at a cap height of 1: 0, 0 is in the middle of the letter's top.

Their shapes are our own, in the letters' proportions.
"""

from __future__ import annotations

import numpy as np

from plotout.geometry.strokes import FloatArray


def _line(*points: tuple[float, float]) -> FloatArray:
    return np.array(points, float)


def _ring(x: float, y: float, radius: float) -> FloatArray:
    turn = np.radians(np.arange(0, 361, 30))
    return np.column_stack([x + radius * np.cos(turn), y + radius * np.sin(turn)])


_ACUTE = _line((-0.03, 0.1), (0.1, 0.26))
_DOTS = (_ring(-0.12, 0.17, 0.025), _ring(0.12, 0.17, 0.025))
_HOOK = _line((0.0, 0.0), (0.0, -0.08), (0.09, -0.14), (0.07, -0.24), (-0.07, -0.26))

ACCENTS: dict[str, tuple[FloatArray, ...]] = {
    "\u0300": (_line((0.03, 0.1), (-0.1, 0.26)),),  # grave
    "\u0301": (_ACUTE,),
    "\u0302": (_line((-0.14, 0.1), (0.0, 0.25), (0.14, 0.1)),),  # circumflex
    "\u0303": (
        _line((-0.17, 0.12), (-0.11, 0.2), (-0.04, 0.2), (0.04, 0.14), (0.11, 0.13), (0.17, 0.22)),
    ),  # tilde
    "\u0304": (_line((-0.15, 0.16), (0.15, 0.16)),),  # macron
    "\u0306": (_line((-0.14, 0.24), (-0.07, 0.14), (0.07, 0.14), (0.14, 0.24)),),  # breve
    "\u0307": (_ring(0.0, 0.17, 0.025),),  # dot above
    "\u0308": _DOTS,  # diaeresis
    "\u0309": (_line((-0.06, 0.27), (0.04, 0.28), (0.07, 0.21), (0.0, 0.17), (0.0, 0.1)),),
    "\u030a": (_ring(0.0, 0.17, 0.085),),  # ring
    "\u030b": (np.add(_ACUTE, (-0.1, 0.0)), np.add(_ACUTE, (0.1, 0.0))),  # double acute
    "\u030c": (_line((-0.14, 0.25), (0.0, 0.1), (0.14, 0.25)),),  # caron
    "\u0323": (_ring(0.0, -0.14, 0.025),),  # dot below
    "\u0326": (_line((0.03, -0.1), (-0.05, -0.24)),),  # comma below
    "\u0327": (_HOOK,),  # cedilla
    "\u0328": (_line((0.1, 0.0), (0.02, -0.1), (0.05, -0.21), (0.16, -0.22)),),  # ogonek
}
BELOW = frozenset("\u0323\u0326\u0327\u0328")
THROUGH = {"ø": "o", "Ø": "O", "đ": "d", "Đ": "D", "Ð": "D", "ł": "l", "Ł": "L", "ħ": "h", "Ħ": "H"}
"""Letters that are another letter with a bar through it."""
_HIGH = 0.8  # of a cap height: height of a stem's bar


def bars(letter: str, width: float) -> list[FloatArray]:
    """Return the bar through a letter of this width."""
    middle = width / 2.0
    if letter in "øØ":
        top = 0.72 if letter == "ø" else 1.06
        return [_line((0.12 * width, -0.06), (0.88 * width, top))]
    if letter == "ł":
        return [_line((middle - 0.15, 0.4), (middle + 0.15, 0.6))]
    if letter == "Ł":
        return [_line((0.02, 0.35), (middle + 0.08, 0.62))]
    if letter in "ĐÐ":
        return [_line((0.02, 0.5), (middle, 0.5))]
    if letter == "đ":
        return [_line((middle, _HIGH), (width, _HIGH))]
    return [_line((0.02, _HIGH), (0.55 * width + 0.1, _HIGH))]
