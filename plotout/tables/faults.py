"""What is wrong in a table, gathered: every fault of a file is told at once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault. path: the way to the value, from the table that says it.

    bare: the problem does not name the field yet.
    """

    path: tuple[str | int, ...]
    problem: str
    fix: str = ""
    bare: bool = False


class Faults(Exception):  # noqa: N818 (there are several)
    """Several faults, on their way out to where the file is known."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        super().__init__()
        self.faults = tuple(faults)
