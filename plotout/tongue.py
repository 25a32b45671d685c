"""The language of a set's papers: their fixed words, from gettext catalogues, and their lengths.

A catalogue is `catalogues/LANGUAGE.po`, parsed when first used. Missing entries appear in English,
the language of the words in the code: `say("card {number} of {of}", number=1, of=2)`.
"""

from __future__ import annotations

import gettext
import io
import unicodedata
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable

from plotout.units import MM_PER_INCH

ENGLISH = "en"
_FINEST = 32  # parts of an inch, as on a tape measure
_SAME = 0.06  # mm: a length this close to a fraction of an inch is written as that fraction
_GIVEN = 1e-6  # mm within which a length is one of whole 0.001 mm


@dataclass(frozen=True, slots=True)
class Tongue:
    """Translates fixed words and lengths. language: a catalogue's name; inches: else mm."""

    language: str = ENGLISH
    inches: bool = False

    def __call__(self, text: str, **values: object) -> str:
        """Return `text` in the language, its {places} filled with `values`."""
        return _catalogue(self.language).gettext(text).format(**_isolated(values))

    def unfilled(self, text: str) -> str:
        """Return `text` in the language, its {places} left as they are; the user's own as it is."""
        return _catalogue(self.language).gettext(text)

    def many(self, one: str, more: str, count: int, **values: object) -> str:
        """Return the singular or the plural for `count`, which fills the place {count}."""
        text = _catalogue(self.language).ngettext(one, more, count)
        return text.format(count=count, **_isolated(values))

    def listed(self, *texts: str, by: str = ", ") -> str:
        """Return the texts that aren't empty, joined; they keep their own direction."""
        return by.join(str(_isolate(text)) for text in texts if text)

    def figure(self, mm: float) -> str:
        """Return a length in figures, without its unit."""
        return self.signed(_in_inches(mm) if self.inches else _in_mm(mm))

    def signed(self, figures: str) -> str:
        """Return figures with a decimal point as they are written in the language."""
        whole, _, part = figures.partition(".")
        # for translators: how a whole number and its decimals are written together
        return self("{whole}.{part}", whole=whole, part=part) if part else whole

    def length(self, mm: float) -> str:
        """Return a length with its unit."""
        return self.with_unit(self.figure(mm))

    def with_unit(self, figures: str) -> str:
        """Return figures with their unit."""
        if self.inches:
            return self("{length} in", length=figures)
        return self("{length} mm", length=figures)

    def size(self, *mm: float) -> str:
        """Return the sides of something, such as a sheet, with their unit, rounded."""
        if self.inches:
            return self.with_unit(
                " x ".join(self.signed(f"{side / MM_PER_INCH:.1f}") for side in mm)
            )
        return self.with_unit(" x ".join(f"{side:.0f}" for side in mm))


PLAIN = Tongue()
"""English and millimetres."""


def _isolated(values: dict[str, object]) -> dict[str, object]:
    return {name: _isolate(value) for name, value in values.items()}


def _isolate(value: object) -> object:
    """Mark right-to-left text so that it doesn't affect the direction of its neighbours.

    By FIRST STRONG ISOLATE and POP DIRECTIONAL ISOLATE (UAX #9, 2.4 and 5.2).
    """
    if not isinstance(value, str) or value.isascii():
        return value
    turns = any(unicodedata.bidirectional(letter) in ("R", "AL") for letter in value)
    return f"\u2068{value}\u2069" if turns and value[0] != "\u2068" else value


def _in_mm(mm: float) -> str:
    """Return a length as it was given, to 0.001 mm; one that was worked out to 0.1 mm."""
    given = round(mm, 3)
    return f"{given if abs(mm - given) < _GIVEN else round(mm, 1):.10g}"


def _in_inches(mm: float) -> str:
    inches = mm / MM_PER_INCH
    near = Fraction(round(inches * _FINEST), _FINEST)
    if abs(float(near) * MM_PER_INCH - mm) > _SAME:
        return f"{inches:.3g}"
    whole, part = divmod(near, 1)
    return " ".join(str(number) for number in (whole, part) if number) or "0"


def languages() -> tuple[str, ...]:
    """Return the available languages of papers."""
    names = (entry.name for entry in _folder().iterdir())
    return tuple(sorted(name.removesuffix(".po") for name in names if name.endswith(".po")))


@cache
def letters(language: str) -> str:
    """Return every letter used in a catalogue's text, once."""
    import polib

    file = polib.pofile(_text(language))
    texts = [text for entry in file for text in (entry.msgstr, *entry.msgstr_plural.values())]
    return "".join(sorted(set("".join(texts)) - set(" \n")))


def _text(language: str) -> str:
    return (_folder() / f"{language}.po").read_text("utf-8")


def _folder() -> Traversable:
    return files("plotout") / "catalogues"


@cache
def _catalogue(language: str) -> gettext.NullTranslations:
    if language == ENGLISH:
        return gettext.NullTranslations()
    import polib

    return gettext.GNUTranslations(io.BytesIO(polib.pofile(_text(language)).to_binary()))
