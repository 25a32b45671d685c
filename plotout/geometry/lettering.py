"""Single-stroke lettering: text as polylines that a pen can follow.

The letters are A. V. Hershey's Roman Simplex (National Bureau of Standards, 1967), which has ASCII
and the degree sign. What it lacks is folded to its nearest plain spelling, or drawn as a box.
"""

from __future__ import annotations

import unicodedata
from functools import cache, lru_cache
from typing import Any

import numpy as np

from plotout.geometry.strokes import FloatArray

_FONT = "rowmans"
_DEGREE = "\x7f"  # where the font keeps it
_PLAIN = {
    "°": _DEGREE, "º": _DEGREE, "×": "x", "÷": "/", "⁄": "/", "∕": "/", "·": ".", "•": "*",
    "−": "-", "‐": "-", "‑": "-", "‒": "-", "–": "-", "—": "-", "―": "-", "‘": "'", "’": "'",
    "‚": ",",
    "‛": "'", "“": '"', "”": '"', "„": '"', "′": "'", "″": '"', "«": '"', "»": '"', "ß": "ss",
    "ẞ": "SS", "æ": "ae", "Æ": "AE", "œ": "oe", "Œ": "OE", "ø": "o", "Ø": "O", "đ": "d", "Đ": "D",
    "ð": "d", "Ð": "D", "þ": "th", "Þ": "Th", "ł": "l", "Ł": "L", "ħ": "h", "Ħ": "H", "ı": "i",
    "ŋ": "n", "Ŋ": "N", "¡": "!", "¿": "?", "€": "EUR", "£": "GBP",
    "\t": " ", "\n": " ", "\r": " ",
}  # fmt: skip
_BOX = np.array([[0.2, 0.0], [0.7, 0.0], [0.7, 1.0], [0.2, 1.0], [0.2, 0.0]])
_BOX_WIDTH = 0.9


def text_lines(text: str, height: float) -> list[FloatArray]:
    """Return `text` as polylines, each (n, 2) in mm, y up.

    Capitals are `height` mm high and stand on the baseline, which starts at 0, 0; descenders go
    below it. Accents are dropped, quotes and dashes made plain; any other character that the
    font lacks is drawn as a box as high as a capital.
    """
    return [line * height for line in _unit_lines(text)]


def text_width(text: str, height: float) -> float:
    """Return how far the baseline of `text` runs in mm, its side bearings included."""
    return _unit_width(text) * height


@lru_cache(maxsize=4096)
def _unit_width(text: str) -> float:
    pen = 0.0
    for letter in _plain(text):  # as the letters are set: sum() rounds otherwise
        pen += _glyph(letter)[1]
    return pen


@lru_cache(maxsize=1024)
def _unit_lines(text: str) -> tuple[FloatArray, ...]:
    lines: list[FloatArray] = []
    pen = 0.0
    for letter in _plain(text):
        shapes, width = _glyph(letter)
        lines += [shape + np.array([pen, 0.0]) for shape in shapes]
        pen += width
    return tuple(lines)


@cache
def _glyph(letter: str) -> tuple[tuple[FloatArray, ...], float]:
    """Return one letter's polylines at a cap height of 1, and its width."""
    glyph = _font().get(letter)
    if glyph is None:
        return (_BOX,), _BOX_WIDTH
    scale = 1.0 / (glyph.base_line - glyph.cap_line)
    shapes = []
    for stroke in glyph.strokes:
        x, y = np.array(stroke, dtype=np.float64).T
        shapes.append(np.column_stack([x - glyph.left_offset, glyph.base_line - y]) * scale)
    return tuple(shapes), glyph.char_width * scale


@cache
def _font() -> dict[str, Any]:
    from HersheyFonts import HersheyFonts

    font = HersheyFonts()
    font.load_default_font(_FONT)
    return dict(font.all_glyphs)


def _plain(text: str) -> str:
    """Return `text` in the font's characters; one that has no plain spelling stays as it is."""
    spelled: list[str] = []
    for letter in unicodedata.normalize("NFC", text):
        if letter == _DEGREE:
            spelled.append("\x00")  # a control character, not the font's degree sign
        elif letter in _PLAIN:
            spelled.append(_PLAIN[letter])
        else:
            if unicodedata.decomposition(letter).startswith("<fraction>") and spelled:
                spelled.append(" " if spelled[-1].isdigit() else "")  # 1½ is not 11/2
            spelled.append(_unaccented(letter, first=not spelled))
    return "".join(spelled)


def _unaccented(letter: str, *, first: bool) -> str:
    if unicodedata.combining(letter) and not first:
        return ""  # it sits on the letter before it
    parts = [part for part in unicodedata.normalize("NFKD", letter)
             if not unicodedata.combining(part)]  # fmt: skip
    plain = "".join(_PLAIN.get(part, part) for part in parts)
    return plain if plain.isascii() and plain else letter
