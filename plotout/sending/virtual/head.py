"""The head of a virtual machine: its tool's position, what it drew, and the time it took."""

from __future__ import annotations

import math
from array import array
from collections import deque
from dataclasses import dataclass, field
from itertools import chain

Point = tuple[float, float]


@dataclass(slots=True)
class HeadStroke:
    """One stroke that the machine drew. whole: it was ended by lifting, not by a stop or a reset.

    places: x, y, x, y ... in machine units: a file of 200 MB draws ten million points. broken: it
    was stopped, and what was left of it was discarded.
    """

    places: array[float]
    tool: int
    whole: bool = False
    broken: bool = False

    @property
    def points(self) -> list[Point]:
        """Its points, in machine units."""
        return list(zip(self.places[::2], self.places[1::2], strict=True))


@dataclass(slots=True)
class Head:
    """A tool that moves at a steady speed.

    speed: machine units per second; 0: no time at all. left: s that the current move still takes,
    according to the line, which keeps the time. places: where a user who moves the tool by the
    machine's own keys finds marks, one after another.
    """

    speed: float = 0.0
    holds_tool: bool = True
    at: Point = (0.0, 0.0)
    down: bool = False
    tool: int = 0
    strokes: list[HeadStroke] = field(default_factory=list)
    left: float = 0.0
    since: Point = (0.0, 0.0)
    places: deque[Point] = field(default_factory=deque)

    def lift(self) -> None:
        """Lift the tool: the stroke is complete, unless it was broken off."""
        if self.down and self.strokes:
            self.strokes[-1].whole = not self.strokes[-1].broken
        self.down = False

    def lower(self) -> None:
        """Lower the tool: a stroke begins here, if a tool is held at all."""
        if not self.down and self.holds_tool:
            self.strokes.append(HeadStroke(array("d", self.at), self.tool))
        self.down = True

    def go(self, to: Point) -> float:
        """Move and return the seconds that it takes."""
        seconds = math.dist(self.at, to) / self.speed if self.speed else 0.0
        self.since, self.at = self.at, to
        if self.down and self.holds_tool:
            self.strokes[-1].places.extend(to)
        return seconds

    def here(self) -> Point:
        """Return where the tool is now, on its straight path to its target."""
        far = math.dist(self.since, self.at)
        share = min(1.0, self.left * self.speed / far) if far else 0.0
        (ax, ay), (bx, by) = self.since, self.at
        return (bx + (ax - bx) * share, by + (ay - by) * share)

    def to_next_mark(self) -> None:
        """Go to the next mark by the machine's own keys."""
        if self.places:
            self.at = self.places.popleft()

    def break_off(self) -> None:
        """Stop, with nothing left to do of the stroke."""
        self.halt()
        self.discard()

    def discard(self) -> None:
        """Note that the rest of a stroke that was begun is never drawn."""
        if self.down and self.strokes:
            self.strokes[-1].broken = True

    def halt(self) -> None:
        """Stop where the tool is now: the rest of the current move is not drawn."""
        self.at, rest = self.here(), self.left * self.speed
        self.left = 0.0
        if not (self.down and self.holds_tool and self.strokes):
            return
        stroke = self.strokes[-1]
        points = stroke.points
        while rest > 0.0 and len(points) > 1:
            far = math.dist(points[-2], points[-1])
            if far > rest:
                (ax, ay), (bx, by) = points[-2:]
                share = rest / far
                points[-1] = (bx + (ax - bx) * share, by + (ay - by) * share)
            else:
                points.pop()
            rest -= far
        stroke.places = array("d", chain.from_iterable(points))
        self.at = points[-1]

    def reset(self) -> None:
        """Lose power: tool up, back at the origin; the current stroke is incomplete."""
        self.halt()
        self.down = False
        self.at = (0.0, 0.0)
        self.tool = 0
