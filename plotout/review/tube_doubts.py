"""Finds pieces whose grain runs round the tube that they are sewn to: a sleeve, a leg, a body.

Noted, never corrected. That the grain runs along a tube is common practice, from memory; so is it
that a narrow strip in it may be cut either way, and that a sleeve which is cut in one with its body
has the body's grain.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence, Set

import numpy as np

from plotout.errors import quoted
from plotout.geometry.polyline import extent
from plotout.geometry.strokes import FloatArray
from plotout.pattern.model import PatternSet, Piece, Seam
from plotout.pattern.sides import chains, sewn_edges
from plotout.pattern.true_measure import slant
from plotout.review.hems_met import called_hem, folded_over
from plotout.review.joined_tubes import JoinedTube, Part, joined_tubes
from plotout.review.tubes import Tube, tubes

_ACROSS = np.cos(np.radians(65.0))  # of the angle between grain and tube
_SQUARE = 60.0  # degrees between the seam of a cuff and the grain of its sleeve, at least
_NARROW = 1.0 / 6.0  # of its length: a narrower part may be cut either way


def tube_doubts(
    seams: Sequence[Seam], pattern_set: PatternSet, asked: set[frozenset[str]]
) -> Iterator[str]:
    """Yield the pieces whose grain runs round the tube that seams make of them.

    asked: the names of pieces whose grain was compared and asked about already, to which are added
    those asked about here.
    """
    closed, joined = list(tubes(seams, pattern_set)), joined_tubes(seams, pattern_set)
    for tube in closed:
        if not _across(tube.piece, tube.axis) or tube.of_body:
            continue
        if not _is_folded_cuff(tube, seams, pattern_set):
            asked.add(frozenset([tube.piece.name]))
            yield (
                f"seam '{tube.seam}': it closes '{tube.piece.name}' to a tube, but the grain runs "
                "round that, not along it: is it turned?"
            )
    lies = [(tube.piece, tube.axis) for tube in closed]
    lies += [(part.piece, part.axis) for several in joined for part in several.parts]
    along = {piece.name for piece, axis in lies if not _across(piece, axis)}
    known = {*asked, *(frozenset([tube.piece.name]) for tube in closed)}
    for several in joined:
        turned = _turned(several, along)
        deep = several.deep if len(turned) == len(several.parts) else several.deep_as_sewn
        asks = turned and deep and not _is_closed_all_round(several, seams)
        if asks and not any(names <= several.names for names in known):
            known.add(several.names)
            asked.add(several.names)
            yield _words(several, turned)


def _is_folded_cuff(tube: Tube, seams: Sequence[Seam], pattern_set: PatternSet) -> bool:
    """Return whether a tube no deeper than wide is sewn at one end alone, which is no hem, to what
    lies across its seam by its own grain, as a sleeve does: a cuff that is folded in half.
    """
    deep, wide = extent(tube.piece.outline, tube.axis)
    sewn = sewn_edges(seams)
    free = [edge for edge in tube.piece.edges if (tube.piece.name, edge.name) not in sewn]
    if deep > wide or not free or any(called_hem(edge) or folded_over(edge) for edge in free):
        return False
    others = [
        link
        for seam in seams
        for both in [chains(seam, pattern_set.piece)]
        for own, side in (both, both[::-1])
        if tube.piece.name in {link.piece.name for link in own.links}
        for link in side.links
        if link.piece.name != tube.piece.name
    ]
    return bool(others) and all(
        link.piece.grain is not None
        and abs(slant(link.edge.points[[0, -1]], link.piece.grain)) >= _SQUARE
        for link in others
    )


def _turned(tube: JoinedTube, along: Set[str]) -> list[Part]:
    """Return the parts of a tube whose grain runs round it; none if that may be so on purpose.

    along: the names of pieces whose grain runs along this tube or another one.
    """
    turned = [part for part in tube.parts if _across(part.piece, part.axis)]
    strips = len(turned) < len(tube.parts) and not all(map(_is_wide, turned))
    bodies = any(part.of_body or part.piece.name in along for part in turned)
    return [] if strips or bodies else turned


def _is_closed_all_round(tube: JoinedTube, seams: Sequence[Seam]) -> bool:
    """Return whether all edges of its pieces are sewn to each other, as those of a cushion are: it
    is as good a tube the other way.
    """
    within = {
        (name, edge)
        for seam in seams
        for edges in [[*seam.first.edges, *seam.second.edges]]
        if all(name in tube.names for name, _, _ in edges)
        for name, edge, _ in edges
    }
    return all(
        (part.piece.name, edge.name) in within or edge.name == part.piece.fold
        for part in tube.parts
        for edge in part.piece.edges
    )


def _across(piece: Piece, axis: FloatArray) -> bool:
    """Return whether a piece's grain lies across an axis."""
    if piece.grain is None or piece.bias:
        return False
    grain = piece.grain[-1] - piece.grain[0]
    size = float(np.hypot(*grain) * np.hypot(*axis))
    return bool(abs(grain @ axis) <= _ACROSS * size)


def _is_wide(part: Part) -> bool:
    return part.wide > _NARROW * part.long


def _words(tube: JoinedTube, turned: Sequence[Part]) -> str:
    first, *others = (f"'{name}'" for name in tube.seams)
    joins = f"it and {' and '.join(others)} join" if others else "it joins"
    names, of = (quoted(part.piece.name for part in parts) for parts in (tube.parts, turned))
    return (
        f"seam {first}: {joins} {names} to a tube, but the grain of {of} runs round that, not "
        f"along it: {'is it' if len(turned) == 1 else 'are they'} turned?"
    )
