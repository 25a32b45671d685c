"""Reads one piece from a DXF: ASTM D6673 by block, or plain by layer.

The set file's `from` table may hold:

block: the piece's BLOCK, by its name or by its "PIECE NAME: ..." text. The layers are then those
    of ASTM D6673, unless `outline` names one.
size: one of several blocks of that name, by its "SIZE: ..." text or the end of its name.
outline, sewing, internal, score, grain, fold, drill, notch, turn, stripe, plaid, cut-out: its layer
    or a list of layers.
unit: the drawing's unit (mm, cm, m, in, ft), if it is not stated, or wrong.

Source: ASTM D6673-10, layers 1 to 15 and 80 to 83. That a notch's POINT bears its depth as z and
its direction as angle is from memory.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from plotout import Drawing, FloatArray, NotchKind, Place, Role, Shape, UserError, Work
from plotout.kit import NamedLine, grain_shape, middle_shapes, nearest, notch_shape, outline_shapes
from plotout_dxf.blocks import block_of, inserted, other_size
from plotout_dxf.curves import MOST_POINTS, TEXTS, Entity, entities, flattened, location
from plotout_dxf.document import load, millimetres, words
from plotout_dxf.layers import BIAS, NOTCHES, ONE_WAY, layer_for, plain_layer
from plotout_dxf.notches import filled_in, known_once

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document

ROLES = {
    "outline": Role.OUTLINE,
    "sewing": Role.SEWING,
    "internal": Role.INTERNAL,
    "score": Role.SCORE,
    "grain": Role.GRAIN,
    "fold": Role.FOLD,
    "drill": Role.DRILL,
    "notch": Role.NOTCH,
    "turn": Role.TURN,
    "stripe": Role.STRIPE,
    "plaid": Role.PLAID,
    "cut-out": Role.CUTOUT,
}
ASTM = {
    Role.OUTLINE: ("1",),
    Role.TURN: ("2",),
    Role.NOTCH: tuple(dict.fromkeys(NOTCHES.values())),
    Role.FOLD: ("6",),
    Role.GRAIN: ("7",),
    Role.INTERNAL: ("8",),
    Role.STRIPE: ("9",),
    Role.PLAID: ("10",),
    Role.CUTOUT: ("11",),
    Role.DRILL: ("13",),
    Role.SEWING: ("14",),
    Role.SCORE: (layer_for("8", Work.SCORE),),
}
_SAME = 0.05  # mm: places nearer than this are one
_LINES = ("LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "LWPOLYLINE", "POLYLINE")
_WITH_POINTS = (Role.NOTCH, Role.DRILL, Role.TURN)
_HOLES = " (holes are read from a layer of their own: drill)"


def read(path: Path, pick: Mapping[str, Any]) -> Drawing:
    """Return the piece that `pick` picks. Raises UserError."""
    document, notes = load(path)
    scale, more = millimetres(document, path, pick)
    space = block_of(document, pick, path) if "block" in pick else None
    turned_over = False
    if space is not None:
        size, turned_over = inserted(document, space.name, path)
        scale *= size
        if size != 1.0:
            more = (*more, f"its block is inserted at scale {size:g}, so it is read at that scale")
        more = (*more, *other_size(document, space, pick))
    found = _in_model(document, path) if space is None else entities(space, path)
    astm = space is not None and "outline" not in pick
    layers = ASTM | _layers(found, pick, path) if astm else _layers(found, pick, path)
    if Role.OUTLINE not in layers:
        raise UserError(
            "no outline is picked",
            fix='Write outline = "LAYER", or block = "NAME". '
            f"{nearest('', _pickable(document, found))}",
            place=Place(path),
        )
    unseen = _unseen(document, found, layers)
    drawing = Piece(found, layers, scale, path, astm=astm).drawing((*notes, *more, *unseen))
    return _turned_over(drawing) if turned_over else drawing


@lru_cache(maxsize=2)
def _in_model(document: Document, path: Path) -> list[Entity]:
    """Return what is drawn in the model, once for all the pieces that are in it."""
    return entities(document.modelspace(), path)


def _turned_over(drawing: Drawing) -> Drawing:
    """Return a piece as a drawing shows it that inserts its block mirrored."""
    shapes = tuple(
        replace(
            shape,
            points=shape.points * (-1.0, 1.0),
            angle=None if shape.angle is None else 180.0 - shape.angle,
        )
        for shape in drawing.shapes
    )
    note = "its block is inserted mirrored, so it is read turned over"
    return replace(drawing, shapes=shapes, notes=(*drawing.notes, note))


def _unseen(
    document: Document, found: list[Entity], layers: Mapping[Role, tuple[str, ...]]
) -> list[str]:
    """Return in words what is read although no screen shows it."""
    picked = {name.upper() for names in layers.values() for name in names}
    outline = {name.upper() for name in layers[Role.OUTLINE]}
    known = document.layers
    off = [
        f"layer '{name}' is switched off or frozen in the drawing, but it is read"
        for name in dict.fromkeys(entity.layer for entity in found)
        if name.upper() in picked and name in known
        if known.get(name).is_off() or known.get(name).is_frozen()
    ]
    hidden = sum(
        bool(entity.it.dxf.get("invisible", 0))
        for entity in found
        if entity.layer.upper() in outline
    )
    return [*off, *([f"{hidden} of its outline's lines are invisible, but read"] * bool(hidden))]


class Piece:
    """The entities of one piece, and the layers of its parts."""

    def __init__(
        self,
        found: list[Entity],
        layers: Mapping[Role, tuple[str, ...]],
        scale: float,
        path: Path,
        *,
        astm: bool,
    ) -> None:
        self.layers, self.scale, self.path, self.astm = layers, scale, path, astm
        self.found = found

    def drawing(self, notes: tuple[str, ...]) -> Drawing:
        """Return all its shapes, the outline first."""
        lines = {role: self._lines(role) for role in self.layers}
        shapes = outline_shapes(lines.pop(Role.OUTLINE), Place(self.path))
        records = self._points(Role.NOTCH) if Role.NOTCH in self.layers else []
        shapes, records = filled_in(shapes, records)
        edge = np.vstack([shape.points for shape in shapes])
        notches = self._without_bars(lines.pop(Role.NOTCH, []))
        shapes += known_once([notch_shape(line, edge, self._kind(line)) for line in notches],
                             records)  # fmt: skip
        if grain := lines.pop(Role.GRAIN, []):
            shapes.append(self._said(grain_shape(grain)))
        for role, drawn in lines.items():
            if role in (Role.DRILL, Role.TURN):
                shapes += middle_shapes(drawn, role)
            else:
                # ASTM D6673 numbers its layers: a number is not a name for a card
                shapes += [Shape(points, role, "" if self.astm else name) for name, points in drawn]
        for role in self.layers:
            shapes += self._points(role) if role is not Role.NOTCH else []
        shapes += self._texts()
        return Drawing(tuple(shapes), (*notes, *self._left_out()), cut=self.astm)

    def _on(self, role: Role) -> list[Entity]:
        names = [name.upper() for name in self.layers[role]]
        return [entity for entity in self.found
                if entity.layer.upper() in names or self._layer(entity) in names]  # fmt: skip

    def _layer(self, entity: Entity) -> str:
        """Return an entity's layer, in capitals; of those by work that of what the line is."""
        layer = entity.layer.upper()
        if not self.astm or layer == layer_for("8", Work.SCORE).upper():
            return layer
        return plain_layer(layer)

    def _lines(self, role: Role) -> list[NamedLine]:
        found: list[NamedLine] = []
        left = MOST_POINTS
        for entity in self._on(role):
            for points in flattened(entity, self.scale, self.path):
                left -= len(points)
                found.append((entity.layer, points))
            if left < 0:
                raise UserError(
                    f"the lines on layer '{entity.layer[:60]}' take more than {MOST_POINTS} "
                    "points, once curves are flattened",
                    fix="Keep only the piece there; draw curves with fewer parts.",
                    place=Place(self.path),
                )
        return found

    def _kind(self, line: NamedLine) -> str:
        kinds = [kind for kind, layer in NOTCHES.items() if layer == plain_layer(line[0])]
        return str(kinds[0]) if self.astm and len(kinds) == 1 else ""  # 4: slit or V

    def _without_bars(self, lines: list[NamedLine]) -> list[NamedLine]:
        """Return the lines of notches, only the stem of a T: its bar crosses the stem's foot."""
        stems = [line for line in lines if len(line[1]) == 2 and self._kind(line) == NotchKind.T]
        feet = np.vstack([np.empty((0, 2)), *(points for _, points in stems)])
        bars = {id(line) for line in stems if _near(line[1].mean(axis=0), feet)}
        return [line for line in lines if id(line) not in bars]

    def _points(self, role: Role) -> list[Shape]:
        """Return the POINTs on its layers with a meaning: notches, drill holes, turn points."""
        if role not in _WITH_POINTS:
            return []
        return [self._point(entity, role) for entity in self._on(role) if entity.kind == "POINT"]

    def _point(self, entity: Entity, role: Role) -> Shape:
        at, attributes = location(entity, self.scale), entity.it.dxf
        size = max(float(attributes.location.z) * self.scale, 0.0)
        if role is not Role.NOTCH:
            return Shape(at, role, entity.layer, size=0.0 if role is Role.TURN else size)
        kind = self._kind((entity.layer, at))
        angle = float(attributes.angle) if attributes.hasattr("angle") else None
        return Shape(at, role, entity.layer, kind, size, angle)

    def _texts(self) -> list[Shape]:
        return [
            Shape(location(entity, self.scale), Role.TEXT, entity.layer, words(entity.it))
            for entity in self.found
            if self.astm and entity.kind in TEXTS
        ]

    def _said(self, grain: Shape) -> Shape:
        """Return the grain line as its card shows it, with what is said of it in words.

        Of a piece whose card shows the bias, it is the bias.
        """
        texts = [words(entity.it) for entity in self.found if entity.kind in TEXTS]
        said = [name for name, text in (("bias", BIAS), ("one way", ONE_WAY)) if text in texts]
        points = grain.points
        if "bias" in said:
            middle = points.mean(axis=0)
            x, y = (points - middle).T
            points = middle + np.column_stack([x + y, y - x]) * np.sqrt(0.5)
        return replace(grain, points=points, text=", ".join(said))

    def _left_out(self) -> list[str]:
        """Return what on the picked layers isn't read, in words: the role of its layer has no use
        for it.
        """
        picked = [(role, entity) for role in self.layers for entity in self._on(role)]
        used = {id(entity) for role, entity in picked if self._has_use(role, entity.kind)}
        unused = {id(entity): entity for _, entity in picked if id(entity) not in used}
        kinds = [f"{entity.kind} on layer '{entity.layer}'" for entity in unused.values()]
        return [
            f"{kinds.count(kind)} {kind} left out: not a line{_HOLES * kind.startswith('POINT ')}"
            for kind in dict.fromkeys(kinds)
        ]

    def _has_use(self, role: Role, kind: str) -> bool:
        """Return whether an entity of a kind means something on a layer with that role."""
        if kind == "POINT":
            return role in _WITH_POINTS
        return kind in _LINES or kind == "ATTDEF" or (kind in TEXTS and self.astm)


def _near(place: FloatArray, others: FloatArray) -> bool:
    return bool((np.hypot(*(others - place).T) < _SAME).any())


def _layers(
    found: list[Entity], pick: Mapping[str, Any], path: Path
) -> dict[Role, tuple[str, ...]]:
    """Return the layers named in the set file. Raises UserError for an empty one."""
    present = list(dict.fromkeys(entity.layer for entity in found))
    upper = {name.upper() for name in present}
    asked: dict[Role, tuple[str, ...]] = {}
    for key, role in ROLES.items():
        if key not in pick:
            continue
        names = [str(name) for name in (pick[key] if isinstance(pick[key], list) else [pick[key]])]
        for name in names:
            if name.upper() not in upper:
                raise UserError(f"{key}: nothing is on a layer '{name}'",
                                fix=nearest(name, present), place=Place(path))  # fmt: skip
        asked[role] = tuple(names)
    return asked


def _pickable(document: Document, found: list[Entity]) -> list[str]:
    layers = dict.fromkeys(f"layer '{entity.layer}'" for entity in found)
    blocks = [f"block '{b.name}'" for b in document.blocks if not b.name.startswith("*")]
    return [*layers, *blocks][:50]
