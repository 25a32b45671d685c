"""Kinds of text: free text, a name, true or false, one of several words, a date."""

from __future__ import annotations

import datetime
import re
from dataclasses import dataclass
from enum import Enum
from typing import Any
from unicodedata import category

from plotout.errors import UserError, nearest, shown
from plotout.tables.kinds.kind import Kind

LONGEST_NAME = 120


_DAY = r"\d{4}-\d{2}-\d{2}"


@dataclass(frozen=True)
class Words(Kind):
    """Text of one or more lines, without control characters."""

    def read(self, value: Any) -> Any:
        """See Kind."""
        if not isinstance(value, str):
            raise UserError(f"{shown(value)} is not text", fix="Put it in quotes.")
        for letter in value:
            blank = letter in "\n\t\u00ad\u200b\u200c\u200d" or category(letter) == "Zs"
            if not (letter.isprintable() or blank):
                raise UserError(
                    f"it holds a character that can't be shown, U+{ord(letter):04X}",
                    fix="Remove it.",
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
    """Text that isn't empty; also a list of one name."""

    def read(self, value: Any) -> Any:
        """See Kind."""
        if isinstance(value, list) and len(value) == 1:
            value = value[0]
        if isinstance(value, list):
            raise UserError(f"it has {len(value)} names, not one", fix='Write "name".')
        name = super().read(value)
        if not name.strip():
            raise UserError("it is empty", fix="Give it a name.")
        if all(category(letter) in ("Cf", "Zs") for letter in name):
            raise UserError("nothing of it can be seen", fix="Give it a name.")
        if any(category(letter) in ("Cc", "Zl", "Zp") for letter in name.strip()):
            raise UserError("a line break or a tab is in it", fix="Write it on one line.")
        if len(name) > LONGEST_NAME:
            raise UserError(
                f"it has {len(name)} letters, more than {LONGEST_NAME}", fix="Shorten it."
            )
        return name.strip()

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        name = self.name_schema()
        return {"anyOf": [name, {"type": "array", "items": name, "minItems": 1, "maxItems": 1}]}

    def name_schema(self) -> dict[str, Any]:
        """Return the JSON Schema of the text itself."""
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
    """One of several words: `words` is an Enum of them, or a tuple of words or of its members."""

    words: Any = ()

    @property
    def names(self) -> tuple[str, ...]:
        """The allowed words."""
        return tuple(str(getattr(word, "value", word)) for word in self.words)

    def read(self, value: Any) -> Any:
        """See Kind."""
        if value not in self.names:
            raise UserError(
                f"{shown(value)} is not one of its words", fix=nearest(str(value), self.names)
            )
        if isinstance(self.words, type) and issubclass(self.words, Enum):
            return self.words(str(value))
        return next((word for word in self.words if isinstance(word, Enum) and word == value),
                    str(value))  # fmt: skip

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
class Date(Kind):
    """A date, as text: 2026-04-11."""

    def read(self, value: Any) -> str:
        """See Kind."""
        if isinstance(value, datetime.datetime):
            raise UserError(f"{value} has a time of day", fix=f"Write {value.date()}.")
        if isinstance(value, datetime.date):
            return value.isoformat()
        try:
            if not re.fullmatch(_DAY, text := Words().read(value)):
                raise ValueError
            return datetime.date.fromisoformat(text).isoformat()
        except ValueError:
            raise UserError(
                f"{shown(value)} is not a date", fix="Write it as 2026-04-11."
            ) from None

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        return {"type": "string", "format": "date", "pattern": f"^{_DAY}$"}

    @property
    def form(self) -> str:
        """See Kind."""
        return "date"

    @property
    def sample(self) -> str:
        """See Kind."""
        return self.example or '"2026-04-11"'
