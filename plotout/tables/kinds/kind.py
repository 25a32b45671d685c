"""What every kind of value can do."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, ClassVar


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
