"""Finds cloths of a set that are probably one, spelt in two ways: noted, never corrected."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from itertools import combinations

from plotout.errors import quoted
from plotout.pattern.cloths import is_fusing, is_interfacing, sewn_cuts
from plotout.pattern.model import Derive, PatternSet, Piece
from plotout.tongue import Tongue

_CLOTHS = """
self wool silk lace felt jean cord lawn crepe satin tulle twill voile linen denim velvet lining
canvas cotton fusing contrast interfacing face rib ribs net mesh fur pile knit
"""
USUAL = frozenset(_CLOTHS.split())  # like one of these (common practice), a short word is a slip
_LINING = "lining"  # often cut of one piece alone, so that no other shows how it is spelt
_SWAPPED = 4  # letters that a word has at least, for two swapped to be seen as a slip
_SPELT = 5  # letters of the longer word at least, for one wrong letter in it to be seen as such
_WORD = 3  # letters that a word has at least, for an s at its end to be seen as such
_SHORT = 4  # the same of the longer word, if one of them is a usual one and the other is not


def cloth_doubts(pattern_set: PatternSet) -> Iterator[str]:
    """Yield cloths whose names differ only in capitals, in spaces or by one letter.

    An area called fusing counts as the cloth that it is cut from. What is nearly called fusing
    is asked about without one, since fusings are not counted as sewn.
    """
    pieces, say = pattern_set.pieces, pattern_set.say
    names = dict.fromkeys(cut.cloth for piece in pieces for cut in piece.cuts)
    if any(is_fusing(area.name, say) for piece in pieces for area in piece.areas):
        names[say("fusing")] = None
    alike: dict[str, list[str]] = {}
    for name in names:
        alike.setdefault("".join(name.split()).casefold(), []).append(name)
    for same in alike.values():
        if len(same) > 1:
            every = quoted(same)
            yield f"{every} are treated as different cloths: use one spelling"
    fusing = say("fusing").casefold()
    for name, *_ in alike.values() if fusing not in alike else ():
        if _one_letter_apart(name.casefold(), fusing):
            yield (
                f"'{name}' is treated as a cloth that is sewn: if it is fused on, "
                f"spell it '{fusing}'"
            )
    for name, *_ in alike.values() if _LINING not in alike else ():
        if _one_letter_apart(name.casefold(), _LINING):
            yield f"'{name}' is nearly '{_LINING}': is it spelt right?"
    for one, other in combinations([same[0] for same in alike.values()], 2):
        if _one_letter_apart(one.casefold(), other.casefold()):
            yield (
                f"'{one}' and '{other}' are treated as different cloths: "
                "if they are one, use one spelling"
            )


def fusing_doubts(pattern_set: PatternSet) -> Iterator[str]:
    """Yield the pieces of which more are cut of fusing than there are to fuse it to, of their own
    cloth or of that of the piece which a fusing is made from; and fusings and linings of that
    one's cloth.
    """
    say = pattern_set.say
    by_name = {piece.name: piece for piece in pattern_set.pieces}
    for piece in pattern_set.pieces:
        own = piece
        if piece.derive is not None and piece.derive.how is Derive.FUSING:
            own = by_name.get(piece.parent or "", piece)
            for cut in piece.cuts if own is not piece else ():
                if cut.cloth in [other.cloth for other in sewn_cuts(own, say)]:
                    yield (
                        f"{piece.name}: it is a fusing, but it is cut of '{cut.cloth}', as "
                        f"'{own.name}' is: is its cloth right?"
                    )
        yield from _lined_with_its_own(piece, by_name, say)
        fused = sum(cut.pieces for cut in piece.cuts if is_interfacing(cut.cloth, say))
        sewn = sum(cut.pieces for cut in sewn_cuts(own, say))
        halves = 2 if _on_fold(own) and not _on_fold(piece) else 1
        if fused > sewn * halves > 0:
            of = "" if own is piece else f" for '{own.name}'"
            yield (
                f"{piece.name}: {fused} are cut of fusing{of}, but only {sewn} of cloth: "
                "is its count right?"
            )


def _lined_with_its_own(piece: Piece, by_name: Mapping[str, Piece], say: Tongue) -> Iterator[str]:
    """Yield a lining that is only cut of a cloth of the piece that it lines."""
    parent = by_name.get(piece.parent or "")
    if parent is None or piece.derive is None or piece.derive.how is not Derive.LINING:
        return
    cloths, its = ({cut.cloth for cut in sewn_cuts(one, say)} for one in (piece, parent))
    if cloths and cloths <= its:
        yield (
            f"{piece.name}: it is a lining, but it is cut of '{min(cloths)}', as '{parent.name}' "
            "is: is its cloth right?"
        )


def _on_fold(piece: Piece) -> bool:
    return any(cut.on_fold for cut in piece.cuts)


def _one_letter_apart(one: str, other: str) -> bool:
    """Return whether two names differ by one letter more, less or else, in one long word.

    Two letters swapped count too, in shorter words, and so do a plural and a short word like a
    usual one.

    Numbers and short words distinguish cloths: cotton 1 and cotton 2, wool A and wool B.
    """
    words, others = re.split(r"[\s\-_/]+", one), re.split(r"[\s\-_/]+", other)
    if len(words) != len(others):
        return False
    unlike = [pair for pair in zip(words, others, strict=True) if pair[0] != pair[1]]
    if len(unlike) != 1:
        return False
    short, long = sorted(unlike[0], key=len)
    if _swapped(short, long) or _plural(short, long):
        return True
    if len(long) - len(short) > 1 or not (short + long).isalpha():
        return False
    slip = (short in USUAL) != (long in USUAL) and len(long) >= _SHORT
    if len(long) < _SPELT and not slip:
        return False
    at = next((k for k, letter in enumerate(short) if letter != long[k]), len(short))
    return short[at + (len(short) == len(long)) :] == long[at + 1 :]


def _plural(short: str, long: str) -> bool:
    return len(short) >= _WORD and short.isalpha() and long == f"{short}s"


def _swapped(one: str, other: str) -> bool:
    """Return whether two words differ by the order of two letters side by side."""
    if len(one) != len(other) or len(one) < _SWAPPED or not (one + other).isalpha():
        return False
    unlike = [k for k, letter in enumerate(one) if letter != other[k]]
    if len(unlike) != 2 or unlike[1] != unlike[0] + 1:
        return False
    first, second = unlike
    return (one[first], one[second]) == (other[second], other[first])
