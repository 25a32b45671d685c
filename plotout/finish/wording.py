"""The lettering of a card: the words that fit beside its grain line and its code."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import product

import numpy as np
from shapely.geometry import LineString, MultiPoint, Polygon
from shapely.geometry.base import BaseGeometry

from plotout.finish.bare_card import BareCard
from plotout.finish.card_marks import clear_of, grain_strokes, shapes_of
from plotout.finish.code import QUIET, coded
from plotout.finish.label import LEGIBLE, SMALL, Lettering, lettered, squeezed
from plotout.finish.naming import label_strokes
from plotout.geometry.region import lines_in
from plotout.geometry.strokes import Mark, Stroke
from plotout.pattern.model import PatternSet

_AROUND = 1.2  # mm of hatch left out around letters
_SPACE = 3.5  # mm: half of the widest gap between words that is kept clear of hatch
_HATCHED = (Mark.AREA, Mark.UNDERLAP)


def _grained_and_lettered(
    made: BareCard,
    shape: BaseGeometry,
    taken: Sequence[BaseGeometry],
    words: Sequence[str],
    height: float,
) -> tuple[list[Stroke], Lettering]:
    """Return the grain line's strokes and the lettering; the grain line yields to the letters.

    If the letters would be small beside the whole grain line, a shorter one is tried; if they
    would still be small, they are written over a sparse hatch.
    """
    best: tuple[list[Stroke], Lettering] | None = None
    hatched = [Polygon(area.points) for area in made.hatched]
    for shaded in (hatched, []) if hatched else ([],):
        for share in (1.0, 0.6, 0.35) if made.grain is not None else (1.0,):
            arrows: list[Stroke] = []
            if made.grain is not None:
                arrows = grain_strokes(made.grain, shape, taken, share, one_way=made.one_way)
            room = [*taken, *shaded, *shapes_of(arrows)]
            letters = lettered(words, shape, room, height, made.grain, titled=True)
            if best is None or letters.size > best[1].size:
                best = arrows, letters
            if letters.size >= min(height, LEGIBLE):
                return best
    assert best is not None
    return best


def with_code(
    text: str,
    made: BareCard,
    shape: BaseGeometry,
    taken: Sequence[BaseGeometry],
    tiers: Sequence[tuple[str, ...]],
    words: tuple[str, ...],
    height: float,
    before: tuple[list[Stroke], Lettering],
) -> tuple[list[Stroke], list[Stroke], Lettering]:
    """Return the QR code's strokes with the grain line's and the lettering.

    The code takes the room that the lettering leaves. If that is too small, the code goes to the
    card's foot with the lettering beside it, as the fullest of `tiers` (see `blocks`) that stays
    legible, no fuller than `words`, with all its orders and the set's own words. Otherwise there
    is no code.
    """
    arrows, letters = before
    code = coded(text, shape, [*taken, *letters.zones, *shapes_of(arrows)])
    if code:
        return code, arrows, letters
    code = coded(text, shape, taken, low=True)
    if code:
        zone = MultiPoint(np.vstack([stroke.points for stroke in code])).envelope.buffer(QUIET)
        must = {*made.orders, *made.laying, *made.words}.intersection(words)
        for fewer in [words, *(tier for tier in tiers if must <= set(tier) < set(words))]:
            arrows, letters = _grained_and_lettered(made, shape, [*taken, zone], fewer, height)
            if letters.size >= min(height, LEGIBLE):
                return code, arrows, _telling_lost(letters, tiers[0], fewer)
    return [], *before


def _telling_lost(letters: Lettering, wanted: Sequence[str], words: Sequence[str]) -> Lettering:
    """Return the lettering with a warning that lists the lines left out."""
    last = words[-1] if words else ""  # a size may stand alone, without the style before it
    lost = [line.removesuffix(f" {last}") for line in wanted if line not in words]
    if not (letters.size and lost):
        return letters
    return _also(letters, f"it has no room for: {'; '.join(lost)}")


def hatch_left(strokes: Sequence[Stroke]) -> list[Stroke]:
    """Return the strokes, without hatching where there are letters."""
    hatch = [s for s in strokes if s.mark in _HATCHED and len(s.points) == 2]
    letters = [s for s in strokes if s.mark is Mark.LETTERING]
    if not (hatch and letters):
        return list(strokes)
    # no stretch of hatch stands between letters, nor between words: it would read as a stroke
    written = clear_of([LineString(s.points) for s in letters], _AROUND + _SPACE)
    written = written.buffer(-_SPACE, quad_segs=4)
    found: list[Stroke] = []
    for stroke in strokes:
        if stroke not in hatch:
            found.append(stroke)
            continue
        for part in lines_in(LineString(stroke.points).difference(written)):
            if part.length > _AROUND:
                found.append(replace(stroke, points=np.asarray(part.coords)))
    return found


def worded(
    made: BareCard,
    shape: BaseGeometry,
    taken: Sequence[BaseGeometry],
    pattern_set: PatternSet,
    title: str,
    numbers: tuple[int, int],
) -> tuple[tuple[str, ...], list[Stroke], Lettering]:
    """Return the words that fit, the grain line's strokes and the lettering.

    On a small card words are left out, the least important first, rather than become too small to
    read; a card with room for no words shows its number, so that none is blank.
    """
    height = pattern_set.defaults.lettering
    tiers = blocks(made, pattern_set, title, *numbers)
    tried: list[tuple[tuple[str, ...], list[Stroke], Lettering]] = []
    for words in tiers:
        arrows, letters = _grained_and_lettered(made, shape, taken, words, height)
        tried.append((words, arrows, letters))
        if letters.size >= min(height, LEGIBLE):
            break
    found = (one for least in (LEGIBLE, SMALL, 1e-9) for one in tried
             if one[2].size >= min(height, least))  # fmt: skip
    words, arrows, letters = next(found, tried[0])
    if not letters.size:
        size = _own_size(pattern_set)
        small = [(*tier, *size) for tier in ((title, *_cut(made)), (title,), (str(numbers[0]),))]
        small = small if size else small[:-1]
        letters, words, arrows = _squeezed(small, str(numbers[0]), shape, taken, arrows)
    last = tiers[0][-1]
    if letters.size and last not in words and words[0] != str(numbers[0]):
        room = [*taken, *letters.zones, *shapes_of(arrows)]
        letters, words = _numbered(letters, words, last, shape, room, made)
    warning = _telling_lost(letters, tiers[0], words)
    if words and words[0] == str(numbers[0]):
        warning = _also(warning, _by_number(words, numbers[0], pattern_set))
    return words, arrows, warning


def _squeezed(
    tiers: Sequence[tuple[str, ...]],
    number: str,
    shape: BaseGeometry,
    taken: Sequence[BaseGeometry],
    arrows: list[Stroke],
) -> tuple[Lettering, tuple[str, ...], list[Stroke]]:
    """Return the lettering of a small card, its lines, and the grain line if it leaves room."""
    letters, words = squeezed(tiers, number, shape, [*taken, *shapes_of(arrows)])
    if arrows and words[:1] == (number,):
        alone, more = squeezed(tiers, number, shape, taken)
        if more[:1] != (number,):
            return alone, more, []
    return letters, words, arrows


def _numbered(
    letters: Lettering,
    words: tuple[str, ...],
    last: str,
    shape: BaseGeometry,
    taken: Sequence[BaseGeometry],
    made: BareCard,
) -> tuple[Lettering, tuple[str, ...]]:
    """Return the lettering with the card's number on a line of its own, where that has room.

    That is off the words along its edges, if there is room. A card can do without most of its words
    as long as it has its number on the contents card.
    """
    along = label_strokes(made.labels, shape, taken).strokes
    for height, others in product((LEGIBLE, SMALL), (shapes_of(along), [])):
        number = lettered([last], shape, [*taken, *others], height, made.grain)
        if number.size >= min(height, letters.size):
            strokes, zones = letters.strokes + number.strokes, letters.zones + number.zones
            return replace(letters, strokes=strokes, zones=zones), (*words, last)
    return letters, words


def _own_size(pattern_set: PatternSet) -> tuple[str, ...]:
    """Return the words that keep a card apart from the same card in other sizes, if there are any.

    They are the last to be left out: the sizes of a style are cut together.
    """
    size = pattern_set.size if len(pattern_set.sizes) > 1 else ""
    return (pattern_set.say("size {size}", size=size),) if size else ()


def _by_number(words: Sequence[str], number: int, pattern_set: PatternSet) -> str:
    alone = "alone" if len(words) == 1 else "and size alone"
    note = f"it shows its number {alone}, {', '.join(words)}: the contents card explains it"
    if len(words) == 1 and _own_size(pattern_set):
        note += f"; write its size on it by hand: {pattern_set.size}"
    return note


def _also(letters: Lettering, warning: str) -> Lettering:
    return replace(letters, warning="; ".join(filter(None, (letters.warning, warning))))


def blocks(
    made: BareCard, pattern_set: PatternSet, title: str, number: int, of: int
) -> list[tuple[str, ...]]:
    """Return the lines of a card's lettering: all of them, then fewer and fewer."""
    say = pattern_set.say
    style = say("style {style}", style=pattern_set.style) if pattern_set.style else ""
    if pattern_set.size:
        style = say.listed(style, say("size {size}", size=pattern_set.size), by=" ")
    dated = ""
    if pattern_set.defaults.on_cards.dated:
        version = pattern_set.version and say("version {version}", version=pattern_set.version)
        dated = say.listed(pattern_set.date, version)
    join = (say("join the parts before cutting"),) if made.parts > 1 and made.orders else ()
    name, last = pattern_set.name, say("card {number} of {of}", number=number, of=of)
    must = (*join, *_cut(made), *made.words)
    tiers = [
        (title, name, style, *must, *made.facts, dated, last),
        (title, name, style, *must, *made.facts[:-1], last),
        (title, style, *must, last),
        (title, style, *join, *_cut(made), last),
        (title, *_cut(made), *_own_size(pattern_set)),
    ]
    return [tuple(line for line in tier if line) for tier in tiers]


def _cut(made: BareCard) -> tuple[str, ...]:
    """Return what to cut and how it lies in the cloth: cut as it usually lies, it is spoilt."""
    return (*made.orders, *made.laying)
