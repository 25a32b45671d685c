"""The lines of a card's lettering: all of them, fewer for small cards, and the least of all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from plotout.finish.bare_card import BareCard
from plotout.pattern.model import PatternSet


def blocks(
    made: BareCard, pattern_set: PatternSet, title: str, number: int, of: int
) -> list[tuple[str, ...]]:
    """Return the lines of a card's lettering: all of them, then fewer and fewer."""
    say = pattern_set.say
    named, day = style(pattern_set), dated(pattern_set)
    join = (say("join the parts before cutting"),) if made.parts > 1 and made.orders else ()
    name, last = pattern_set.name, say("card {number} of {of}", number=number, of=of)
    must = (*join, *cut(made), *made.words)
    tiers = [
        (title, name, named, *must, *made.facts, day, last),
        (title, name, named, *must, *made.facts[:-1], last),
        (title, named, *must, last),
        (title, named, *join, *cut(made), last),
        (title, *cut(made), *own_size(pattern_set)),
    ]
    return [tuple(line for line in tier if line) for tier in tiers]


def fewest(
    tiers: Sequence[tuple[str, ...]], words: Sequence[str], made: BareCard, pattern_set: PatternSet
) -> list[tuple[str, ...]]:
    """Return the fewest lines that a card should have, with its date and without.

    tiers: as `blocks` returns them. With the piece's own words if the `words` found so far have
    them.
    """
    small = tiers[2 if set(made.words) <= set(words) else 3]
    day = dated(pattern_set)
    return [(*small[:-1], day, small[-1]), small] if day else [small]


def style(pattern_set: PatternSet) -> str:
    """Return the style and the size, in words."""
    say = pattern_set.say
    named = say("style {style}", style=pattern_set.style) if pattern_set.style else ""
    size = say("size {size}", size=pattern_set.size) if pattern_set.size else ""
    return say.listed(named, size, by=" ")


def dated(pattern_set: PatternSet) -> str:
    """Return the date and the version, in words; "" if they are switched off."""
    if not pattern_set.defaults.on_cards.dated:
        return ""
    say, version = pattern_set.say, pattern_set.version
    return say.listed(pattern_set.date, version and say("version {version}", version=version))


def cut(made: BareCard) -> tuple[str, ...]:
    """Return what to cut and how it lies in the cloth: cut as it usually lies, it is spoilt."""
    return (*made.orders, *made.laying)


def own_size(pattern_set: PatternSet) -> tuple[str, ...]:
    """Return the words that keep a card apart from the same card in other sizes, if there are any.

    They are the last to be left out: the sizes of a style are cut together.
    """
    size = pattern_set.size if len(pattern_set.sizes) > 1 else ""
    return (pattern_set.say("size {size}", size=size),) if size else ()


def least(pattern_set: PatternSet, number: str, words: Sequence[str]) -> tuple[str, ...]:
    """Return the lines without which no card should be that it lacks, the most important first.

    They are its number, the style, and the date and version: without these nobody knows which set
    it belongs to. Where its size stands alone, the style does too. See `with_size`.
    """
    named = style(pattern_set)
    if named not in words and any(size in words for size in own_size(pattern_set)):
        named = style(replace(pattern_set, size=""))
    lines = (number, named, dated(pattern_set))
    return tuple(line for line in lines if line and line not in words)


def with_size(words: Sequence[str], pattern_set: PatternSet) -> tuple[str, ...]:
    """Return the lines, with the style for a style that stands without its size."""
    alone, whole = style(replace(pattern_set, size="")), style(pattern_set)
    return tuple(whole if word == alone else word for word in words)
