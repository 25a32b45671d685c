"""Letters as single strokes: Latin with its accents, Greek and Cyrillic.

They are A. V. Hershey's (National Bureau of Standards, 1967): Roman Simplex, Greek Simplex and
Cyrillic. Accents are composed by Unicode's canonical decompositions.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from functools import cache
from typing import Any

import numpy as np

from plotout.geometry.lettering.accents import ACCENTS, BELOW, THROUGH, bars
from plotout.geometry.lettering.further import FURTHER, further_glyph
from plotout.geometry.strokes import FloatArray

_GREEK = dict(zip("ΑΒΓΔΕΖΗΘΙΚΛΜΝΞΟΠΡΣΤΥΦΧΨΩ", "ABCDEFGHIJKLMNOPQRSTUVWX", strict=True)) | dict(
    zip("αβγδεζηθικλμνξοπρστυφχψω", "abcdefghijklmnopqrstuvwx", strict=True)
)
_CYRILLIC = dict(
    zip("АБЭДИФГЖЧКЛМНОПШРСТЮВЩХУЗЕЪЯЬЦЫ", "ABCDEFGHJKLMNOPQRSTUVWXYZ[]^_`$", strict=True)
)
_CYRILLIC |= dict(
    zip("абдфгжичклмнопшрстювщхузеъяьцы", "abdfghijklmnopqrstuvwxyz{|}~%&", strict=True)
)
_KEYS = {letter: ("greeks", key) for letter, key in _GREEK.items()}
_KEYS |= {letter: ("cyrillic", key) for letter, key in _CYRILLIC.items()}
_KEYS |= {chr(code): ("rowmans", chr(code)) for code in range(0x20, 0x7F)}
_KEYS |= {"°": ("rowmans", "\x7f")}
_SMALLER = {"э": "Э"}  # the font's Cyrillic has only the capital
_X_HEIGHT = 2.0 / 3.0  # of a capital, in Hershey's fonts
_DOTLESS = {"ı": "i", "ȷ": "j"}
_JOINED = {"æ": "ae", "Æ": "AE", "œ": "oe", "Œ": "OE"}
_OVERLAP = 0.2  # of a capital: overlap of two joined letters
_SPELLED = {
    "×": "x", "⁄": "/", "∕": "/", "·": ".", "•": "*",
    "−": "-", "‐": "-", "‑": "-", "‒": "-", "–": "-", "—": "-", "―": "-", "‘": "'", "’": "'",
    "‚": ",", "‛": "'", "“": '"', "”": '"', "„": '"', "′": "'", "″": '"', "«": '"', "»": '"',
    "\t": " ", "\n": " ", "\r": " ", "\u00a0": " ", "\u202f": " ", "\u2009": " ",
    "µ": "μ", "Ω": "Ω",
}  # fmt: skip


def spelled(text: str) -> str:
    """Return `text` (NFC) with quotes, dashes and fractions as the font has them."""
    out: list[str] = []
    for letter in text:
        if letter in _SPELLED:
            out.append(_SPELLED[letter])
        elif unicodedata.decomposition(letter).startswith("<fraction>"):
            out.append(" " if out and out[-1][-1].isdigit() else "")  # 1½ is not 11/2
            out.append("".join(_SPELLED.get(c, c) for c in unicodedata.normalize("NFKD", letter)))
        elif _has_base(letter):
            out.append(letter)
        elif unicodedata.decomposition(letter).startswith("<") and _has_compatible(letter):
            out.append(unicodedata.normalize("NFKC", letter))
        else:
            out.append(letter)
    return "".join(out)


def _has_compatible(letter: str) -> bool:
    """Return whether a compatible spelling, such as that of a full-width letter, can be drawn."""
    return all(has(part) for part in clusters(unicodedata.normalize("NFKC", letter)))


def clusters(text: str) -> Iterator[str]:
    """Yield letters, with the accents that follow them."""
    waiting = ""
    for letter in text:
        if waiting and not (unicodedata.combining(letter) or letter in "\u200c\u200d"):
            yield waiting
            waiting = ""
        waiting += letter
    if waiting:
        yield waiting


@cache
def has(cluster: str) -> bool:
    """Return whether the font draws a letter with its accents."""
    base, *accents = list(unicodedata.normalize("NFD", cluster))
    return _has_base(base) and all(accent in ACCENTS for accent in accents)


def _has_base(letter: str) -> bool:
    known = (_KEYS, _SMALLER, _DOTLESS, _JOINED, THROUGH, FURTHER)
    return any(letter in letters for letters in known)


@cache
def glyph(cluster: str) -> tuple[list[FloatArray], float]:
    """Return the polylines of a letter that the font has, at a cap height of 1, and its width."""
    base, *accents = list(unicodedata.normalize("NFD", cluster))
    over = [accent for accent in accents if accent not in BELOW]
    lines, width = _base(base)
    if over and base in "ij":
        lines = _without_dot(lines)
    top = max((float(line[:, 1].max()) for line in lines), default=_X_HEIGHT)
    for accent in accents:
        if accent in BELOW:
            at = (width / 2.0, 0.0)
        else:
            at = (width / 2.0, max(top, _X_HEIGHT))
            top += 0.28
        lines = [*lines, *(np.add(line, at) for line in ACCENTS[accent])]
    return lines, width


def _base(letter: str) -> tuple[list[FloatArray], float]:
    if letter in _SMALLER:
        lines, width = _base(_SMALLER[letter])
        return [line * _X_HEIGHT for line in lines], width * _X_HEIGHT
    if letter in _DOTLESS:
        lines, width = _base(_DOTLESS[letter])
        return _without_dot(lines), width
    if letter in _JOINED:
        (first, wide), (second, more) = map(_base, _JOINED[letter])
        shift = wide - _OVERLAP
        return [*first, *(np.add(line, (shift, 0.0)) for line in second)], shift + more
    if letter in THROUGH:
        lines, width = _base(THROUGH[letter])
        return [*lines, *bars(letter, width)], width
    if letter in FURTHER:
        return further_glyph(letter, _base)
    name, key = _KEYS[letter]
    return _hershey(name, key)


def _without_dot(lines: list[FloatArray]) -> list[FloatArray]:
    return [line for line in lines if line[:, 1].min() < _X_HEIGHT]


def _hershey(name: str, key: str) -> tuple[list[FloatArray], float]:
    shape = _font(name)[key]
    scale = 1.0 / (shape.base_line - shape.cap_line)
    lines = []
    for stroke in shape.strokes:
        x, y = np.array(stroke, dtype=np.float64).T
        lines.append(np.column_stack([x - shape.left_offset, shape.base_line - y]) * scale)
    return lines, shape.char_width * scale


@cache
def _font(name: str) -> dict[str, Any]:
    from HersheyFonts import HersheyFonts

    font = HersheyFonts()
    font.load_default_font(name)
    return dict(font.all_glyphs)
