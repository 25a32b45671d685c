"""Finds bindings and gussets cut in layers: noted, never corrected.

A collar, a cuff or a band is cut twice, since its layers are sewn to each other and turned. That a
binding is folded over the edge, and that a gusset or the bellows of a pocket go round
it once, is common practice, from memory.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Set

import numpy as np

from plotout.errors import quoted
from plotout.geometry.polyline import extent, length
from plotout.pattern.cloths import most_of_a_cloth
from plotout.pattern.model import PatternSet, Piece
from plotout.pattern.number_cut import Sides
from plotout.review.layers import Layers

_BINDING = re.compile(
    r"bindings?|einfass\w*|schräg(band|streifen)|biais|biés|bies|sbieco|viés|biaisband|snedremsa|"
    r"skråbånd|vinonauha|lamówka|šikmý|ferdepánt|бейка|окантовка|バイアス\w*"
)
"""The word for it, from memory: of cloth on the bias a stand may be cut, too, in two layers."""
_STRIP = 5.0  # times as long as wide


def strip_counts(
    sides: Mapping[str, Sides], pattern_set: PatternSet, layers: Layers, asked: Set[str]
) -> Iterator[str]:
    """Yield the bindings and gussets of which every seam takes only a part.

    sides: of all seams that can be walked, by their names. asked: the pieces that are asked about
    already.
    """
    round_ = {name for both in sides.values() for name in _go_round(both)}
    for piece in pattern_set.pieces:
        own = layers.get(piece.name, {})
        times = {name: many for name, many in own.items() if not _closes(sides[name], piece)}
        if piece.name in asked or piece.derive is not None or min(times.values(), default=1) == 1:
            continue
        if _is_strip(piece) and (_is_binding(piece) or piece.name in round_):
            many = most_of_a_cloth(piece, pattern_set.say)
            kind = "binding" if _is_binding(piece) else "strip that goes round another piece"
            take = (
                f"seam {quoted(times)} takes" if len(times) == 1 else f"seams {quoted(times)} take"
            )
            yield (
                f"{piece.name}: {many} are cut of it, but {take} only "
                f"{many // min(times.values())}, and a {kind} has one layer: is its count right, "
                "or is the rest sewn elsewhere?"
            )


def _is_binding(piece: Piece) -> bool:
    return any(map(_BINDING.fullmatch, re.findall(r"\w+", piece.name.casefold())))


def _is_strip(piece: Piece) -> bool:
    longest = max(piece.edges, key=lambda edge: length(edge.points))
    chord = np.asarray(longest.points[-1] - longest.points[0])
    if not chord.any():
        return False
    long, wide = extent(piece.outline, chord)
    return long >= _STRIP * wide


def _closes(sides: Sides, piece: Piece) -> bool:
    """Return whether a seam sews a piece to nothing but itself: of all that are cut, the ends."""
    return all(link.piece.name == piece.name for side in sides for link in side.links)


def _go_round(sides: Sides) -> Iterator[str]:
    """Yield the piece of which one edge goes along several of another piece, round its corners."""
    for own, other in (sides, sides[::-1]):
        names = {link.piece.name for link in other.links}
        if len(own.links) == 1 < len(other.links) and len(names) == 1:
            yield own.links[0].piece.name
