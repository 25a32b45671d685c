"""Converts lengths as people write them to and from millimetres."""

from __future__ import annotations

import re
import unicodedata

from plotout.errors import UserError, shown

MM_PER_INCH = 25.4  # exact since 1959 (international yard and pound agreement)
VAGUE = 100.0  # mm

MM_PER_UNIT = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "in": MM_PER_INCH,
    '"': MM_PER_INCH,
    "inch": MM_PER_INCH,
    "inches": MM_PER_INCH,
}

_LENGTH = re.compile(
    r"""^\s*(?P<sign>[-+]?)\s*
        (?:(?P<whole>\d+)\s+(?P<over>\d+)/(?P<under>\d+)   # 1 1/4
          |(?P<top>\d+)/(?P<bottom>\d+)                    # 1/2
          |(?P<number>\d+(?:\.\d*)?|\.\d+))                # 12.7
        \s*(?P<unit>[a-z"]*)\s*$""",
    re.VERBOSE | re.IGNORECASE,
)

# Separators of thousands that can be nothing else: a comma before three digits and a point, a blank
# or an apostrophe before three digits.
_THOUSANDS = re.compile(r",(?=\d{3}(?:,\d{3})*\.)|(?<=\d)[ '\u2019](?=\d{3}(?![\d/]))")


def length(value: str | float) -> float:
    """Return `value` in mm. A bare number is millimetres; text may have a unit, a fraction must.

    Accepts `12.7 mm`, `1.27 cm`, `1/2 in`, `1 1/4"`. Raises UserError for anything else.
    """
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise UserError(f"{shown(value)} is not a length", fix=_HOW)
    if not isinstance(value, str):
        return _finite(float(value))
    found = _LENGTH.match(value)
    if not found:
        plain = plain_signs(value)
        plain = plain if _LENGTH.match(plain) else _THOUSANDS.sub("", plain)
        fix = f"Write {plain}." if plain != value and _LENGTH.match(plain) else _HOW
        raise UserError(f"{shown(value)} is not a length", fix=fix)
    if not found["unit"] and not found["number"]:
        raise UserError(f"{value!r} has no unit, and fractions are for inches", fix=_HOW)
    unit = found["unit"].lower() or "mm"
    if unit not in MM_PER_UNIT:
        raise UserError(f"{value!r}: '{found['unit']}' is not a unit", fix=_HOW)
    sign = -1.0 if found["sign"] == "-" else 1.0
    return _finite(sign * _number(found) * MM_PER_UNIT[unit])


def unit_length(name: object) -> float:
    """Return the mm of a unit by its name. Raises UserError if it is none."""
    known = MM_PER_UNIT.get(name.strip().lower()) if isinstance(name, str) else None
    if known is None:
        raise UserError(f"unit: {shown(name)} is not a unit", fix="Write mm, cm, m or in.")
    return known


def plain_number(text: str) -> float:
    """Return the number that `text` writes, a point before its decimals.

    Raises ValueError for anything else, also for 1_000: Python's own, and elsewhere a slip.
    """
    if "_" in text:
        raise ValueError(text)
    return float(text)


def plain_signs(text: str) -> str:
    """Return a number with the signs of a keyboard: a point, a minus, inch marks, fractions.

    A comma before three digits stays, since it may separate thousands.
    """
    text = re.sub(r"(?<=\d),(?!\d{3}(?!\d))(?=\d)", ".", text.translate(_SIGNS))
    return re.sub(r"(\d?)([\u00bc-\u00be\u2150-\u215e])", _spelt, text)


def _spelt(found: re.Match[str]) -> str:
    fraction = unicodedata.normalize("NFKC", found[2]).replace("\u2044", "/")
    return f"{found[1]} {fraction}" if found[1] else fraction


_SIGNS = str.maketrans(
    {"\u2033": '"', "\u201d": '"', "\u201c": '"', "\u2212": "-", "\u2010": "-", "\u2011": "-",
     "\u2013": "-", "\u00a0": " ", "\u202f": " ", "\u2009": " ", "\u2044": "/"}
)  # fmt: skip


def _number(found: re.Match[str]) -> float:
    if found["number"]:
        return float(found["number"])
    top, bottom = (float(found[a] or found[b]) for a, b in (("over", "top"), ("under", "bottom")))
    if bottom == 0.0:
        raise UserError(f"{shown(found[0])} divides by zero", fix=_HOW)
    return float(found["whole"] or 0) + top / bottom


def _finite(value: float) -> float:
    if not abs(value) < 1e9:
        raise UserError(f"{value!r} is not a possible length in a pattern", fix=_HOW)
    return value


_HOW = 'Write millimetres as a bare number, or add a unit: 12.7 mm, 1.27 cm, 1/2 in, 1 1/4".'


def says_anything(known_to: float) -> bool:
    """Return whether a length is known at all. known_to: mm, two sigma.

    Of lengths in garments a figure beyond `VAGUE` says no more than that none is known (common
    practice).
    """
    return known_to <= VAGUE
