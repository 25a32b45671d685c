"""Kinds of number and their units."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar

from plotout import units
from plotout.errors import UserError, nearest, shown
from plotout.tables.kinds.kind import Kind

MOST_LENGTH = 20_000.0  # mm: a longer one is a mistake in the unit
GRAMS_FORCE = 1000.0 / 9.80665  # per newton: standard gravity, CGPM 1901

_PLAIN = r"(\d+(\.\d*)?|\.\d+)"
_FRACTION = r"(\d+\s+)?\d+/\d+"  # 1/2, 1 1/4
_UNIT = "|".join(
    "".join(f"[{letter}{letter.upper()}]" if letter.isalpha() else letter for letter in unit)
    for unit in units.MM_PER_UNIT
)
_WRITTEN = re.compile(r"\s*([-+]?\d+(?:\.\d*)?|[-+]?\.\d+)\s*(\S*)\s*")


@dataclass(frozen=True)
class Number(Kind):
    """A number from `least` to `most`, both included; with `above`, greater than `least`."""

    least: float = 0.0
    most: float = 1e9
    above: bool = field(default=False, kw_only=True)
    unit: ClassVar[str] = ""

    def read(self, value: Any) -> float:
        """See Kind."""
        got = self.number(value)
        unit = f" {self.unit}" if self.unit else ""
        fix = f"It is {self.bounds}."
        if self.above and got <= self.least == 0.0:
            raise UserError(f"{shown(value)} must be more than 0", fix=fix)
        if got < self.least or (self.above and got == self.least):
            less = "must not be negative" if self.least == 0.0 else f"is less than {self.least:g}"
            raise UserError(f"{shown(value)} {less}{unit if self.least else ''}", fix=fix)
        if got > self.most:
            raise UserError(f"{shown(value)} is more than {self.most:g}{unit}", fix=self.why or fix)
        return got

    def number(self, value: Any) -> float:
        """Return a value as a number in its unit. Raises UserError for anything else."""
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise UserError(f"{shown(value)} is not a number", fix=f"Write {self.sample}.")
        if not abs(value) < 1e9 or not math.isfinite(value):
            raise UserError(f"{shown(value)} is not a finite number", fix=f"It is {self.bounds}.")
        return float(value)

    @property
    def sign(self) -> str:
        """The regular expression of the sign that it may have as text."""
        return r"[-+]?" if self.least < 0.0 else r"\+?"

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        lower = "exclusiveMinimum" if self.above else "minimum"
        return {"type": "number", lower: self.least, "maximum": self.most}

    @property
    def form(self) -> str:
        """See Kind."""
        return "number"

    @property
    def bounds(self) -> str:
        """See Kind."""
        unit = f" {self.unit}" if self.unit else ""
        first = f"more than {self.least:g}" if self.above else f"{self.least:g}"
        return f"{first} to {self.most:g}{unit}"

    @property
    def sample(self) -> str:
        """See Kind."""
        return self.example or f"{self.least if self.least > 0.0 else 1.0:g}"


@dataclass(frozen=True)
class Count(Kind):
    """A whole number from `least` to `most`, both included."""

    least: int = 1
    most: int = 10_000

    def read(self, value: Any) -> int:
        """See Kind."""
        if isinstance(value, bool) or not isinstance(value, int):
            raise UserError(f"{shown(value)} is not a whole number", fix=f"It is {self.bounds}.")
        if not self.least <= value <= self.most:
            raise UserError(
                f"{shown(value)} is not a whole number from {self.bounds}",
                fix=f"Write {self.least} or more."
                if value < self.least
                else self.why or f"Write {self.most} or less.",
            )
        return value

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        return {"type": "integer", "minimum": self.least, "maximum": self.most}

    @property
    def form(self) -> str:
        """See Kind."""
        return "whole number"

    @property
    def bounds(self) -> str:
        """See Kind."""
        return f"{self.least} to {self.most}"

    @property
    def sample(self) -> str:
        """See Kind."""
        return self.example or str(max(self.least, 1))


@dataclass(frozen=True)
class Length(Number):
    """A length, in mm or with its unit."""

    most: float = MOST_LENGTH
    unit = "mm"

    def number(self, value: Any) -> float:
        """See Number."""
        return units.length(value)

    def schema(self) -> dict[str, Any]:
        """See Kind. Bounds of what is written with a unit are beyond a schema."""
        return {**super().schema(), "type": ["number", "string"], "pattern": f"^{self.written}$"}

    @property
    def written(self) -> str:
        """The regular expression of a length as text."""
        return rf"\s*{self.sign}\s*({_PLAIN}\s*({_UNIT})?|{_FRACTION}\s*({_UNIT}))\s*"

    @property
    def form(self) -> str:
        """See Kind."""
        return "length"

    @property
    def sample(self) -> str:
        """See Kind."""
        return self.example or f'"{min(max(self.least, 5.0), self.most):g} mm"'


SIGNED = Length("", -MOST_LENGTH)


@dataclass(frozen=True)
class Quantity(Number):
    """A number with one of several units; without a unit it is in the first of them."""

    units: ClassVar[Mapping[str, float]] = {}

    def number(self, value: Any) -> float:
        """See Number."""
        usual = next(iter(self.units))
        if not isinstance(value, str):
            return super().number(value)
        found = _WRITTEN.fullmatch(value)
        if not found:
            plain = units.plain_signs(value)
            wanted = plain if plain != value and _WRITTEN.fullmatch(plain) else f"12 {usual}"
            raise UserError(f"{shown(value)} is not a number with a unit", fix=f'Write "{wanted}".')
        unit = found[2] or usual
        if unit not in self.units:
            raise UserError(
                f"{shown(value)}: '{unit[:20]}' is not a unit for it",
                fix=nearest(unit, self.units),
            )
        return super().number(float(found[1]) * self.units[unit])

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        names = "|".join(re.escape(unit) for unit in self.units)
        pattern = rf"^\s*{self.sign}{_PLAIN}\s*({names})?\s*$"
        return {**super().schema(), "type": ["number", "string"], "pattern": pattern}

    @property
    def unit(self) -> str:  # type: ignore[override]
        """The usual unit."""
        return next(iter(self.units))

    @property
    def form(self) -> str:
        """See Kind."""
        return f"number of {', '.join(self.units)}"

    @property
    def sample(self) -> str:
        """See Kind."""
        value = min(max(self.least, 10.0), self.most)
        return self.example or f'"{value:g} {self.unit}"'


class Speed(Quantity):
    """A speed, mm/s."""

    units: ClassVar[Mapping[str, float]] = {
        "mm/s": 1.0, "cm/s": 10.0, "m/s": 1000.0, "mm/min": 1 / 60.0, "m/min": 1000.0 / 60.0,
        "in/s": units.MM_PER_INCH, "in/min": units.MM_PER_INCH / 60.0,
    }  # fmt: skip


class Acceleration(Quantity):
    """An acceleration, mm/s2."""

    units: ClassVar[Mapping[str, float]] = {
        "mm/s2": 1.0,
        "m/s2": 1000.0,
        "in/s2": units.MM_PER_INCH,
    }


class Seconds(Quantity):
    """A time, s."""

    units: ClassVar[Mapping[str, float]] = {"s": 1.0, "ms": 0.001, "min": 60.0}


class Force(Quantity):
    """A force, grams-force."""

    units: ClassVar[Mapping[str, float]] = {
        "gf": 1.0, "kgf": 1000.0, "N": GRAMS_FORCE, "mN": GRAMS_FORCE / 1000.0,
    }  # fmt: skip


class Share(Quantity):
    """A share, per cent."""

    units: ClassVar[Mapping[str, float]] = {"%": 1.0}


class Angle(Quantity):
    """An angle, degrees."""

    units: ClassVar[Mapping[str, float]] = {"deg": 1.0, "degrees": 1.0}
