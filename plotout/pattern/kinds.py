"""Kinds of value found only in set files: names of edges, places along them, drawings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from plotout.errors import Place, UserError, shown
from plotout.geometry.strokes import FloatArray
from plotout.tables import Kind, Length, ListOf, Name, Point
from plotout.units import plain_number

_SHARE = r"\s*\+?(100(\.0*)?|\d{1,2}(\.\d*)?|\.\d+)\s*%\s*"  # 0 to 100 %


@dataclass(frozen=True, slots=True)
class Ref:
    """A name that must exist elsewhere, and where it was written."""

    name: str
    place: Place = field(compare=False)


@dataclass(frozen=True, slots=True)
class Along:
    """A place along an edge: mm, or a share of its length from 0 to 1."""

    mm: float | None = None
    share: float | None = None

    def on(self, length: float) -> float:
        """Return the distance in mm along an edge of that length."""
        return self.mm if self.mm is not None else (self.share or 0.0) * length


@dataclass(frozen=True, slots=True)
class From:
    """A piece's drawing: its file, and where it is named; pick: what the reader takes from it."""

    file: str
    pick: Mapping[str, Any]
    place: Place


@dataclass(frozen=True)
class Reference(Name):
    """The name of something described elsewhere: an edge, a piece."""

    def read(self, value: Any) -> Any:
        """See Kind."""
        only = value[0] if isinstance(value, list) and len(value) == 1 else value
        return Ref(super().read(value), getattr(only, "place", Place()))


@dataclass(frozen=True)
class EdgeName(Reference):
    """A name given to an edge."""

    def read(self, value: Any) -> Any:
        """See Kind."""
        ref = super().read(value)
        if ref.name.startswith("-"):
            raise UserError(
                f"an edge can't be called {shown(ref.name)}",
                fix="Leave out the '-': in a seam it reverses an edge.",
            )
        return ref

    def name_schema(self) -> dict[str, Any]:
        """See Name."""
        return {**super().name_schema(), "pattern": "^[^-]"}


@dataclass(frozen=True)
class Walked(Reference):
    """An edge of a seam; "-name" is walked from its end to its start: (edge, backwards)."""

    def read(self, value: Any) -> Any:
        """See Kind."""
        ref = super().read(value)
        turned = ref.name.startswith("-")
        return Ref(ref.name[1:].strip() if turned else ref.name, ref.place), turned


@dataclass(frozen=True)
class OnEdge(Kind):
    """A distance along an edge, or a percentage of it."""

    def read(self, value: Any) -> Along:
        """See Kind."""
        if not isinstance(value, str) or not value.strip().endswith("%"):
            return Along(mm=Length().read(value))
        try:
            share = plain_number(value.strip()[:-1]) / 100.0
        except ValueError:
            raise UserError(f"{shown(value)} is not a percentage", fix='Write "40 %".') from None
        if not 0.0 <= share <= 1.0:
            raise UserError(f"{shown(value)} lies beyond the edge", fix="Write 0 % to 100 %.")
        return Along(share=share)

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        length = Length()
        return {**length.schema(), "pattern": f"^({length.written}|{_SHARE})$"}

    @property
    def form(self) -> str:
        """See Kind."""
        return "length, or per cent"

    @property
    def bounds(self) -> str:
        """See Kind."""
        return "0 to 100 %"

    @property
    def sample(self) -> str:
        """See Kind."""
        return self.example or '"120 mm"'


@dataclass(frozen=True)
class Points(ListOf):
    """A line through points: (n, 2), mm."""

    of: Kind = field(default_factory=Point, kw_only=True)
    least: int = field(default=2, kw_only=True)

    def read(self, value: Any) -> FloatArray:  # type: ignore[override]
        """See Kind."""
        return np.array(super().read(value), dtype=np.float64)


@dataclass(frozen=True)
class Axis(Kind):
    """An edge, or two points."""

    def read(self, value: Any) -> Any:
        """See Kind."""
        if isinstance(value, str):
            return Reference().read(value)
        first, second = ListOf(of=Point(), least=2, most=2).read(value)
        if first == second:
            raise UserError("its two points are the same", fix="Give two different points.")
        return first, second

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        points = ListOf(of=Point(), least=2, most=2).schema()
        return {"anyOf": [Reference().schema(), points]}

    @property
    def form(self) -> str:
        """See Kind."""
        return "edge, or two points"

    @property
    def sample(self) -> str:
        """See Kind."""
        return self.example or "[[0, 0], [0, 300]]"


@dataclass(frozen=True)
class DrawingOf(Kind):
    """A table that names a drawing; its other keys belong to the reader."""

    def read(self, value: Any) -> From:
        """See Kind."""
        if not isinstance(value, dict) or "file" not in value:
            raise UserError("it must name a file", fix=f"Write from = {self.sample}.")
        pick = {key: item for key, item in value.items() if key != "file"}
        return From(Name().read(value["file"]), pick, getattr(value, "place", Place()))

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        return {
            "type": "object",
            "required": ["file"],
            "properties": {"file": {"type": "string", "minLength": 1}},
            "additionalProperties": True,
        }

    @property
    def form(self) -> str:
        """See Kind."""
        return "table"

    @property
    def sample(self) -> str:
        """See Kind."""
        return self.example or '{ file = "front.csv" }'
