"""Reads one piece out of a DXF: plain, by layer, or ASTM D6673, by block.

Layers of ASTM D6673-10: 1 boundary, 2 turn points, 4 notches (V, slit), 6 mirror line, 7 grain
line, 8 internal lines, 9 stripe, 10 plaid, 11 cut-outs, 13 drill holes, 14 sew lines, 15 text,
80 T, 81 castle, 82 check, 83 U notches. Units: METRIC or ENGLISH in the style's text.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np

from plotout import Drawing, FloatArray, Place, Role, Shape, UserError, length, nearest
from plotout_dxf.curves import flattened, joined

ROLES = {"outline": Role.OUTLINE, "internal": Role.INTERNAL, "grain": Role.GRAIN,
         "drill": Role.DRILL, "fold": Role.FOLD, "notch": Role.NOTCH, "cut-out": Role.CUTOUT,
         "stripe": Role.STRIPE, "plaid": Role.PLAID, "sewing": Role.SEWING}  # fmt: skip
ASTM = {"1": Role.OUTLINE, "2": Role.TURN, "4": Role.NOTCH, "6": Role.FOLD, "7": Role.GRAIN,
        "8": Role.INTERNAL, "9": Role.STRIPE, "10": Role.PLAID, "11": Role.CUTOUT,
        "13": Role.DRILL, "14": Role.SEWING, "15": Role.TEXT, "80": Role.NOTCH, "81": Role.NOTCH,
        "82": Role.NOTCH, "83": Role.NOTCH}  # fmt: skip
NOTCHES = {"4": "slit", "80": "T", "81": "castle", "82": "check", "83": "U"}
INSUNITS = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0}  # inch, foot, mm, cm, m
POINTS = (Role.TURN, Role.NOTCH, Role.DRILL)
MOST_BYTES = 200 * 1024 * 1024


def read(path: Path, pick: Mapping[str, Any]) -> Drawing:
    """Return the shapes of the block, or on the layers, that the set file asks for. UserError."""
    document = _document(path)
    scale = _scale(document, path, pick)
    if "block" in pick:
        return _block(document, str(pick["block"]), scale, path)
    return _layers(document, pick, scale, path)


def _document(path: Path) -> Any:
    from ezdxf import recover
    from ezdxf.lldxf.const import DXFError

    try:
        if path.stat().st_size > MOST_BYTES:
            raise UserError("the drawing is larger than 200 MiB", place=Place(path))
        document, _ = recover.readfile(path)
    except OSError as fault:
        raise UserError(f"can't read it: {fault}", place=Place(path)) from fault
    except (DXFError, ValueError, KeyError, IndexError, AttributeError, TypeError) as fault:
        raise UserError(f"this is not a DXF that can be read: {fault}", place=Place(path),
                        fix="Have it saved again as DXF.") from fault  # fmt: skip
    return document


def _scale(document: Any, path: Path, pick: Mapping[str, Any]) -> float:
    """Millimetres in one unit of the drawing."""
    if "unit" in pick:
        return length(f"1 {pick['unit']}")
    words = " ".join(_texts(document)).upper()
    if "METRIC" in words:
        return 1.0
    if "ENGLISH" in words:
        return 25.4
    code = int(document.header.get("$INSUNITS", 0))
    if code in INSUNITS:
        return INSUNITS[code]
    raise UserError(
        "the drawing does not say what its units are",
        fix='Say it in the set file: from = { ..., unit = "mm" } (or "in").',
        place=Place(path),
    )


def _texts(document: Any) -> Iterator[str]:
    for layout in (document.modelspace(), *document.blocks):
        for entity in layout.query("TEXT MTEXT"):
            yield entity.plain_text() if entity.dxftype() == "MTEXT" else entity.dxf.text


def _block(document: Any, name: str, scale: float, path: Path) -> Drawing:
    names = [block.name for block in document.blocks if not block.name.startswith("*")]
    found = next((each for each in names if each.upper() == name.upper()), None)
    if found is None:
        raise UserError(f"there is no block '{name}'", fix=nearest(name, names), place=Place(path))
    by_role: dict[Role, list[tuple[Any, str]]] = {}
    for entity in _entities(document.blocks.get(found)):
        layer = str(entity.dxf.layer)
        role = ASTM.get(layer)
        if entity.dxftype() in ("TEXT", "MTEXT"):
            role = Role.TEXT
        if role is not None:
            by_role.setdefault(role, []).append((entity, layer))
    shapes = [
        shape for role, found in by_role.items() for shape in _shapes(found, role, scale, path)
    ]
    if not any(shape.role is Role.OUTLINE for shape in shapes):
        raise UserError(f"block '{name}' has no boundary on layer 1", place=Place(path))
    return Drawing(tuple(shapes))


def _layers(document: Any, pick: Mapping[str, Any], scale: float, path: Path) -> Drawing:
    entities = list(_entities(document.modelspace()))
    present = sorted({str(entity.dxf.layer) for entity in entities})
    shapes: list[Shape] = []
    for key, role in ROLES.items():
        value = pick.get(key, [])
        for name in value if isinstance(value, list) else [value]:
            chosen = [
                (e, str(e.dxf.layer)) for e in entities if str(e.dxf.layer).upper() == name.upper()
            ]
            if not chosen:
                raise UserError(f"{key}: there is nothing on a layer '{name}'",
                                fix=nearest(str(name), present), place=Place(path))  # fmt: skip
            shapes += _shapes(chosen, role, scale, path)
    if not any(shape.role is Role.OUTLINE for shape in shapes):
        raise UserError("no outline is picked", place=Place(path),
                        fix='Say which: outline = "LAYER", or block = "NAME".')  # fmt: skip
    return Drawing(tuple(shapes))


def _entities(layout: Any, depth: int = 0) -> Iterator[Any]:
    """Give what is drawn, blocks within blocks unfolded with their scale and turn."""
    for entity in layout:
        if entity.dxftype() == "INSERT" and depth < 30:
            yield from _entities(entity.virtual_entities(), depth + 1)
        elif entity.dxftype() != "INSERT":
            yield entity


def _shapes(found: list[tuple[Any, str]], role: Role, scale: float, path: Path) -> Iterator[Shape]:
    if role is Role.TEXT:
        yield from (_text(entity, layer, scale) for entity, layer in found)
    elif role in POINTS:
        yield from (_point(entity, layer, role, scale) for entity, layer in found)
    else:
        layer = found[0][1]
        lines = [
            points * scale for entity, _ in found for points in flattened(entity, 0.01 / scale)
        ]
        for points in joined(lines) if role is Role.OUTLINE else lines:
            if not np.isfinite(points).all():
                raise UserError(f"layer {layer}: coordinates are not numbers", place=Place(path))
            yield Shape(points, role, layer)


def _text(entity: Any, layer: str, scale: float) -> Shape:
    text = entity.plain_text() if entity.dxftype() == "MTEXT" else entity.dxf.text
    at = np.array([[entity.dxf.insert.x, entity.dxf.insert.y]]) * scale
    return Shape(at, Role.TEXT, layer, text=text)


def _point(entity: Any, layer: str, role: Role, scale: float) -> Shape:
    """A notch, drill hole or turn point: a POINT, or the middle of whatever is drawn there."""
    kind = NOTCHES.get(layer, "") if role is Role.NOTCH else ""
    if entity.dxftype() == "POINT":
        at = np.array([[entity.dxf.location.x, entity.dxf.location.y]]) * scale
        # ASTM D6673: a notch's depth is its point's thickness
        return Shape(at, role, layer, text=kind, size=abs(float(entity.dxf.thickness)) * scale)
    points: FloatArray = np.vstack(list(flattened(entity, 0.01 / scale))) * scale
    low, high = points.min(axis=0), points.max(axis=0)
    size = float((high - low).max())
    at = points[:1] if role is Role.NOTCH else ((low + high) / 2)[None]
    return Shape(at, role, layer, text=kind, size=size)
