"""Finds plain edges between hems that are folded over: the top of a bag whose gusset has hems.

Noted, never corrected. That an opening is finished alike all round is common practice, from memory.
A band's end beside an opening that is folded over meets it at one end, or meets one edge twice;
a flap stands out, and isn't as long as straight across.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from plotout.geometry.polyline import length
from plotout.pattern.model import Edge, PatternSet, Seam
from plotout.pattern.number_cut import Key
from plotout.pattern.sides import chains, sewn_edges
from plotout.review.hems_met import Beside, beside, faced_edges, folded_over

_STRAIGHT = 1.1  # times as long as from end to end: a flap is longer (estimated)


def plain_hems(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[str]:
    """Yield the edges in no seam that at both ends meet edges which are folded over, each once.

    seams: those that can be walked.
    """
    done = sewn_edges(pattern_set.seams) | faced_edges(pattern_set.pieces)
    met: dict[Key, dict[bool, tuple[Seam, Beside]]] = {}
    for seam in seams:
        sides = chains(seam, pattern_set.piece)
        for last in (False, True):
            ends = [beside(side, last=last) for side in sides]
            for one, other in (ends, ends[::-1]):
                if one is None or other is None or not folded_over(other.edge):
                    continue
                key = one.piece.name, one.edge.name
                if key not in done and _is_plain(one.edge):
                    met.setdefault(key, {})[one.forward] = seam, other
    for (piece, edge), ends_met in met.items():
        if len(ends_met) == 2:
            (seam, one), (_, other) = ends_met[True], ends_met[False]
            if (one.piece.name, one.edge.name) != (other.piece.name, other.edge.name):
                yield (
                    f"seam '{seam.name}': '{edge}' of '{piece}' lies between '{one.edge.name}' of "
                    f"'{one.piece.name}' and '{other.edge.name}' of '{other.piece.name}', which "
                    "are folded over, but it is not: is its corner right?"
                )


def _is_plain(edge: Edge) -> bool:
    """Return whether an edge with an allowance runs about straight, and is not folded over."""
    across = float(np.hypot(*(edge.points[-1] - edge.points[0])))
    straight = length(edge.points) <= _STRAIGHT * across
    return straight and not folded_over(edge) and min(edge.allowance) > 0.0
