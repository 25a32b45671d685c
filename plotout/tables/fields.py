"""Models: frozen dataclasses that describe, field by field, what a table of a file may hold.

    @table
    @dataclass(frozen=True, slots=True)
    class Drill:
        at: Annotated[tuple[float, float], Point("Its centre.")]
        size: Annotated[float, Length("Its diameter.", 0.2, 50.0)] = 3.0

A field without a default is required.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, partial
from types import NoneType
from typing import Any, TypeVar, get_args, get_type_hints

from plotout.tables.kinds import ByName, Inner, Kind, Many

T = TypeVar("T")
SHORT = (
    "__table_short__"  # an attribute of models: the field whose bare value may replace the table
)


def table(cls: type[T]) -> type[T]:
    """Mark a dataclass as the model of a table. Raises TypeError for a class that is none."""
    return _marked(cls, "")


def table_or(short: str) -> Callable[[type[T]], type[T]]:
    """Mark a dataclass as a model that may be written as a bare value, of its field `short`."""

    return partial(_marked, short=short)


def _marked(cls: type[T], short: str) -> type[T]:
    if not dataclasses.is_dataclass(cls):
        raise TypeError(
            f"{cls.__name__} is no dataclass: put @dataclass(frozen=True, slots=True) below @table"
        )
    setattr(cls, SHORT, short)
    return cls


@dataclass(frozen=True, slots=True)
class Field:
    """A field of a model: its name in the class and in the file, its kind, and its default.

    model: of the tables in it, if any.
    """

    name: str
    key: str
    kind: Kind
    default: Any
    needed: bool
    model: type | None


@cache
def fields_of(model: type) -> tuple[Field, ...]:
    """Return the fields of a model that a file may hold."""
    return tuple(field for field in all_fields(model) if field.kind.inside)


@cache
def all_fields(model: Any) -> tuple[Field, ...]:
    """Return all fields of a model, with those that are given when it is read."""
    hints = get_type_hints(model, include_extras=True)
    found = []
    for field in dataclasses.fields(model):
        kind = kind_of(hints[field.name])
        if kind is None:
            raise TypeError(f"{model.__name__}.{field.name} has no kind")
        default = (
            field.default
            if field.default_factory is dataclasses.MISSING
            else field.default_factory()
        )
        needed = default is dataclasses.MISSING
        key = kind.key or field.name.rstrip("_").replace("_", "-")
        inner = _model_in(hints[field.name]) if isinstance(kind, Inner | Many | ByName) else None
        found.append(Field(field.name, key, kind, default, needed, inner))
    return tuple(found)


def is_table(model: object) -> bool:
    """Return whether something is marked as the model of a table."""
    return hasattr(model, SHORT)


def short_of(model: type) -> str:
    """Return the name of the field whose bare value may replace the table, or ""."""
    return str(getattr(model, SHORT))


def kind_of(hint: Any) -> Kind | None:
    """Return the kind in an annotation."""
    return next(
        (extra for extra in getattr(hint, "__metadata__", ()) if isinstance(extra, Kind)), None
    )


def _model_in(hint: Any) -> type:
    """Return the model in an annotation such as `Bed`, `tuple[Tool, ...]`, `Hem | None`."""
    if is_table(hint):
        return hint  # type: ignore[no-any-return]
    for arg in get_args(hint):
        if arg is not NoneType and (get_args(arg) or is_table(arg)):
            return _model_in(arg)
    raise TypeError(f"{hint} holds no model")
