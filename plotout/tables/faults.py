"""Gathers the faults of a table, so that all faults of a file are reported at once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Fault:
    """A fault. path: to the value, from the table that reports it.

    bare: the problem does not name the field yet. unknown: its last step is a field that the table
    doesn't have. below: how many of its last steps lie below the table that the field belongs to,
    if it was written under another heading; else 0.
    """

    path: tuple[str | int, ...]
    problem: str
    fix: str = ""
    bare: bool = False
    unknown: bool = False
    below: int = 0


class Faults(Exception):  # noqa: N818 (there are several)
    """Several faults, raised to where the file is known."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        super().__init__()
        self.faults = tuple(faults)
