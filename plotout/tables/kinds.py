"""Kinds of value that a file can hold. A field of a model is one line that names its kind:

    offset: Annotated[float, Length("Blade tip behind its pivot.", most=1.5)] = 0.0

A kind reads the value, says what may be written (for `plotout explain`), and gives its JSON Schema.
"""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import Any, ClassVar

from plotout import units
from plotout.errors import UserError, nearest, shown
from plotout.tables.faults import Fault, Faults

LONGEST_NAME = 120
MOST_LENGTH = 20_000.0  # mm: a longer one is a slip of the unit
MOST_VALUES = 10_000  # in a list
GRAMS_FORCE = 1000.0 / 9.80665  # in a newton: standard gravity, CGPM 1901

_NUMBER = r"[-+]?\s*(\d+\s+\d+/\d+|\d+/\d+|\d+(\.\d*)?|\.\d+)\s*"  # 1 1/4, 1/2, 12.7
_WRITTEN = re.compile(r"\s*([-+]?\d+(?:\.\d*)?|[-+]?\.\d+)\s*(\S*)\s*")


@dataclass(frozen=True)
class Kind:
    """A kind of value. says: what the field is for; example: as TOML; why: told with its bounds.

    key: its name in the file, where that is not the field's own with hyphens for underscores.
    """

    says: str = ""
    example: str = field(default="", kw_only=True)
    key: str = field(default="", kw_only=True)
    why: str = field(default="", kw_only=True)
    inside: ClassVar[bool] = True  # False: not written in the file, but known from where it stands

    def read(self, value: Any) -> Any:
        """Return what a value of the file means. Raises UserError: what is wrong, what to do."""
        return value

    def schema(self) -> dict[str, Any]:
        """Return JSON Schema for it."""
        return {}

    @property
    def form(self) -> str:
        """What is to be written, in a word or two."""
        return "any value"

    @property
    def bounds(self) -> str:
        """What it must lie within, "" for no bounds."""
        return ""

    @property
    def sample(self) -> str:
        """An example of it, as TOML."""
        return self.example


class Given(Kind):
    """Not written in the file: the reader's caller says it (a file's name, a key in its table)."""

    inside = False


class Here(Given):
    """Where the table itself stands: a `Place`."""


class KeyName(Given):
    """The name under which the table stands in the one around it, as text with its place."""


@dataclass(frozen=True)
class Words(Kind):
    """Any text of one line or several, without control characters."""

    def read(self, value: Any) -> Any:
        """See Kind."""
        if not isinstance(value, str):
            raise UserError(f"{shown(value)} is not text", fix="Put it in quotes.")
        for letter in value:
            if not letter.isprintable() and letter not in " \n\t\u00a0\u00ad\u200b\u200c\u200d":
                raise UserError(
                    f"it holds a character that can't be shown, U+{ord(letter):04X}",
                    fix="Take it out.",
                )
        return value

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        return {"type": "string"}

    @property
    def form(self) -> str:
        """See Kind."""
        return "text"

    @property
    def sample(self) -> str:
        """See Kind."""
        return self.example or '"..."'


@dataclass(frozen=True)
class Name(Words):
    """A text that isn't empty; of a list of one, that one."""

    def read(self, value: Any) -> Any:
        """See Kind."""
        if isinstance(value, list) and len(value) == 1:
            value = value[0]
        if isinstance(value, list):
            raise UserError(f"it names {len(value)}, where one is meant", fix='Write "name".')
        name = super().read(value)
        if not name.strip():
            raise UserError("it is empty", fix="Give it a name.")
        if len(name) > LONGEST_NAME:
            raise UserError(f"it has {len(name)} letters, more than {LONGEST_NAME}")
        return name.strip()

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        return {"type": "string", "minLength": 1, "maxLength": LONGEST_NAME}

    @property
    def form(self) -> str:
        """See Kind."""
        return "name"


@dataclass(frozen=True)
class Flag(Kind):
    """True or false."""

    def read(self, value: Any) -> bool:
        """See Kind."""
        if not isinstance(value, bool):
            raise UserError(
                f"{shown(value)} is neither true nor false", fix="Write it without quotes."
            )
        return value

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        return {"type": "boolean"}

    @property
    def form(self) -> str:
        """See Kind."""
        return "true or false"

    @property
    def sample(self) -> str:
        """See Kind."""
        return self.example or "true"


@dataclass(frozen=True)
class Choice(Kind):
    """One of a few words: `words` is an Enum of them, or a tuple."""

    words: Any = ()

    @property
    def names(self) -> tuple[str, ...]:
        """The words that may be written."""
        return tuple(str(getattr(word, "value", word)) for word in self.words)

    def read(self, value: Any) -> Any:
        """See Kind."""
        if value not in self.names:
            raise UserError(
                f"{shown(value)} is not known here", fix=nearest(str(value), self.names)
            )
        if isinstance(self.words, type) and issubclass(self.words, Enum):
            return self.words(str(value))
        return str(value)

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        return {"enum": list(self.names)}

    @property
    def form(self) -> str:
        """See Kind."""
        return ", ".join(f'"{name}"' for name in self.names if name)

    @property
    def sample(self) -> str:
        """See Kind."""
        return self.example or f'"{next(name for name in self.names if name)}"'


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
        fix = self.why or f"It is {self.bounds}."
        if self.above and got <= self.least == 0.0:
            raise UserError(f"{shown(value)} must be more than 0", fix=fix)
        if got < self.least or (self.above and got == self.least):
            less = "must not be negative" if self.least == 0.0 else f"is less than {self.least:g}"
            raise UserError(f"{shown(value)} {less}{unit if self.least else ''}", fix=fix)
        if got > self.most:
            raise UserError(f"{shown(value)} is more than {self.most:g}{unit}", fix=fix)
        return got

    def number(self, value: Any) -> float:
        """Return the number that a value is, in its unit. Raises UserError for what is none."""
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise UserError(f"{shown(value)} is not a number", fix=f"Write {self.sample}.")
        if not abs(value) < 1e9 or not math.isfinite(value):
            raise UserError(
                f"{shown(value)} is not a number that makes sense", fix=f"It is {self.bounds}."
            )
        return float(value)

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
                fix=self.why or f"Write {self.sample}.",
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
    """A length in mm, bare or with its unit."""

    most: float = MOST_LENGTH
    unit = "mm"

    def number(self, value: Any) -> float:
        """See Number."""
        return units.length(value)

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        return {"type": ["number", "string"], "pattern": rf"^\s*{_NUMBER}[A-Za-z\"]*\s*$"}

    @property
    def form(self) -> str:
        """See Kind."""
        return "length"

    @property
    def sample(self) -> str:
        """See Kind."""
        return self.example or f'"{min(max(self.least, 5.0), self.most):g} mm"'


@dataclass(frozen=True)
class Quantity(Number):
    """A number with one of some units; a bare one is in the first of them."""

    units: ClassVar[Mapping[str, float]] = {}

    def number(self, value: Any) -> float:
        """See Number."""
        usual = next(iter(self.units))
        if not isinstance(value, str):
            return super().number(value)
        found = _WRITTEN.fullmatch(value)
        if not found:
            raise UserError(
                f"{shown(value)} is not a number with a unit", fix=f'Write "12 {usual}".'
            )
        unit = found[2] or usual
        if unit not in self.units:
            raise UserError(
                f"{shown(value)}: there is no unit '{unit[:20]}' here",
                fix=nearest(unit, self.units),
            )
        return super().number(float(found[1]) * self.units[unit])

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        names = "|".join(re.escape(unit) for unit in self.units)
        return {"type": ["number", "string"], "pattern": rf"^\s*[-+]?(\d+(\.\d*)?|\.\d+)\s*({names})?\s*$"}  # fmt: skip  # noqa: E501

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


@dataclass(frozen=True)
class Date(Kind):
    """A day, as text: 2026-04-11."""

    def read(self, value: Any) -> str:
        """See Kind."""
        if isinstance(value, datetime.date):
            return value.isoformat()[:10]
        try:
            return datetime.date.fromisoformat(Words().read(value)).isoformat()
        except ValueError:
            raise UserError(
                f"{shown(value)} is not a date", fix="Write it as 2026-04-11."
            ) from None

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        return {"type": "string", "format": "date"}

    @property
    def form(self) -> str:
        """See Kind."""
        return "date"

    @property
    def sample(self) -> str:
        """See Kind."""
        return self.example or '"2026-04-11"'


@dataclass(frozen=True)
class ListOf(Kind):
    """A list of one kind, as a tuple; one value alone is a list of that one.

    spread: one value alone stands for `most` of the same.
    """

    of: Kind = field(default_factory=Kind, kw_only=True)
    least: int = field(default=0, kw_only=True)
    most: int = field(default=MOST_VALUES, kw_only=True)
    spread: bool = field(default=False, kw_only=True)

    def read(self, value: Any) -> tuple[Any, ...]:
        """See Kind."""
        if not isinstance(value, list):
            if self.spread:
                return (self.of.read(value),) * self.most
            if self.least > 1:
                raise UserError(f"{shown(value)} is not a list", fix=f"Write {self.sample}.")
            return (self.of.read(value),)
        if not self.least <= len(value) <= self.most:
            raise UserError(
                f"it has {len(value)} values, not {self._span}", fix=f"Write {self.sample}."
            )
        got, wrong = [], []
        for nth, each in enumerate(value):
            try:
                got.append(self.of.read(each))
            except UserError as fault:
                wrong.append(Fault((nth,), fault.problem, fault.fix, bare=True))
        if wrong:
            raise Faults(wrong)
        return tuple(got)

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        listed: dict[str, Any] = {"type": "array", "items": self.of.schema()}
        if self.least:
            listed["minItems"] = self.least
        if self.most < MOST_VALUES:
            listed["maxItems"] = self.most
        return {"anyOf": [self.of.schema(), listed]} if self.spread or self.least < 2 else listed

    @property
    def _span(self) -> str:
        if self.least == self.most:
            return f"{self.least}"
        return (
            f"{self.least} or more" if self.most >= MOST_VALUES else f"{self.least} to {self.most}"
        )

    @property
    def form(self) -> str:
        """See Kind."""
        if self.spread:
            return f"{self.of.form}, or {self.most} of them"
        if self.most < MOST_VALUES:
            return f"{self._span} of: {self.of.form}"
        return f"{self.of.form}, or a list"

    @property
    def bounds(self) -> str:
        """See Kind."""
        return self.of.bounds

    @property
    def sample(self) -> str:
        """See Kind."""
        if self.spread:
            return self.example or self.of.sample
        return self.example or f"[{', '.join([self.of.sample] * max(1, self.least))}]"


@dataclass(frozen=True)
class Point(Kind):
    """A point: [x, y], lengths that may be negative."""

    def read(self, value: Any) -> tuple[float, float]:
        """See Kind."""
        if not isinstance(value, list) or len(value) != 2:
            raise UserError(f"{shown(value)} is not a point", fix="Write [x, y], in mm.")
        x, y = (SIGNED.read(each) for each in value)
        return x, y

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        return {"type": "array", "items": SIGNED.schema(), "minItems": 2, "maxItems": 2}

    @property
    def form(self) -> str:
        """See Kind."""
        return "point"

    @property
    def sample(self) -> str:
        """See Kind."""
        return self.example or "[60, 330]"


SIGNED = Length("", -MOST_LENGTH)


@dataclass(frozen=True)
class Inner(Kind):
    """A table within the table; its fields are those of the model in the field's type."""

    @property
    def form(self) -> str:
        """See Kind."""
        return "table"


@dataclass(frozen=True)
class Many(Kind):
    """Several tables of one model, as a tuple. word: a text that may stand instead.

    alone: one table may stand by itself, without a list about it.
    """

    least: int = field(default=0, kw_only=True)
    alone: bool = field(default=False, kw_only=True)
    word: Kind | None = field(default=None, kw_only=True)

    @property
    def form(self) -> str:
        """See Kind."""
        return "table, or a list" if self.alone else "tables"


@dataclass(frozen=True)
class ByName(Kind):
    """Tables of one model, each under a name of its own: as a tuple, in the file's order."""

    @property
    def form(self) -> str:
        """See Kind."""
        return "a table for each name"


@dataclass(frozen=True)
class Free(Kind):
    """A table of which somebody else knows what it may hold."""

    def read(self, value: Any) -> Any:
        """See Kind."""
        if not isinstance(value, dict):
            raise UserError("it must be a table", fix="Write it with [brackets] around its name.")
        return value

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        return {"type": "object"}

    @property
    def form(self) -> str:
        """See Kind."""
        return "table"
