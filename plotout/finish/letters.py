"""Checks that every letter on a set's cards can be drawn on this computer."""

from __future__ import annotations

from collections.abc import Iterator

from plotout.errors import Place, UserError
from plotout.geometry.lettering import undrawable
from plotout.pattern.model import PatternSet
from plotout.tongue import ENGLISH, letters


def check_letters(pattern_set: PatternSet) -> None:
    """Raise UserError for the first name with a letter that no available font can draw."""
    for text, piece in _names(pattern_set):
        lacking = undrawable(text)
        if lacking:
            raise UserError(
                f"no font here has the letters '{lacking.encode('unicode_escape').decode()}' "
                f"({lacking}) of '{text}'" if lacking.isprintable() else
                f"'{text.encode('unicode_escape').decode()}' holds characters that can't be drawn",
                fix="Install a font for that script, or name one: PLOTOUT_FONT=/folder/font.ttf",
                place=Place(piece=piece),
            )  # fmt: skip


def _names(pattern_set: PatternSet) -> Iterator[tuple[str, str | None]]:
    yield f"{pattern_set.name} {pattern_set.style} {pattern_set.size}", None
    yield from ((caution, None) for caution in pattern_set.cautions)
    if pattern_set.say.language != ENGLISH:
        yield letters(pattern_set.say.language), None
    for piece in pattern_set.pieces:
        yield piece.name, piece.name
        names = [edge.name for edge in piece.edges]
        names += [line.name for line in piece.lines]
        names += [area.name for area in piece.areas]
        names += [cut.cloth for cut in piece.cuts]
        for text in (*names, *piece.words):
            yield text, piece.name
