"""Finds panels cut in more layers than the panel that they are sewn to along the grain.

Collars, cuffs, yokes and bands are cut in layers beside a single piece; they are sewn across its
grain, or are strips at its edge. That panels side by side, along whose grain the seam runs, have
the same number of layers is common practice, from memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass
from itertools import permutations

import numpy as np

from plotout.geometry.polyline import extent, unit
from plotout.pattern.chain import Link
from plotout.pattern.model import PatternSet, Piece
from plotout.pattern.number_cut import Key, Sides, sewn_to_themselves, uses
from plotout.pattern.sides import sewn_edges
from plotout.review.ends_alike import open_ended
from plotout.review.hems_met import joined_twice
from plotout.review.layers import Layers, more_with_lining, with_linings

_ALONG = np.cos(np.radians(35.0))  # of the angle between a seam and the grain
_LONG = 0.5  # of a piece's length along its grain that a seam of panels has at least
_NARROW, _STRIP = 1.0 / 6.0, 1.0 / 10.0  # of its length: as wide a panel is, a band may be, too


def panel_counts(
    sides: Mapping[str, Sides], pattern_set: PatternSet, layers: Layers, asked: Set[str]
) -> Iterator[str]:
    """Yield the panels cut in more layers than one beside them, each once.

    sides: of all seams that can be walked, by their names. asked: the pieces that are asked about
    already.
    """
    told = set(asked)
    sewn, twice = sewn_edges(pattern_set.seams), joined_twice(pattern_set.seams)
    closed, held = sewn_to_themselves(sides), _held_on_both_sides(sides)
    for name, both in sides.items():
        open_at_ends = open_ended(*both, sewn)
        used = {use.piece.name: use for use in uses(both, closed, pattern_set.say)}
        panels = [one for one in _panels(both, held) if layers.get(one.piece.name, {}).get(name)]
        for one, other in permutations(panels, 2):
            more, fewer = (layers[panel.piece.name][name] for panel in (one, other))
            beside = open_at_ends or (one.is_long and other.is_long)
            if one.piece.name in told or not (
                beside or frozenset((one.piece.name, other.piece.name)) in twice
            ):
                continue
            if more > fewer * with_linings(other.piece, one.piece, pattern_set):
                told.add(one.piece.name)
                yield (
                    f"{one.piece.name}: it is cut {more} times as often as '{other.piece.name}' "
                    f"takes, to which seam '{name}' sews it along the grain: is its count right?"
                )
            elif more_with_lining(used[one.piece.name], used[other.piece.name], pattern_set):
                told.add(one.piece.name)
                yield (
                    f"{one.piece.name}: with its lining it has more layers than "
                    f"'{other.piece.name}', to which seam '{name}' sews it: is its count right?"
                )


@dataclass(frozen=True, slots=True)
class _Panel:
    """A piece along whose grain a seam runs. is_long: the seam closes it, or is half as long."""

    piece: Piece
    is_long: bool


def _panels(sides: Sides, held: Set[str]) -> list[_Panel]:
    """Return the pieces of a seam that runs along their grain, but for strips.

    held: the pieces that are sewn to others on both sides.
    """
    links = {link.piece.name: link.piece for side in sides for link in side.links}
    found = []
    for name, piece in links.items():
        if piece.grain is None:
            continue
        own = [[link for link in side.links if link.piece.name == name] for side in sides]
        rise, size = _along_grain(piece, [link for links in own for link in links])
        long, wide = _extent(piece)
        band = wide < (_STRIP if name in held else _NARROW) * long
        if rise >= _ALONG * size and not band:
            found.append(_Panel(piece, all(own) or rise >= _LONG * long))
    return found


def _along_grain(piece: Piece, links: Sequence[Link]) -> tuple[float, float]:
    """Return how far the chords of a piece's edges reach along its grain, and their length, mm."""
    assert piece.grain is not None
    chords = np.array([link.end(last=True) - link.end(last=False) for link in links])
    rise = np.abs(chords @ unit(piece.grain[-1] - piece.grain[0]))
    return float(rise.sum()), float(np.hypot(*chords.T).sum())


def _extent(piece: Piece) -> tuple[float, float]:
    """Return how long a piece is along its grain, and how wide across it, mm, unfolded."""
    assert piece.grain is not None
    long, wide = extent(piece.outline, piece.grain[-1] - piece.grain[0])
    return long, wide * (2.0 if piece.fold is not None else 1.0)


def _held_on_both_sides(sides: Mapping[str, Sides]) -> set[str]:
    """Return the pieces of which two edges or more are sewn to other pieces by seams along them."""
    found: dict[str, set[Key]] = {}
    for both in sides.values():
        for side, other in (both, both[::-1]):
            theirs = {link.piece.name for link in other.links}
            for link in side.links:
                rise, size = _along_grain(link.piece, [link]) if link.piece.grain is not None else (
                    0.0, 1.0)  # fmt: skip
                if link.piece.name not in theirs and rise >= _ALONG * size:
                    found.setdefault(link.piece.name, set()).add((link.piece.name, link.edge.name))
    return {name for name, edges in found.items() if len(edges) > 1}
