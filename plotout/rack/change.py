"""A difference between two versions of a set, and how values that differ are put into words."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, fields, is_dataclass
from typing import Any, TypeVar

import numpy as np

SMALLEST = 0.01  # mm: less than this is rounding, not a change

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Change:
    """A difference. what: "added", "dropped", "moved", "edges", "allowance", "cut", "notches",
    "marks", "derived", "seam", "set", "record", "files".

    amount: mm where there is one (how far the line moved at most, the change of allowance), else 0.
    """

    piece: str
    what: str
    words: str
    amount: float = 0.0


def alike(was: Any, now: Any) -> bool:
    """Return whether two values are the same, numbers within rounding; arrays by their points."""
    if isinstance(was, np.ndarray) and isinstance(now, np.ndarray):
        return was.shape == now.shape and bool(np.all(np.abs(was - now) <= SMALLEST))
    if isinstance(was, float | int) and isinstance(now, float | int):
        return was == now or abs(was - now) <= SMALLEST  # infinity is the same as infinity
    if is_dataclass(was) and is_dataclass(now):
        return all(alike(getattr(was, f.name), getattr(now, f.name)) for f in fields(was))
    if isinstance(was, tuple) and isinstance(now, tuple):
        return len(was) == len(now) and all(map(alike, was, now))
    return bool(was == now)


def became(name: str, was: object, now: object, unit: str = "mm") -> str:
    """Return a value's change in words."""
    return f"{name}: {worded(was, unit)} is now {worded(now, unit)}"


def worded(value: object, unit: str = "mm") -> str:
    """Return a value in words. unit: of numbers that aren't whole by nature."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if value is None or value in ("", ()):
        return "none"
    if isinstance(value, float):
        return f"{value:.6g} {unit}".rstrip()
    if isinstance(value, tuple):
        return ", ".join(worded(item, unit) for item in value)
    return str(value) if isinstance(value, int) else f"'{value}'"


def field_changes(
    was: Any, now: Any, names: Iterable[str], label: Callable[[str], str] = str
) -> Iterator[str]:
    """Give, in words, the fields that differ. label: returns a field's name as it is put."""
    for name in names:
        old, new = getattr(was, name), getattr(now, name)
        if not alike(old, new):
            yield became(label(name), old, new)


def paired(
    old: Sequence[T], new: Sequence[T], same: Callable[[T, T], bool]
) -> tuple[list[tuple[T, T]], list[T], list[T]]:
    """Return what is in both, what is in `old` alone, and what is in `new` alone, in order."""
    left, pairs, come = list(old), [], []
    for item in new:
        index = next((i for i, other in enumerate(left) if same(other, item)), None)
        if index is None:
            come.append(item)
        else:
            pairs.append((left.pop(index), item))
    return pairs, left, come
