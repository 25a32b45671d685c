"""Letters as outlines of an installed font, shaped by HarfBuzz, at a cap height of 1.

The font is the one that PLOTOUT_FONT names, else the one that fontconfig finds for the letters. So
the same text can look different on another computer; its words stay the same.
"""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from plotout.errors import Place, UserError
from plotout.files import read_whole
from plotout.geometry.flatten import bezier_points
from plotout.geometry.strokes import FloatArray

VARIABLE = "PLOTOUT_FONT"
MOST_BYTES = 1 << 28  # the largest collections of Chinese fonts have some 100 MiB
_FLAT = 0.004  # of a cap height: 0.02 mm at 5 mm
_CAPITAL = 0.7  # of the em, if a font doesn't give the height of its capitals; common practice


def shaped(text: str, *, rightwards: bool) -> tuple[list[FloatArray], float, str] | None:
    """Return closed outlines, (n, 2) each, their width, and the letters without a shape.

    Return None if no font is installed. Raises UserError if PLOTOUT_FONT names no font.
    """
    best: tuple[list[FloatArray], float, str] | None = None
    for path, index in _fonts(text):
        made = _shaped(text, path, index, rightwards=rightwards)
        if not made[2]:
            return made
        if best is None or len(made[2]) < len(best[2]):
            best = made
    return best


def _fonts(text: str) -> Iterator[tuple[str, int]]:
    """Yield the user's font, then the computer's first font that has every letter."""
    if named := os.environ.get(VARIABLE):
        yield named, 0
    wanted = {ord(letter) for letter in text}
    for path, index, ranges in _installed():
        if all(any(low <= code <= high for low, high in ranges) for code in wanted):
            yield path, index
            return


@cache
def _installed() -> tuple[tuple[str, int, tuple[tuple[int, int], ...]], ...]:
    """Return the installed fonts in fontconfig's order, with their ranges of letters."""
    program = shutil.which("fc-match")
    if program is None:
        return ()
    try:
        done = subprocess.run(
            [program, "-s", "-f", "%{file}\t%{index}\t%{charset}\n", "sans"],
            capture_output=True, text=True, timeout=20, check=True,
        )  # fmt: skip
    except (OSError, subprocess.SubprocessError):
        return ()
    fonts = []
    for row in done.stdout.splitlines():
        path, index, letters = row.split("\t")
        ends = [letter.split("-") for letter in letters.split()]
        ranges = tuple((int(end[0], 16), int(end[-1], 16)) for end in ends)
        fonts.append((path, int(index) & 0xFFFF, ranges))
    return tuple(fonts)


@cache
def _font(path: str, index: int) -> tuple[Any, float]:
    """Return a font, and its units per cap height."""
    import uharfbuzz

    remedy = f"Let {VARIABLE} name a TrueType or OpenType font, or nothing."
    data = read_whole(Path(path), "font", MOST_BYTES, remedy)
    try:
        face = uharfbuzz.Face(data, index)
        font = uharfbuzz.Font(face)
        if not face.glyph_count:
            raise ValueError("no letters in it")
    except (OSError, ValueError, uharfbuzz.HarfBuzzError) as fault:
        raise UserError(
            "it can't be read as a font",
            fix=remedy,
            place=Place(file=Path(path)),
        ) from fault
    glyph = font.get_nominal_glyph(ord("H"))
    extents = font.get_glyph_extents(glyph) if glyph else None
    high = float(extents.y_bearing) if extents and extents.y_bearing > 0 else _CAPITAL * face.upem
    return font, high


def _shaped(
    text: str, path: str, index: int, *, rightwards: bool
) -> tuple[list[FloatArray], float, str]:
    import uharfbuzz

    font, high = _font(path, index)
    buffer = uharfbuzz.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    buffer.direction = "ltr" if rightwards else "rtl"
    uharfbuzz.shape(font, buffer)
    lines: list[FloatArray] = []
    lacking = ""
    pen = np.zeros(2)
    for info, at in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
        if info.codepoint == 0:
            lacking += text[info.cluster]
        offset = np.add(pen, (at.x_offset, at.y_offset))
        lines += [(line + offset) / high for line in _outline(path, index, info.codepoint)]
        pen = np.add(pen, (at.x_advance, at.y_advance))
    return lines, float(pen[0]) / high, lacking


@cache
def _outline(path: str, index: int, glyph: int) -> tuple[FloatArray, ...]:
    """Return a letter's outlines in the font's units, closed, flattened."""
    import uharfbuzz

    font, high = _font(path, index)
    lines: list[list[FloatArray]] = []

    def begin(x: float, y: float, _: Any) -> None:
        lines.append([np.array([[x, y]], float)])

    def straight(x: float, y: float, _: Any) -> None:
        lines[-1].append(np.array([[x, y]], float))

    def curve(*numbers: Any) -> None:
        ends = np.array([lines[-1][-1][-1], *np.reshape(numbers[:-1], (-1, 2))], float)
        lines[-1].append(bezier_points(ends, _FLAT * high)[1:])

    def close(_: Any) -> None:
        lines[-1].append(lines[-1][0])

    pens = uharfbuzz.DrawFuncs()
    pens.set_move_to_func(begin)
    pens.set_line_to_func(straight)
    pens.set_quadratic_to_func(curve)
    pens.set_cubic_to_func(curve)
    pens.set_close_path_func(close)
    font.draw_glyph(glyph, pens)
    return tuple(points for line in lines if len(points := np.vstack(line)) > 2)
