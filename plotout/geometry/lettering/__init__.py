"""Lettering: text of any script as polylines that a pen can follow.

Latin, Greek and Cyrillic are single strokes (A. V. Hershey's letters). Other scripts are outlines
of a font's letters, set by HarfBuzz, in the direction given by the Unicode bidirectional algorithm
(UAX #9).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from functools import lru_cache

import numpy as np

from plotout.geometry.lettering import stroke_font
from plotout.geometry.lettering.runs import TextRun, text_runs
from plotout.geometry.strokes import FloatArray

__all__ = ["text_lines", "text_width", "undrawable", "wrapped"]

_OPENING = frozenset("([{「『【〔〈《（［｛")
_CLOSING = frozenset(
    ")]},.:;!?/%、。，．・：；？！ー」』】〕〉》）］｝々〜～ぁぃぅぇぉっゃゅょゎァィゥェォッャュョヮ0123456789"
)
"""What no line may begin with (after JIS X 4051; figures, to stay with what they count)."""
_BLANK = re.compile(r"(?<!\d)\s+|\s+(?!(?:mm|cm|in|x)\b)")
_BOX = np.array([[0.2, 0.0], [0.7, 0.0], [0.7, 1.0], [0.2, 1.0], [0.2, 0.0]])
_BOX_WIDTH = 0.9


def text_lines(text: str, height: float) -> list[FloatArray]:
    """Return `text` as polylines, (n, 2) each, mm, y up.

    Capitals are `height` mm high and stand on the baseline, which starts at 0, 0 at the left in
    every script; descenders go below it. A letter that `undrawable` names is a box as high as a
    capital.
    """
    return [line * height for line in _set(text)]


def text_width(text: str, height: float) -> float:
    """Return the length of the baseline of `text`, including side bearings, mm."""
    return _width(text) * height


def wrapped(line: str, width: float, size: float, cut_words: bool = True) -> list[str]:
    """Break a line between words so that each part is at most `width` mm wide.

    Scripts without blanks between words may be broken between any two letters as wide as they are
    high (the ID class of UAX #14). A word wider than the line stays whole unless `cut_words`.
    """
    return list(_wrapped(line, width, size, cut_words))


@lru_cache(maxsize=4096)  # a card's lines are tried in many places
def _wrapped(line: str, width: float, size: float, cut_words: bool) -> tuple[str, ...]:
    parts: list[str] = []
    for blank, unbroken in _unbroken(line):
        cut = list(_cut_up(unbroken, width, size)) if cut_words else [unbroken]
        for index, word in enumerate(cut):
            longer = f"{parts[-1]}{'' if index else blank}{word}" if parts else word
            if parts and text_width(longer, size) <= width:
                parts[-1] = longer
            else:
                parts.append(word)
    return tuple(parts)


def _unbroken(line: str) -> Iterator[tuple[str, str]]:
    """Yield the unbreakable parts of a line, with the blank, or nothing, before them.

    A unit, and the x of so many times, stay with their figure.
    """
    for word in _BLANK.split(line.strip()):
        blank, start = " ", 0
        for at in range(1, len(word)):
            if _may_break(word[at - 1], word[at]):
                yield blank, word[start:at]
                blank, start = "", at
        yield blank, word[start:]


def _may_break(before: str, after: str) -> bool:
    wide = "W" in (unicodedata.east_asian_width(before), unicodedata.east_asian_width(after))
    return wide and before not in _OPENING and after not in _CLOSING


def _cut_up(word: str, width: float, size: float) -> Iterator[str]:
    """Yield a word, divided only if it is wider than a whole line."""
    start = 0
    for end in range(1, len(word) + 1):
        if text_width(word[start : end + 1], size) > width or end == len(word):
            yield word[start:end]
            start = end


def undrawable(text: str) -> str:
    """Return the letters of `text` that neither the stroke font nor an installed font can draw."""
    lacking: dict[str, None] = {}
    for run in text_runs(text):
        if not run.stroked:
            shaped = _outlines(run)
            lacking |= dict.fromkeys(run.text if shaped is None else shaped[2])
    return "".join(lacking)


@lru_cache(maxsize=4096)
def _set(text: str) -> tuple[FloatArray, ...]:
    """Return the text's polylines at a cap height of 1."""
    lines: list[FloatArray] = []
    pen = 0.0
    for run in text_runs(text):
        shapes, width = _run_lines(run)
        lines += [np.add(shape, (pen, 0.0)) for shape in shapes]
        pen += width
    return tuple(lines)


@lru_cache(maxsize=4096)  # where words are wrapped, more lines are measured than are drawn
def _width(text: str) -> float:
    """Return the text's width at a cap height of 1."""
    return sum((_run_lines(run)[1] for run in text_runs(text)), 0.0)


def _run_lines(run: TextRun) -> tuple[list[FloatArray], float]:
    if run.stroked:
        return stroke_font.glyph(run.text)
    shaped = _outlines(run)
    if shaped is not None and not shaped[2]:
        return shaped[0], shaped[1]
    count = len(run.text)
    return [np.add(_BOX, (_BOX_WIDTH * at, 0.0)) for at in range(count)], _BOX_WIDTH * count


def _outlines(run: TextRun) -> tuple[list[FloatArray], float, str] | None:
    """Return the run's outlines, its width and the letters it lacks; None without a font."""
    if not run.has_shape:
        return None
    from plotout.geometry.lettering import outline_font

    return outline_font.shaped(run.text, rightwards=not run.leftwards)
