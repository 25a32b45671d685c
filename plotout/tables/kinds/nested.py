"""Kinds that hold others: lists, points, tables."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from plotout.errors import UserError, counted, shown
from plotout.tables.faults import Fault, Faults
from plotout.tables.kinds.kind import Kind
from plotout.tables.kinds.numbers import SIGNED

MOST_VALUES = 10_000  # in a list


@dataclass(frozen=True)
class ListOf(Kind):
    """A list of one kind, as a tuple; a single value is a list of one.

    spread: a single value stands for `most` equal ones.
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
            one = len(value) < self.least or self.least == self.most
            span = self._span if one else f"{self.least} to {self.most}"
            raise UserError(
                f"it has {counted(len(value), 'value')}, not {span}",
                fix=f"Write {self.sample}.",
            )
        got, wrong = [], []
        for index, item in enumerate(value):
            try:
                got.append(self.of.read(item))
            except UserError as fault:
                wrong.append(Fault((index,), fault.problem, fault.fix, bare=True))
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
        if any(isinstance(coordinate, list) for coordinate in value):
            raise UserError(f"{shown(value)} is several points, not one", fix="Write [x, y].")
        x, y = (SIGNED.read(coordinate) for coordinate in value)
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


@dataclass(frozen=True)
class Inner(Kind):
    """A table within the table; its fields are those of the model in the field's type."""

    @property
    def form(self) -> str:
        """See Kind."""
        return "table"


@dataclass(frozen=True)
class Many(Kind):
    """Tables of one model, as a tuple; a single one needs no list around it.

    word: a text that may stand instead. alone: a single one is usual.
    """

    least: int = field(default=0, kw_only=True)
    alone: bool = field(default=False, kw_only=True)
    word: Kind | None = field(default=None, kw_only=True)

    @property
    def form(self) -> str:
        """See Kind."""
        return "table, or a list"


@dataclass(frozen=True)
class ByName(Kind):
    """Tables of one model under names of their own: as a tuple, in the file's order."""

    @property
    def form(self) -> str:
        """See Kind."""
        return "a table per name"


@dataclass(frozen=True)
class Free(Kind):
    """A table whose contents are checked elsewhere."""

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
