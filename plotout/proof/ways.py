"""A program or a file as ways: stretches from tool down to tool up."""

from __future__ import annotations

from array import array
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from plotout.geometry.strokes import FloatArray
from plotout.model import Program, Run, Traced


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """One stretch from tool down to tool up: what it consists of.

    label: what the stroke is called, see `Program.stroke_labels`; "" if that is its number.
    """

    parts: Sequence[Run] | Sequence[Traced]
    label: str = ""

    @property
    def points(self) -> FloatArray:
        """All its points, (n, 2), mm."""
        if len(self.parts) == 1:
            return self.parts[0].points
        return np.concatenate([part.points for part in self.parts])

    @property
    def first(self) -> Run:
        """The first run of it, as meant."""
        run = self.parts[0]
        assert isinstance(run, Run)
        return run

    @property
    def dot(self) -> bool:
        """Whether the tool goes down and up in one place."""
        return len(self.parts) == 1 and len(self.parts[0].points) == 1


@dataclass(frozen=True, slots=True, eq=False)
class Ways:
    """The ways of a program or a file, in turn. Each is made when it is asked for, since there may
    be a million.

    parts: runs, or traced lines, of all of them. begins: (n + 1,) where the parts of each begin.
    labels: what each is called, or none if that is its number.
    """

    parts: Sequence[Run] | Sequence[Traced]
    begins: array[int]
    labels: Sequence[str] = ()

    def __len__(self) -> int:
        return len(self.begins) - 1

    def __getitem__(self, index: int) -> Way:
        parts = self.parts[self.begins[index] : self.begins[index + 1]]
        return Way(parts, self.labels[index] if self.labels else "")

    def __iter__(self) -> Iterator[Way]:
        return (self[index] for index in range(len(self)))

    @property
    def points(self) -> list[FloatArray]:
        """The points of each, (n, 2), mm."""
        return [
            self.parts[begin].points if end - begin == 1 else Way(self.parts[begin:end]).points
            for begin, end in pairwise(self.begins)
        ]


def ways(parts: Sequence[Run] | Sequence[Traced], labels: Sequence[str] = ()) -> Ways:
    """Return runs, or traced lines, joined where the tool is not lifted in between.

    labels: what each is called, or none if that is its number.
    """
    every: Sequence[Run | Traced] = parts
    begins = array("q", (k for k, part in enumerate(every) if not part.follows or not k))
    begins.append(len(parts))
    return Ways(parts, begins, labels)


def meant_ways(program: Program) -> Ways:
    """Return a program's strokes, each with what it is called."""
    if not program.advances:
        return ways(program.runs)
    called = dict(zip(program.stroke_numbers, program.stroke_labels, strict=True))
    return ways(program.runs, tuple(called.values()))


def named(way: Way, index: int) -> str:
    """Return a way of a program in words. index: from 0."""
    stroke = way.first.stroke
    card = f" of card '{stroke.card}'" if stroke.card else ""
    at = place_of(way.first.points[0])
    return f"stroke {way.label or index + 1} ({stroke.mark}{card}, from {at})"


def place_of(point: FloatArray) -> str:
    """Return a place in words."""
    return f"x {point[0]:.2f}, y {point[1]:.2f} mm"
