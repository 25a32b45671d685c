"""Quantities of a machine as people write them: with their unit, or bare in the usual one."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from plotout.errors import UserError, nearest
from plotout.units import MM_PER_INCH, length

Read = Callable[[Any], Any]
"""Makes a value of what TOML holds. Raises UserError, with what is wrong and what to do."""

GRAMS_FORCE = 1000.0 / 9.80665  # in a newton: standard gravity, CGPM 1901

SPEED = {"mm/s": 1.0, "cm/s": 10.0, "m/s": 1000.0, "mm/min": 1 / 60.0, "m/min": 1000.0 / 60.0,
         "in/s": MM_PER_INCH, "in/min": MM_PER_INCH / 60.0}  # fmt: skip
ACCELERATION = {"mm/s2": 1.0, "m/s2": 1000.0, "in/s2": MM_PER_INCH}
TIME = {"s": 1.0, "ms": 0.001, "min": 60.0}
FORCE = {"gf": 1.0, "kgf": 1000.0, "N": GRAMS_FORCE, "mN": GRAMS_FORCE / 1000.0}
SHARE = {"%": 1.0}
ANGLE = {"deg": 1.0, "degrees": 1.0}
_WRITTEN = re.compile(r"\s*([-+]?\d+(?:\.\d*)?|[-+]?\.\d+)\s*(\S*)\s*")


def quantity(units: Mapping[str, float]) -> Read:
    """Return a reader of numbers with one of these units; a bare number is in the first."""
    usual = next(iter(units))

    def read(value: Any) -> float:
        if not isinstance(value, str):
            return number(value)
        found = _WRITTEN.fullmatch(value)
        if not found:
            raise UserError(f"{value!r} is not a number with a unit", fix=f'Write "12 {usual}".')
        unit = found[2] or usual
        if unit not in units:
            raise UserError(f"{value!r}: there is no unit '{unit}' here", fix=nearest(unit, units))
        return float(found[1]) * units[unit]

    return read


def number(value: Any) -> float:
    """Read a plain number."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) < 1e9:
        raise UserError(f"{value!r} is not a number")
    return float(value)


def between(read: Read, least: float, most: float, unit: str, why: str = "") -> Read:
    """Return a reader that refuses what lies beyond these bounds, and says why."""

    def check(value: Any) -> float:
        got = float(read(value))
        if got < least:
            how = "must not be negative" if least == 0.0 else f"is less than {least:g} {unit}"
            raise UserError(f"{value!r} {how}", fix=why)
        if got > most:
            raise UserError(f"{value!r} is more than {most:g} {unit}", fix=why)
        return got

    return check


def more_than_nothing(read: Read) -> Read:
    """Return a reader that refuses 0 and less."""

    def check(value: Any) -> float:
        got = float(read(value))
        if got <= 0.0:
            raise UserError(f"{value!r} must be more than 0")
        return got

    return check


def whole(least: int, most: int) -> Read:
    """Return a reader of whole numbers between these, both included."""

    def read(value: Any) -> int:
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
            raise UserError(f"{value!r} is not a whole number from {least} to {most}")
        return value

    return read


def text(value: Any) -> str:
    """Read a text that isn't empty."""
    if not isinstance(value, str) or not value.strip():
        raise UserError(f"{value!r} is not a text", fix="Put it in quotes.")
    return value


def texts(value: Any) -> tuple[str, ...]:
    """Read a list of texts."""
    if not isinstance(value, list):
        raise UserError("this must be a list of texts", fix='Write ["...", "..."].')
    return tuple(text(each) for each in value)


def flag(value: Any) -> bool:
    """Read true or false."""
    if not isinstance(value, bool):
        raise UserError(f"{value!r} is neither true nor false")
    return value


def one_of(names: Sequence[str] | Mapping[str, Any]) -> Read:
    """Return a reader of one of these words."""

    def read(value: Any) -> str:
        if value not in list(names):
            raise UserError(f"{value!r} is not known here", fix=nearest(str(value), names))
        return str(value)

    return read


def lengths(count: int) -> Read:
    """Return a reader of a list of so many lengths, none negative, in mm."""
    read = between(length, 0.0, 1e6, "mm")

    def read_all(value: Any) -> tuple[float, ...]:
        if not isinstance(value, list) or len(value) != count:
            raise UserError(f"{value!r} is not a list of {count} lengths")
        return tuple(read(each) for each in value)

    return read_all
