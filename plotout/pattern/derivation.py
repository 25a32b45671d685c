"""Derived pieces and splits as the set file describes them, for the finish room."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from shapely.geometry import LineString, Polygon

from plotout.errors import Place, UserError
from plotout.geometry.strokes import FloatArray
from plotout.pattern.model import Derivation, EdgeRule, Piece, Split
from plotout.pattern.piece_marks import edge_named
from plotout.pattern.settings import Defaults
from plotout.pattern.spec import PieceSpec


def piece_to_derive(spec: PieceSpec, defaults: Defaults) -> Piece:
    """Return a derived piece with its plan; the finish room makes its edges."""
    plan = spec.derive
    assert plan is not None
    return Piece(
        name=spec.name,
        edges=(),
        cuts=spec.cuts,
        whole=spec.whole,
        splits=splits(spec, defaults),
        parent=plan.parent.name,
        words=spec.words,
        bias=bool(spec.bias),
        one_way=defaults.one_way if spec.one_way is None else spec.one_way,
        place=spec.place,
        derive=Derivation(
            how=plan.how,
            along=tuple(ref.name for ref in plan.along),
            width=plan.width or 0.0,
            inset=plan.inset or 0.0,
            smaller=plan.smaller or 0.0,
            ease=plan.ease or 0.0,
            hem=(plan.hem.edge.name, plan.hem.shorter) if plan.hem else None,
            marked=plan.marked,
            bias=spec.bias,
            one_way=spec.one_way,
            allowance=spec.allowance,
            rules=tuple(
                EdgeRule(
                    rule.edge.name, rule.allowance, rule.corner, rule.seam_notches, rule.facing
                )
                for rule in spec.edge_rules
            ),
        ),
    )


def splits(
    spec: PieceSpec, defaults: Defaults, outline: FloatArray | None = None
) -> tuple[Split, ...]:
    """Return where to divide a piece. Raises UserError for a line that misses `outline`."""
    made = []
    for split in spec.splits:
        if split.line is not None and outline is not None:
            start, end = np.array(split.line)
            reach = np.ptp(outline, axis=0).sum() + np.abs(outline - start).max()
            direction = (end - start) / np.hypot(*(end - start)) * reach
            if not Polygon(outline).intersects(LineString([start - direction, end + direction])):
                raise UserError(
                    "a split's line misses the piece",
                    fix="Lay it across: plotout picture SET --stage piece shows where it lies.",
                    place=spec.place,
                )
        lap = defaults.underlap if split.underlap is None else split.underlap
        made.append(Split(split.line, lap))
    return tuple(made)


def check_parents(specs: Sequence[PieceSpec], made: Mapping[str, Piece]) -> None:
    """Raise UserError where a derived piece names an edge that its drawn parent lacks."""
    for spec in specs:
        plan = spec.derive
        if plan is None or not made[plan.parent.name].edges:
            continue
        for ref in (*plan.along, *([plan.hem.edge] if plan.hem else [])):
            edge_named(made[plan.parent.name].edges, ref)


def cycle_fault(name: str, parents: Mapping[str, str | None], place: Place) -> UserError | None:
    """Return the fault of a piece that derives from itself through others. parents: by name."""
    chain = [name]
    while (parent := parents.get(chain[-1])) is not None:
        chain.append(parent)
        if parent in chain[:-1]:
            return UserError(
                f"'{name}' derives from itself: {' from '.join(chain)}",
                fix="Give one of them a drawing.",
                place=place,
            )
    return None
