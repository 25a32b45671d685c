"""Programs for knives and beams in the styles in which others write them, after NIST IR 6556: words
that hold over lines, one axis alone, numbered lines, lifts by a feed, beams that stay on.
"""

from __future__ import annotations

import random
from collections.abc import Sequence

Line = Sequence[tuple[float, float]]


def program(rng: random.Random, lines: Sequence[Line], beam: bool) -> bytes:
    """Return a program that works these lines, mm, in one of many styles."""
    style = rng.choice(("each", "each S", "S0", "G0", "S0 alone", "one line")) if beam else "Z"
    text = ["(part from elsewhere)", "G21 G90 G17", rng.choice(("G94", "G54", "G61"))]
    text += _begun(rng, style)
    up = rng.choice(("G0 Z5", "G1 Z5 F6000", "G0 Z1\nG0 Z5", "Z5"))
    holds = rng.random() < 0.5
    for line in lines:
        text += _reached(rng, style, line[0])
        text += _worked(rng, style, line, holds)
        text += [up] if style == "Z" else []
    text += ["M5", *rng.choice(([], ["G0 X0 Y0"])), rng.choice(("M2", "M30", "M2\n%"))]
    return _written(rng, "\n".join(text).split("\n"))


def _begun(rng: random.Random, style: str) -> list[str]:
    if style == "Z":
        return [rng.choice(("G0 Z5", "G1 Z5 F6000", "G00 Z5.0"))]
    if style in ("each", "one line"):
        return ["M5", "S500"]
    if style == "each S":
        return ["M5"]
    return ["M5", "G0 X0 Y0", "M4 S500" if style == "G0" else "M4 S0"]


def _reached(rng: random.Random, style: str, place: tuple[float, float]) -> list[str]:
    """Go to a line's first place, and let the tool down, or switch it on."""
    there = f"G0 X{place[0]:.3f} Y{place[1]:.3f}"
    if style == "Z":
        there = there if rng.random() < 0.7 else there.replace(" Y", "\nY")
        return [there, "G1 Z-1 F3000" if rng.random() < 0.7 else "G1 Z0.5 F3000\nZ-1"]
    return {
        "each": ["M5", there, "M3"],
        "each S": ["M5", there, "M4 S500"],
        "S0": [f"{there} S0"],
        "S0 alone": ["S0", there, "S500"],
        "one line": [f"M5 {there}"],
    }.get(style, [there])


def _worked(rng: random.Random, style: str, line: Line, holds: bool) -> list[str]:
    text, at = [], line[0]
    for nth, (x, y) in enumerate(line[1:]):
        words = f"X{x:.3f} Y{y:.3f}"
        if rng.random() < 0.5 and x == at[0]:
            words = f"Y{y:.3f}"
        elif rng.random() < 0.5 and y == at[1]:
            words = f"X{x:.3f}"
        motion = "" if holds and nth else "G1 "
        on = "M3 " if style == "one line" and not nth else ""
        feed = "" if nth else " F15000"
        text.append(on + motion + words + feed + (" S500" if style == "S0" else ""))
        at = (x, y)
    return text


def _written(rng: random.Random, lines: Sequence[str]) -> bytes:
    """Number the lines, leave some empty, or write them small."""
    numbered, lower, blanks = (rng.random() < 0.3 for _ in range(3))
    end, step = rng.choice(("\n", "\r\n")), rng.choice((1, 10))
    out = []
    for nth, line in enumerate(lines, 1):
        plain = line.startswith(("(", "%"))
        text = line.lower() if lower and not plain else line
        out.append(f"N{step * nth} {text}" if numbered and not plain else text)
        out += [""] if blanks and rng.random() < 0.1 else []
    return (end.join(out) + end).encode()
