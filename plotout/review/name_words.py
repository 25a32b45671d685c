"""The words of a name, in any script, and whether two of them have one root.

Which words mean a left and a right is from memory, in the languages that sets are written in.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from itertools import product

from plotout.review.faces import faces_in

_UNSPACED = re.compile(
    r"[\u0e00-\u0eff\u1000-\u109f\u1780-\u17ff\u3040-\u30ff\u3400-\u9fff\uac00-\ud7af]"
)
"""Letters of scripts written without spaces, or whose words run together: each counts by itself."""
_ROOT = 3  # letters with which two forms of one word begin alike, at least
_HANDS = re.compile(
    "left|right|links|rechts|linke.?|rechte.?|linker|rechter|gauche|droite?|izquierd[ao]|derech[ao]|"
    "sinistr[ao]|destr[ao]|esquerd[ao]|direit[ao]|esquerra|dreta|vanster|vanstra|hoger|hogra|"
    "venstre|h[oø]yre|h[oø]jre|vasen|vasem.*|oike.*|lew[aye]|prawy|praw[ae]|lev[yae]|prav[yae]|"
    "lijev.*|desn.*|bal|jobb|sol|sag|stang.*|drept.*|лев.*|прав.*|лив.*|αριστερ.*|δεξι.*|vasak|"
    "parem|左|右|왼|오|른|좌|우"
)
"""Words that change places when a piece is seen from its other side, without accents."""


def is_within(name: str, longer: str) -> bool:
    """Return whether a name's words are within a longer name, in their order."""
    return f" {name.casefold()} " in f" {longer.casefold()} "


def plain_words(name: str) -> set[str]:
    """Return a name's words without accents, figures, left and right, and with their faces; of
    scripts whose words run together, its letters.
    """
    bare = unicodedata.normalize("NFKD", name.casefold())
    bare = "".join(letter for letter in bare if not unicodedata.category(letter).startswith("M"))
    found: set[str] = set()
    for word in re.findall(r"[^\W\d_]+", unicodedata.normalize("NFC", bare)):
        found |= set(_UNSPACED.findall(word)) or {word}
    return {word for word in found if not _HANDS.fullmatch(word)} | faces_in(name)


def telling(words: Iterable[str], others: Iterable[str]) -> set[str]:
    """Return those words that have no kin among the others."""
    others = tuple(others)
    return {word for word in words if not any(akin(word, other) for other in others)}


def any_akin(words: Iterable[str], others: Iterable[str]) -> bool:
    """Return whether any of these words has kin among the others."""
    return any(akin(word, other) for word, other in product(words, tuple(others)))


def akin(one: str, other: str) -> bool:
    """Return whether two words are one, forms of one, or one stands for the other: 'vt' may be
    Vorderteil.
    """
    if one == other or " " in one + other:  # a face, with its language
        return one == other
    short, long = sorted((one, other), key=len)
    if len(short) < _ROOT:
        return _stands_for(short, long)
    return one[:_ROOT] == other[:_ROOT] or _stands_for(short, long)


def _stands_for(short: str, long: str) -> bool:
    """Return whether two or three consonants of a long word are written for it."""
    if not 2 <= len(short) <= 3 or len(long) < 4 or set(short) & set("aeiou"):
        return False
    return re.match(".*".join(map(re.escape, short)), long) is not None
