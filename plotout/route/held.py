"""Parts of a ring that are held together and ordered as strokes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from plotout.geometry.strokes import FloatArray
from plotout.machine import Motion
from plotout.route.cost import costs
from plotout.route.net import fixed_net, strokes_of
from plotout.route.ring import Ints, Net


@dataclass(frozen=True, slots=True, eq=False)
class Held:
    """A ring's parts as strokes.

    parts: each its nodes in a row; the first begins with the start, and the last ends with the end.
    ends: (n, 2, 2) of all but these two, mm. net: of these strokes, between the first and the last.
    """

    parts: Sequence[Ints]
    ends: FloatArray
    net: Net

    @property
    def strokes(self) -> int:
        """How many parts may be moved."""
        return len(self.ends)

    def in_order(self) -> Ints:
        """Return the ring of the strokes in the order of the parts."""
        pairs = np.column_stack([np.arange(self.strokes), self.net.mate[: self.strokes]]).ravel()
        nodes = len(self.net.at) - 2
        return np.concatenate([[nodes], pairs[pairs >= 0], [nodes + 1]])

    def whole(self, ring: Ints) -> Ints:
        """Return the ring of all nodes, with the parts as they are in this ring of the strokes."""
        order, turned = strokes_of(ring, self.ends)
        inside = [
            self.parts[k + 1][::-1] if back else self.parts[k + 1]
            for k, back in zip(order.tolist(), turned.tolist(), strict=True)
        ]
        return np.concatenate([self.parts[0], *inside, self.parts[-1]])


def held(parts: Sequence[Ints], net: Net, motion: Motion | None) -> Held:
    """Return parts of the net's ring as strokes; see `Held`."""
    tips = np.array([(part[0], part[-1]) for part in parts[1:-1]])
    begin, end = parts[0][-1], parts[-1][0]
    beyond = net.beyond[tips]
    if end < len(net.at) - 1:
        beyond = costs(net.at[tips], net.at[end], motion)
    ends = net.at[tips]
    return Held(parts, ends, fixed_net(ends, net.at[begin], beyond, motion))


def held_between(inside: Sequence[Ints], net: Net, motion: Motion | None) -> Held:
    """Return parts that hold all nodes but the start and the end as strokes between these two."""
    start = len(net.at) - 2
    return held([np.array([start]), *inside, np.array([start + 1])], net, motion)
