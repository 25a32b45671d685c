"""A program or a file as ways: stretches from tool down to tool up."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import repeat

import numpy as np

from plotout.geometry.strokes import FloatArray
from plotout.model import Program, Run, Traced


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """One stretch from tool down to tool up: its points, (n, 2), mm, and what it consists of.

    label: what the stroke is called, see `Program.stroke_labels`.
    """

    points: FloatArray
    parts: Sequence[Run] | Sequence[Traced]
    label: str = ""

    @property
    def first(self) -> Run:
        """The first run of it, as meant."""
        run = self.parts[0]
        assert isinstance(run, Run)
        return run


def ways(parts: Sequence[Run] | Sequence[Traced], labels: Iterable[str] = ()) -> list[Way]:
    """Return runs, or traced lines, joined where the tool is not lifted in between.

    labels: what each is called, if that is known.
    """
    found: list[list[Run | Traced]] = []
    for part in parts:
        if part.follows and found:
            found[-1].append(part)
        else:
            found.append([part])
    return [
        Way(
            np.vstack([part.points for part in members]) if len(members) > 1 else members[0].points,
            members,  # type: ignore[arg-type]
            label,
        )
        for members, label in zip(found, labels or repeat(""), strict=False)
    ]


def meant_ways(program: Program) -> list[Way]:
    """Return a program's strokes, each with what it is called."""
    called = dict(zip(program.stroke_numbers, program.stroke_labels, strict=True)).values()
    return ways(program.runs, called)


def named(way: Way, index: int) -> str:
    """Return a way of a program in words. index: from 0."""
    stroke = way.first.stroke
    card = f" of card '{stroke.card}'" if stroke.card else ""
    at = place_of(way.first.points[0])
    return f"stroke {way.label or index + 1} ({stroke.mark}{card}, from {at})"


def place_of(point: FloatArray) -> str:
    """Return a place in words."""
    return f"x {point[0]:.2f}, y {point[1]:.2f} mm"
