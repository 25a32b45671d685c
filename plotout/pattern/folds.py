"""The fold of a drawn piece: straight, and without an allowance.

What is wrong with it is a fault among others, so that the rest of the set can be looked at.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from shapely.geometry import Polygon

from plotout.errors import UserError
from plotout.geometry.polyline import ring_of
from plotout.pattern.accuracy import known_in_words
from plotout.pattern.model import Edge
from plotout.pattern.piece_marks import edge_named
from plotout.pattern.spec import PieceSpec
from plotout.pattern.true_measure import bow


def with_allowance(spec: PieceSpec) -> Iterator[UserError]:
    """Yield the fault of a fold with an allowance of its own, which it is drawn without."""
    for rule in spec.edge_rules:
        on_fold = spec.fold is not None and rule.edge.name == spec.fold.name
        if on_fold and rule.allowance is not None and max(rule.allowance) > 0.0:
            yield UserError(
                f"'{rule.edge.name}' lies on the fold, so it can have no allowance",
                fix="Remove its allowance, or name another edge as the fold.",
                place=replace(rule.edge.place, piece=spec.name),
            )


def straightened(
    edges: list[Edge],
    spec: PieceSpec,
    tolerance: float,
    bow_to: Callable[[str], float],
    notes: list[str],
) -> tuple[list[Edge], list[UserError]]:
    """Make the fold exactly straight, so that the halves meet; return the fault if it bows.

    bow_to: to how many mm the bow of an edge is known. Where it may be straight, that is a note.
    Raises UserError if there is no piece with it straight.
    """
    if spec.fold is None:
        return edges, []
    fold = edge_named(edges, spec.fold)
    straight = replace(fold, points=fold.points[[0, -1]])
    folded = [straight if edge is fold else edge for edge in edges]
    bowed = bow(fold.points)
    closed = bool((fold.points[0] == fold.points[-1]).all())
    if bowed <= tolerance and not closed:
        return folded, []
    if not closed and bowed - (to := bow_to(fold.name)) <= tolerance:
        what = f"the {bowed:.2f} mm by which the fold '{fold.name}' bows"
        notes.append(f"{what} are {known_in_words(to)}: it was made straight; look whether it is")
        return folded, []
    fault = UserError(
        f"the fold '{fold.name}' is not straight: it bows {bowed:.2f} mm",
        fix=f"The tolerance is {tolerance:g} mm. Check that it is the right edge.",
        place=replace(spec.fold.place, piece=spec.name),
    )
    if closed or len(folded) < 3 or not Polygon(ring_of([edge.points for edge in folded])).is_valid:
        raise fault
    return folded, [fault]
