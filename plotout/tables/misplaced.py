"""Fields under the wrong heading: TOML takes every key below a heading for that table's, also one
that was meant for the table around it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from plotout.errors import UserError
from plotout.tables.faults import Fault, Faults
from plotout.tables.fields import Field, fields_of
from plotout.tables.kinds import ByName, Many
from plotout.tables.lines import Steps

Reads = Callable[[Field, Any], Any]
"""Reads a value as a field's. Raises Faults or UserError."""
_MOST_NAMED = 4  # headings below which a field may be meant


def belonging(fault: Fault, model: type, value: Mapping[str, Any], reads: Reads) -> Fault:
    """Return a fault of a field of a table within `value`; known as one of `value` if it is."""
    if not fault.path or fault.below:
        return fault
    key = fault.path[-1]
    own = next((field for field in fields_of(model) if field.key == key), None)
    if own is None:
        homes = _homes(model, str(key)) if fault.unknown and len(fault.path) < 3 else ()
        if not homes or len(homes) > _MOST_NAMED:
            return fault
        one_of = "one of " if len(homes) > 1 else ""
        return replace(fault, fix=f"'{key}' belongs below {one_of}{', '.join(homes)}.")
    if len(fault.path) == 1 or key in value:
        return fault
    if not fault.unknown and not _is_read(own, value, fault.path, reads):
        return fault
    return replace(fault, below=len(fault.path))


def _homes(model: type, key: str, around: str = "") -> tuple[str, ...]:
    """Return the headings of the outermost tables within a model's that have such a field."""
    found: tuple[str, ...] = ()
    within: tuple[str, ...] = ()
    for field in fields_of(model):
        if field.model is None or isinstance(field.kind, ByName):
            continue
        name = f"{around}{field.key}"
        if key in [inner.key for inner in fields_of(field.model)]:
            found += (f"[[{name}]]" if isinstance(field.kind, Many) else f"[{name}]",)
        within += _homes(field.model, key, f"{name}.")
    return found or within


def _is_read(field: Field, value: Any, path: Steps, reads: Reads) -> bool:
    """Return whether the value at a path, directly within a table of `value`, suits a field."""
    if sum(isinstance(step, str) for step in path) > 2:
        return False
    for step in path:
        value = value[step]
    try:
        reads(field, value)
    except (Faults, UserError):
        return False
    return True


def belongs_above(steps: Steps, below: int) -> str:
    """Return where to write a field that stands under the heading of a table within its own."""
    owner = steps[:-below]
    names = [step for step in owner if isinstance(step, str)]
    if not names:
        return f"'{steps[-1]}' belongs to the top of the file, above all headings."
    listed = isinstance(owner[-1], int)
    heading = f"[[{'.'.join(names)}]]" if listed else f"[{'.'.join(names)}]"
    return f"'{steps[-1]}' belongs to the {names[-1]}: write it directly below {heading}."
