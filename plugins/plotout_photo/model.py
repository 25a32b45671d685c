"""The solver's model: pictures, strips and pricks, as one vector of unknowns.

The unknowns, in order: the print (how much longer strips are, and how much wider for their length),
the strips' places except the first's, the cameras with how far dark has spread over the marks'
edges, the pricks' places, and the heights of the paper at the nodes of a net.

Dark spreads in mm where ink does, and in pixels where a camera's own curve of brightness isn't the
one that is taken off (IEC 61966-2-1): a blurred edge then lies elsewhere, by as much all over.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from plotout import FloatArray
from plotout_photo.camera import Kind
from plotout_photo.strips import corners_of, strip_of

CORNER = 0.12  # pixels by which a mark's corner is off, one sigma
PRICK = 0.15  # pixels by which a prick's centre is off
HELD, MEASURED = 1e-7, 0.1  # likely share by which a print is longer: not measured, measured
WIDER = 0.004  # likely share by which it is wider for its length
SPREAD = (0.15, 0.5)  # likely spread of ink or light, mm, and pixels
HEIGHT, BEND = 1.5, 0.35  # mm: likely lift of paper, and its bend from node to node
OUTWARD = np.array([[-1, 1], [1, 1], [1, -1], [-1, -1.0]])


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """The measurements in one picture. marks: (m,) numbers; corners: (m, 4, 2) pixels.

    pricks: (p,) the pricks it sees; at: (p, 2) their places, pixels; sigma: (p,) pixels.
    """

    kind: Kind
    marks: tuple[int, ...]
    corners: FloatArray
    pricks: tuple[int, ...] = ()
    at: FloatArray = field(default_factory=lambda: np.empty((0, 2)))
    sigma: FloatArray = field(default_factory=lambda: np.empty(0))

    @property
    def count(self) -> int:
        """The number of its unknowns: the camera's, and the spread in mm and in pixels."""
        return len(self.kind.expected) + len(SPREAD)

    @property
    def outward(self) -> FloatArray:
        """Where corners go, (4 m, 2), if all sides of the marks move outward by a pixel."""
        ways = np.roll(self.corners, -1, axis=1) - self.corners
        ways = ways / np.hypot(ways[..., :1], ways[..., 1:])
        out = np.stack([ways[..., 1], -ways[..., 0]], axis=2)  # clockwise as read, with y down
        sides = np.stack([np.roll(out, 1, axis=1), out], axis=2).reshape(-1, 2, 2)
        return np.asarray(np.linalg.solve(sides, np.ones((len(sides), 2, 1)))[:, :, 0])


@dataclass(frozen=True, slots=True, eq=False)
class Known:
    """A measured distance between two places on strips, mm.

    nominal: kept from an earlier reading, in which the strips had it as this; None: measured now.
    """

    ends: tuple[tuple[int, tuple[float, float]], tuple[int, tuple[float, float]]]
    distance: float
    sigma: float = 0.25
    nominal: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Net:
    """The heights of the paper: a smooth surface over the pricks. basis: (p, nodes)."""

    basis: FloatArray
    prior: FloatArray  # rows that should be zero, (r, nodes)
    low: FloatArray  # its corner x, y, and the spacing of nodes, mm
    nodes: tuple[int, int]


@dataclass(slots=True, eq=False)
class Model:
    """The unknowns and the residuals. strips: numbers, the first is where the table begins.

    thickness: mm by which marks lie higher than paper on the table. rows_of: by view and strip, the
    rows among the corners.
    """

    views: Sequence[View]
    strips: tuple[int, ...]
    pricks: int = 0
    net: Net | None = None
    known: Sequence[Known] = ()
    thickness: float = 0.0
    strip_at: dict[int, int] = field(init=False)
    camera_at: list[int] = field(init=False)
    prick_at: int = field(init=False)
    net_at: int = field(init=False)
    count: int = field(init=False)
    _own: list[FloatArray] = field(init=False)
    _outward: list[FloatArray] = field(init=False)
    rows_of: list[list[tuple[int, NDArray[np.intp]]]] = field(init=False)

    def __post_init__(self) -> None:
        self.strip_at = {strip: 2 + 3 * index for index, strip in enumerate(self.strips[1:])}
        at = 2 + 3 * (len(self.strips) - 1)
        self.camera_at = []
        for view in self.views:
            self.camera_at.append(at)
            at += view.count
        self.prick_at = at
        self.net_at = at + 2 * self.pricks
        self.count = self.net_at + (self.net.basis.shape[1] if self.net else 0)
        self._own = [
            np.vstack([np.empty((0, 2)), *(corners_of(mark) for mark in view.marks)])
            for view in self.views
        ]
        self._outward = [view.outward for view in self.views]
        self.rows_of = []
        for view in self.views:
            of = np.repeat([strip_of(mark) for mark in view.marks], 4)
            self.rows_of.append([(int(s), np.flatnonzero(of == s)) for s in np.unique(of)])

    def camera(self, x: FloatArray, index: int) -> FloatArray:
        """Return the values of a view's camera."""
        at = self.camera_at[index]
        return x[at : at + len(self.views[index].kind.expected)]

    def spread(self, x: FloatArray, index: int) -> FloatArray:
        """Return how far, in mm and in pixels, dark has spread over a view's marks, (2,)."""
        at = self.camera_at[index] + len(self.views[index].kind.expected)
        return x[at : at + len(SPREAD)]

    def pose(self, x: FloatArray, strip: int) -> FloatArray:
        """Return a strip's angle (radians) and place (mm)."""
        if strip == self.strips[0]:
            return np.zeros(3)
        at = self.strip_at[strip]
        return x[at : at + 3]

    def places(self, x: FloatArray) -> FloatArray:
        """Return the pricks' places with their heights, (p, 3), mm."""
        flat = x[self.prick_at : self.net_at].reshape(-1, 2)
        heights = self.net.basis @ x[self.net_at :] if self.net else np.zeros(len(flat))
        return np.column_stack([flat, heights])

    def on_strip(self, x: FloatArray, strip: int, points: FloatArray) -> FloatArray:
        """Return where points of a strip, in its own coordinates, lie on the table, (n, 2)."""
        angle, *shift = self.pose(x, strip)
        cos, sin = np.cos(angle), np.sin(angle)
        mm = points * (1 + x[0]) * np.array([1.0, 1 + x[1]])
        return np.asarray(mm @ np.array([[cos, sin], [-sin, cos]]) + shift)

    @property
    def print_spread(self) -> tuple[float, float]:
        """The likely shares by which the print is longer, and wider for its length.

        No picture shows how much longer it is. If no measured distance does, it is held: what is
        expected of the paper's heights would otherwise make all of the table smaller.
        """
        return (MEASURED if self.known else HELD, WIDER)

    @property
    def seen(self) -> int:
        """How many of the residuals, the first ones, are of places in pictures."""
        return sum(8 * len(view.marks) + 2 * len(view.pricks) for view in self.views)

    def residuals(self, x: FloatArray) -> FloatArray:
        """Return all residuals, in sigmas."""
        parts = []
        for index, view in enumerate(self.views):
            parts.append(self.off(x, index).ravel() / CORNER)
            if view.pricks:
                places = self.places(x)[list(view.pricks)]
                off = view.kind.see(self.camera(x, index), places) - view.at
                parts.append((off / view.sigma[:, None]).ravel())
        parts.append(self._priors(x))
        return np.concatenate(parts)

    def off(self, x: FloatArray, index: int) -> FloatArray:
        """Return how far the corners of a view's marks are from where they are seen, (4 m, 2)."""
        view, world = self.views[index], self.corners(x, index)[0]
        wide = self._outward[index] * self.spread(x, index)[1]
        seen = view.kind.see(self.camera(x, index), world) + wide
        return np.asarray(seen - view.corners.reshape(-1, 2))

    def corners(self, x: FloatArray, index: int) -> tuple[FloatArray, FloatArray]:
        """Return the corners of a view's marks, (4 m, 3), and those on their strips, (4 m, 2)."""
        outward = np.tile(OUTWARD, (len(self.views[index].marks), 1))
        own = self._own[index] + outward * self.spread(x, index)[0]
        world = np.full((len(own), 3), self.thickness)
        for strip, rows in self.rows_of[index]:
            world[rows, :2] = self.on_strip(x, strip, own[rows])
        return world, own

    def _priors(self, x: FloatArray) -> FloatArray:
        parts = [x[:2] / np.array(self.print_spread)]
        for index, view in enumerate(self.views):
            said = np.isfinite(view.kind.spread)
            off = (self.camera(x, index) - view.kind.expected)[said] / view.kind.spread[said]
            parts += [off, self.spread(x, index) / np.array(SPREAD)]
        if self.net:
            parts.append(self.net.prior @ x[self.net_at :])
        parts += [np.array([self._off(x, known)]) for known in self.known]
        return np.concatenate(parts)

    def _off(self, x: FloatArray, known: Known) -> float:
        return (self.distance(x, known) - known.distance) / known.sigma

    def distance(self, x: FloatArray, known: Known) -> float:
        """Return how far apart the ends of a measured distance are by the strips, mm."""
        one, other = (self.on_strip(x, s, np.array([at]))[0] for s, at in known.ends)
        return float(np.hypot(*(one - other)))
