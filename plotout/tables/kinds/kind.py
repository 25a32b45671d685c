"""The base of every kind of value."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, ClassVar


@dataclass(frozen=True)
class Kind:
    """A kind of value. says: what the field is for; example: as TOML; why: added to its bounds.

    key: its name in the file, if that is not the field's name with hyphens for underscores.
    """

    says: str = ""
    example: str = field(default="", kw_only=True)
    key: str = field(default="", kw_only=True)
    why: str = field(default="", kw_only=True)
    inside: ClassVar[bool] = True  # False: not written in the file, but known from its place

    def read(self, value: Any) -> Any:
        """Return the meaning of a value in the file. Raises UserError, with what to do."""
        return value

    def schema(self) -> dict[str, Any]:
        """Return its JSON Schema."""
        return {}

    @property
    def form(self) -> str:
        """What to write, in a word or two."""
        return "any value"

    @property
    def bounds(self) -> str:
        """Its bounds in words, "" for none."""
        return ""

    @property
    def sample(self) -> str:
        """An example of it, as TOML."""
        return self.example


class Given(Kind):
    """Not written in the file: given by the reader's caller (a file's name, a key)."""

    inside = False


class Here(Given):
    """The place of the table itself: a `Place`."""


class KeyName(Given):
    """The table's name in the table around it, as text with its place."""
