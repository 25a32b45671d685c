"""Text divided into runs from left to right, each drawn by one font."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache

from plotout.geometry.lettering import stroke_font

_NO_LETTERS = ("Cc", "Cs", "Co", "Cn")  # Unicode's general categories
# Explicit direction marks (UAX #9, 2.1 to 2.4): a name has none, and none is drawn.
_ISOLATES = "\u2066\u2067\u2068"
_POP = "\u2069"
_OBJECT = "\ufffc"
_SET_BY_HAND = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}


@dataclass(frozen=True, slots=True)
class TextRun:
    """Text that is set together. leftwards: it reads from right to left.

    stroked: one letter of the stroke font, with its accents; else it is for an outline font.
    """

    text: str
    leftwards: bool
    stroked: bool

    @property
    def has_shape(self) -> bool:
        """Return whether it has letters only, no control character or lone surrogate."""
        return not _is_no_letter(self.text)


def text_runs(text: str) -> list[TextRun]:
    """Return the runs of a text in their visual order, from the left."""
    if text.isascii() and text.isprintable():  # as most are: it is drawn as it is spelled
        return [_letter(letter) for letter in text]
    plain = stroke_font.spelled(unicodedata.normalize("NFC", text))
    return [
        run for letters, leftwards in _by_direction(plain) for run in _by_font(letters, leftwards)
    ]


@cache
def _letter(letter: str) -> TextRun:
    return TextRun(letter, leftwards=False, stroked=True)


def _by_direction(text: str) -> Iterator[tuple[str, bool]]:
    """Yield stretches of one direction in visual order, from the left (UAX #9, rule L2).

    Text between FIRST STRONG ISOLATE and its POP is ordered separately, as one object of the
    surrounding text (BD8 to BD10); so are the direction isolates, by their first strong letter.
    """
    outer, isolates = _isolated(text)
    for stretch, leftwards, before in _in_order(outer):
        parts = stretch.split(_OBJECT)
        order = [(parts[0], False)]
        for index, part in enumerate(parts[1:]):
            order += [(isolates[before + index], True), (part, False)]
        for part, is_isolate in reversed(order) if leftwards else order:
            if is_isolate:
                yield from _by_direction(part)
            elif part:
                yield part, leftwards


def _isolated(text: str) -> tuple[str, list[str]]:
    """Return the text with an object for every isolate, and the isolates' texts."""
    text = text.replace(_OBJECT, "\ufffd")
    if text.isascii() or not any(letter in _ISOLATES for letter in text):
        return text, []
    outer, depth = "", 0
    inner: list[str] = []
    for letter in text:
        closes = letter == _POP and depth > 0
        depth -= closes
        if depth:
            inner[-1] += letter
        elif not closes and letter not in _ISOLATES:
            outer += letter
        if letter in _ISOLATES:
            if not depth:
                outer += _OBJECT
                inner.append("")
            depth += 1
    return outer, inner


def _in_order(text: str) -> Iterator[tuple[str, bool, int]]:
    """Yield stretches, whether they read leftwards, and how many objects precede them."""
    if not text.isascii():
        text = "".join(character for character in text if _direction(character) not in _SET_BY_HAND)
    levels = _levels(text)
    if not any(levels):
        yield text, False, 0
        return
    order = list(range(len(levels)))
    for least in range(max(levels), 0, -1):
        start = 0
        while start < len(order):
            stop = start
            while stop < len(order) and levels[order[stop]] >= least:
                stop += 1
            order[start:stop] = reversed(order[start:stop])
            start = max(stop, start + 1)
    stretch: list[int] = []
    for at in [*order, None]:
        if stretch and (at is None or levels[at] != levels[stretch[0]]):
            leftwards = levels[stretch[0]] % 2 == 1
            before = text[: min(stretch)].count(_OBJECT)
            yield "".join(text[i] for i in sorted(stretch)), leftwards, before
            stretch = []
        if at is not None:
            stretch.append(at)


def _levels(text: str) -> list[int]:
    """Return the embedding levels of the characters: odd if they read from right to left."""
    if text.isascii() or not any(_direction(letter) in ("R", "AL", "AN") for letter in text):
        return [0] * len(text)
    from bidi import algorithm

    text = "".join(_stand_in(letter) for letter in text)
    storage = algorithm.get_empty_storage()
    storage["base_level"] = base = algorithm.get_base_level(text)
    storage["base_dir"] = ("L", "R")[base]
    algorithm.get_embedding_levels(text, storage)
    algorithm.explicit_embed_and_overrides(storage)
    algorithm.resolve_weak_types(storage)
    algorithm.resolve_neutral_types(storage, False)
    algorithm.resolve_implicit_levels(storage, False)
    return [character["level"] for character in storage["chars"]]


def _stand_in(letter: str) -> str:
    """Return a substitute for a character of the two kinds that UAX #9 leaves out.

    For one unassigned in Unicode: left to right, its default. For a joiner: the one before it.
    """
    return {"": "a", "BN": "\u0300"}.get(_direction(letter), letter)


def _direction(letter: str) -> str:
    """Return a character's bidirectional class, "" if Unicode has no such character."""
    return unicodedata.bidirectional(letter)


def _by_font(text: str, leftwards: bool) -> Iterable[TextRun]:
    """Return a stretch's runs from left to right: stroke letters one by one, others together."""
    runs: list[TextRun] = []
    for cluster in stroke_font.clusters(text):
        if stroke_font.has(cluster):
            runs.append(TextRun(_mirrored(cluster) if leftwards else cluster, leftwards, True))
        elif runs and not runs[-1].stroked and not (_is_no_letter(cluster + runs[-1].text)):
            runs[-1] = replace(runs[-1], text=runs[-1].text + cluster)
        else:
            runs.append(TextRun(cluster, leftwards, stroked=False))
    return reversed(runs) if leftwards else runs


def _is_no_letter(text: str) -> bool:
    """Return whether there is a control character, a lone surrogate or similar."""
    return any(unicodedata.category(letter) in _NO_LETTERS for letter in text)


def _mirrored(letter: str) -> str:
    """Return a bracket as drawn in text that reads from right to left (UAX #9, L4)."""
    from bidi.mirror import MIRRORED

    return MIRRORED.get(letter, letter) if unicodedata.mirrored(letter[0]) else letter
