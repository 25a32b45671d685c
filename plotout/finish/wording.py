"""The lettering of a card: the words that fit beside its grain line and its code."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import chain, product

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPoint, Polygon
from shapely.geometry.base import BaseGeometry

from plotout.finish.bare_card import BareCard
from plotout.finish.card_marks import clear_of, shapes_of
from plotout.finish.card_words import blocks, cut, fewest, least, own_size, with_size
from plotout.finish.code import QUIET, coded
from plotout.finish.grain_marks import shortened_grains
from plotout.finish.label import LEGIBLE, SMALL, Lettering, lettered, lettered_level, squeezed
from plotout.finish.naming import label_strokes, listed
from plotout.geometry.region import line_shapes, lines_in
from plotout.geometry.strokes import Mark, Stroke
from plotout.pattern.model import PatternSet

_AROUND = 1.2  # mm of hatch left out around letters
_SHARES = (1.0, 0.6, 0.35)  # of a grain line, which is shortened where letters have no room
_SPACE = 3.5  # mm: half of the widest gap between words that is kept clear of hatch
_Found = tuple[tuple[str, ...], list[Stroke], Lettering]
_OFF = 3.0  # mm more than from other marks to words that a line would be read on with
_HATCHED = (Mark.AREA, Mark.UNDERLAP)


def _grained_and_lettered(
    made: BareCard,
    shape: BaseGeometry,
    taken: Sequence[BaseGeometry],
    words: Sequence[str],
    height: float,
) -> tuple[list[Stroke], Lettering]:
    """Return the grain line's strokes and the lettering; the grain line yields to the letters.

    If they would be turned beside the whole grain line, or small, a shorter one is tried; if they
    would still be small, they are written over a sparse hatch.
    """
    best: tuple[list[Stroke], Lettering] | None = None
    hatched = [Polygon(area.points) for area in made.hatched]
    lines: list[list[Stroke]] = [[]]
    if made.grain is not None:
        lines = shortened_grains(made.grain, shape, taken, _SHARES, one_way=made.one_way)
    for arrows in lines[:2]:
        room = [*taken, *hatched, *shapes_of(arrows)]
        if level := lettered_level(words, shape, room, height, made.grain):
            return arrows, level
    for shaded in (hatched, []) if hatched else ([],):
        for arrows in lines:
            room = [*taken, *shaded, *shapes_of(arrows)]
            letters = lettered(words, shape, room, height, made.grain, titled=True)
            if best is None or _rank(letters) > _rank(best[1]):
                best = arrows, letters
            if letters.fits(min(height, LEGIBLE)):
                return best
    assert best is not None
    return best


def _rank(letters: Lettering) -> tuple[bool, float]:
    """Whole words are better than large ones."""
    return letters.size > 0.0 and not letters.cut, letters.size


def with_code(
    text: str,
    made: BareCard,
    shape: BaseGeometry,
    taken: Sequence[BaseGeometry],
    tiers: Sequence[tuple[str, ...]],
    words: tuple[str, ...],
    wanted: Sequence[str],
    height: float,
    before: tuple[list[Stroke], Lettering],
) -> tuple[list[Stroke], list[Stroke], Lettering]:
    """Return the QR code's strokes with the grain line's and the lettering.

    The code takes the room that the lettering leaves. If that is too small, the code goes to the
    card's foot with the lettering beside it, as the fullest of `tiers` (see `blocks`) that stays
    legible, no fuller than `words`, with all its orders and the set's own words. What it lacks of
    the `wanted` words is lettered beside that, if it has room. Otherwise there is no code.
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
                found = fewer, arrows, letters
                held, _, letters = _with_rest(found, wanted, made, shape, [*taken, zone])
                return code, arrows, _telling_lost(letters, tiers[0], held)
    return [], *before


def _telling_lost(letters: Lettering, wanted: Sequence[str], words: Sequence[str]) -> Lettering:
    """Return the lettering with a warning that lists the lines left out."""
    lost = []
    for line in wanted:
        if line not in words:  # of style and size, the size may stand alone
            there = next((word for word in words[1:] if line.endswith(f" {word}")), "")
            lost.append(line.removesuffix(f" {there}"))
    if not (letters.size and lost):
        return letters
    return _also(letters, f"it has no room for: {listed(lost)}")


def hatch_left(strokes: Sequence[Stroke]) -> list[Stroke]:
    """Return the strokes, without hatching where there are letters."""
    hatch = [s for s in strokes if s.mark in _HATCHED and len(s.points) == 2]
    letters = [s for s in strokes if s.mark is Mark.LETTERING]
    if not (hatch and letters):
        return list(strokes)
    # no stretch of hatch stands between letters, nor between words: it would read as a stroke
    lines = shapely.MultiLineString([s.points for s in hatch])
    shapely.prepare(lines)
    shapes = line_shapes([s.points for s in letters])
    near = shapely.dwithin(lines, shapes, _AROUND + 3.0 * _SPACE)  # others don't change it
    written = clear_of(shapes[near], _AROUND + _SPACE)
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
    tried: list[_Found] = []
    for words in tiers:
        arrows, letters = _grained_and_lettered(made, shape, taken, words, height)
        tried.append((words, arrows, letters))
        if letters.fits(min(height, LEGIBLE)):
            break
    fitting = (one for size in (LEGIBLE, SMALL) for one in tried if one[2].fits(min(height, size)))
    some = (one for one in tried if one[2].size)
    words, arrows, letters = next(chain(fitting, some), tried[0])
    number = str(numbers[0])
    if not letters.size:
        size = own_size(pattern_set)
        small = [(*tier, *size) for tier in ((title, *cut(made)), (title,), (number,))]
        small = small if size else small[:-1]
        letters, words, arrows = _squeezed(small, number, shape, taken, arrows)
    if letters.size and words[0] != number:
        found = words, arrows, letters
        wanted = least(pattern_set, tiers[0][-1], words)
        small = fewest(tiers, words, made, pattern_set)
        words, arrows, letters = _with_least(found, wanted, small, made, shape, taken)
        words = with_size(words, pattern_set)
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


def _with_least(
    found: _Found,
    wanted: Sequence[str],
    small: Sequence[tuple[str, ...]],
    made: BareCard,
    shape: BaseGeometry,
    taken: Sequence[BaseGeometry],
) -> _Found:
    """Return the words and the lettering with what they lack of the `wanted` in blocks beside them.

    If these have no room, one of the `small` tiers is lettered instead, as small as can be read, if
    the card has more of the `wanted` words then.
    """
    best = _with_rest(found, wanted, made, shape, taken)
    for words in small if wanted else ():
        if not _lacking(wanted, best[0]):
            break
        arrows, letters = _grained_and_lettered(made, shape, taken, words, SMALL)
        if letters.size >= SMALL:
            other = _with_rest((words, arrows, letters), wanted, made, shape, taken)
            best = min(best, other, key=lambda one: len(_lacking(wanted, one[0])))
    return best


def _with_rest(
    found: _Found,
    wanted: Sequence[str],
    made: BareCard,
    shape: BaseGeometry,
    taken: Sequence[BaseGeometry],
) -> _Found:
    words, arrows, letters = found
    rest = _lacking(wanted, words)
    letters, words = _beside(letters, words, rest, shape, [*taken, *shapes_of(arrows)], made)
    return words, arrows, letters


def _lacking(wanted: Sequence[str], words: Sequence[str]) -> list[str]:
    """Return the lines that the words lack. A style is there, too, with its size."""
    return [
        line
        for line in wanted
        if not any(word == line or word.startswith(f"{line} ") for word in words[1:])
    ]


def _beside(
    letters: Lettering,
    words: tuple[str, ...],
    rest: Sequence[str],
    shape: BaseGeometry,
    taken: Sequence[BaseGeometry],
    made: BareCard,
) -> tuple[Lettering, tuple[str, ...]]:
    """Return the lettering with the `rest` beside it: together, or line by line, the first first.

    Off the words along the card's edges, if there is room.
    """
    parts = (tuple(rest), tuple(rest[:1]), tuple(rest[1:]), *((line,) for line in rest))
    for lines, off in product(dict.fromkeys(parts), (_OFF, 0.0)):
        if not lines or set(lines) & set(words):
            continue
        room = [*taken, *(zone.buffer(off) for zone in letters.zones)]
        along = shapes_of(label_strokes(made.labels, shape, room).strokes)
        near = np.asarray(letters.zones[0].centroid.coords[0])
        for height, others in product((LEGIBLE, SMALL), (along, [])):
            more = lettered(lines, shape, [*room, *others], height, made.grain, near)
            if more.size >= min(height, letters.size):
                strokes, zones = letters.strokes + more.strokes, letters.zones + more.zones
                letters, words = replace(letters, strokes=strokes, zones=zones), (*words, *lines)
                break
    return letters, words


def _by_number(words: Sequence[str], number: int, pattern_set: PatternSet) -> str:
    alone = "alone" if len(words) == 1 else "and size alone"
    note = f"it shows its number {alone}, {', '.join(words)}: the contents card explains it"
    if len(words) == 1 and own_size(pattern_set):
        note += f"; write its size on it by hand: {pattern_set.size}"
    return note


def _also(letters: Lettering, warning: str) -> Lettering:
    return replace(letters, warning="; ".join(filter(None, (letters.warning, warning))))
