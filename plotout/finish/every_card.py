"""Makes the cards of a whole set, once it is seen that all their letters can be drawn."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

from plotout import parallel
from plotout.errors import Place, UserError, all_of, collecting_errors
from plotout.files import slug
from plotout.finish.bare_card import BareCard
from plotout.finish.collisions import holes_on_joins
from plotout.finish.complete import Begun, begun, card
from plotout.finish.contents import contents
from plotout.finish.derive import possible_pieces
from plotout.finish.grade_marks import RuleNumbers
from plotout.finish.hang import common_inset
from plotout.finish.partners import partners
from plotout.finish.prepare import bare_card, ready
from plotout.finish.split import parts
from plotout.geometry.lettering import undrawable
from plotout.model import Card
from plotout.pattern.model import PatternSet
from plotout.tongue import ENGLISH, letters

_MANY = 8
"""Cards from which on finishing them takes longer than beginning processes for them."""
_INSTALL = "Install a font for that script, or name one: PLOTOUT_FONT=/folder/font.ttf"
_SHOWN = 8  # letters of those that no font has


def finish(
    pattern_set: PatternSet,
    window: tuple[float, float] | None = None,
    *,
    upright: bool = False,
) -> tuple[Card, ...]:
    """Return the cards of the set, its contents card last.

    window: width and height in mm of the largest card that the stock holds, in either orientation
    unless `upright`; a piece that doesn't fit is split. Raises UserError with all that
    can't be made.
    """
    check_letters(pattern_set)
    defaults = pattern_set.defaults
    bare_cards: list[BareCard] = []
    made, refused = possible_pieces(pattern_set)
    met = partners(pattern_set.with_pieces(made))
    with collecting_errors() as trying:
        for fault in refused:
            with trying():
                raise fault
        for piece in made:
            with trying():
                shown = ready(piece)
                bare = bare_card(shown, defaults, pattern_set.seams, pattern_set.say, met)
                divided = parts(
                    bare, shown.splits, window, defaults.underlap, pattern_set.say, upright=upright
                )
                wrong = (*bare.uncuttable, *holes_on_joins(shown, bare, divided))
                if wrong:
                    raise all_of(wrong)
                bare_cards += divided
    bare_cards += contents(pattern_set, bare_cards, window, upright=upright)
    names = _names(bare_cards)
    starts = [begun(made, defaults, pattern_set.say) for made in bare_cards]
    inset = common_inset([start.plumb for start in starts], defaults.hole_inset)
    numbered = list(enumerate(zip(starts, names, strict=True), start=1))
    finished = partial(_card, pattern_set, inset, len(starts))
    many = len(starts) >= _MANY
    cards = parallel.results(finished, numbered, brief=True) if many else map(finished, numbered)
    rules = RuleNumbers()
    return tuple(
        replace(card, size=pattern_set.size, grades=rules.marks(made.graded, made.grain))
        for card, made in zip(cards, bare_cards, strict=True)
    )


def _card(
    pattern_set: PatternSet, inset: float, of: int, numbered: tuple[int, tuple[Begun, str]]
) -> Card:
    number, (start, name) = numbered
    return card(start, pattern_set, inset, number, of, name)


def _names(bare_cards: list[BareCard]) -> list[str]:
    """Return the cards' ids: the piece's name, its part, and a number if that is taken."""
    taken: list[str] = []
    for made in bare_cards:
        base = slug(made.piece) + (f"-part-{made.part}" if made.parts > 1 else "")
        name, index = base, 2
        while name in taken:
            name, index = f"{base}-{index}", index + 1
        taken.append(name)
    return taken


def check_letters(pattern_set: PatternSet) -> None:
    """Raise UserError for a language, or the first name, that no available font can letter."""
    language = pattern_set.say.language
    if language != ENGLISH and undrawable(letters(language)):
        raise UserError(
            f'no font on this computer has all the letters that language = "{language}" needs for '
            "the words on its cards",
            fix=f"{_INSTALL}, or leave language out for English words.",
        )
    for text, piece in _lettered(pattern_set):
        lacking = undrawable(text)
        if not lacking:
            continue
        if lacking.isprintable():
            many = ", ..." if len(lacking) > _SHOWN else ""
            which = f"no font on this computer has {', '.join(lacking[:_SHOWN])}{many}, of '{text}'"
        else:
            which = f"'{_shown(text)}' holds characters that can't be drawn"
        raise UserError(which, fix=f"{_INSTALL}.", place=Place(piece=piece))


def _shown(text: str) -> str:
    """Return a text in which what can't be seen stands by its number in Unicode."""
    return "".join(sign if sign.isprintable() else f"<U+{ord(sign):04X}>" for sign in text)


def _lettered(pattern_set: PatternSet) -> Iterator[tuple[str, str | None]]:
    yield f"{pattern_set.name} {pattern_set.style} {pattern_set.size}", None
    yield from ((caution, None) for caution in pattern_set.cautions)
    for piece in pattern_set.pieces:
        yield piece.name, piece.name
        names = [edge.name for edge in piece.edges]
        names += [line.name for line in piece.lines]
        names += [area.name for area in piece.areas]
        names += [cut.cloth for cut in piece.cuts]
        for text in (*names, *piece.words):
            yield text, piece.name
