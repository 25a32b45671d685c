"""What a set leaves unsaid of its seams, as plotout understands it: stated, and not a question.

A sound set has all of it (hems that nothing is sewn to, a yoke in two layers, a waistband), and so
has one in which a seam was forgotten, too many are cut, or a gusset lacks its second panel.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from plotout.errors import UserError, quoted
from plotout.pattern.held import held
from plotout.pattern.model import Edge, PatternSet, Piece
from plotout.pattern.number_cut import Sides, sewn_to_themselves, taken_by, uses
from plotout.pattern.sides import chains, sewn_edges
from plotout.review.hems_met import folded_over
from plotout.review.upside_down import uncompared
from plotout.tongue import Tongue


def unsaid(pattern_set: PatternSet) -> tuple[str, ...]:
    """Return how a set with seams is understood where it says no more, in words."""
    sides = _walkable(pattern_set)
    if not sides:
        return ()
    free = ", ".join(_free_edges(pattern_set))
    counts = _counted(sides, pattern_set.say)
    layers = _layers(counts)
    many = ", ".join(f"{times} of {piece}" for piece, times in layers.items() if times > 1)
    left = ", ".join(
        f"'{edge}' of {piece} ({there} cut, {taken * layers[piece]} sewn)"
        for (piece, edge), (there, taken) in counts.items()
        if there > taken * layers[piece]
    )
    said = [
        *([f"in no seam: {free}"] if free else []),
        *([f"in layers, each with its own seams: {many}"] if many else []),
        *([f"not all sewn: {left}"] if left else []),
    ]
    for one in held(sides, pattern_set.say):
        if one.folds:
            edges = quoted(one.band_edges)
            said.append(
                f"folded: {one.band}, since {edges} go to '{one.edge}' of {one.piece}, of which "
                f"{one.cut} {'is' if one.cut == 1 else 'are'} cut; to join two, cut more of it"
            )
    walked = [seam for seam in pattern_set.seams if seam.name in sides]
    if names := uncompared(walked, pattern_set):
        which = ", ".join(names)
        said.append(f"one way, their arrows taken as right, since nothing shows their top: {which}")
    return tuple(dict.fromkeys(said))


def _walkable(pattern_set: PatternSet) -> dict[str, Sides]:
    """Return the sides of the seams that can be walked."""
    found: dict[str, Sides] = {}
    for seam in pattern_set.seams:
        try:
            found[seam.name] = chains(seam, pattern_set.piece)
        except (KeyError, UserError):
            continue
    return found


def _free_edges(pattern_set: PatternSet) -> Iterator[str]:
    """Yield the pieces, and what edges of them, are in no seam. Derived ones follow their parent.

    Folds, and edges that are folded over or turned back, are not meant to be.
    """
    sewn = sewn_edges(pattern_set.seams)
    for piece in pattern_set.pieces:
        if piece.derive is not None:
            continue
        free = [edge.name for edge in piece.edges if (piece.name, edge.name) not in sewn]
        if len(free) == len(piece.edges):
            yield piece.name
        elif named := [f"'{name}'" for name in free if not _turned(piece.edge(name), piece)]:
            yield f"{' and '.join(named)} of {piece.name}"


def _turned(edge: Edge, piece: Piece) -> bool:
    return piece.fold == edge.name or folded_over(edge)


def _counted(seams: Mapping[str, Sides], say: Tongue) -> dict[tuple[str, str], tuple[int, int]]:
    """Return of each edge in a seam how many are cut, and how many all its seams take."""
    found: dict[tuple[str, str], tuple[int, int]] = {}
    closed = sewn_to_themselves(seams)
    for sides in seams.values():
        together = uses(sides, closed, say)
        for use in together:
            key = use.piece.name, use.edge
            _, before = found.get(key, (0, 0))
            found[key] = use.there, before + taken_by(use, together)
    return found


def _layers(counts: Mapping[tuple[str, str], tuple[int, int]]) -> dict[str, int]:
    """Return in how many layers each piece is cut: as its edge has of which most are taken."""
    layers: dict[str, int] = {}
    for (piece, _), (there, taken) in counts.items():
        times = max(there // taken, 1) if taken else 1
        layers[piece] = min(times, layers.get(piece, times))
    return layers
