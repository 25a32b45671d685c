"""Reads a DXF drawing of a sheet back: by ezdxf.

Source: ASTM D6673-10, layers; see `_MARKS`. Group codes, colours and layers: AutoCAD's DXF
reference, by ezdxf.
"""

from __future__ import annotations

import io
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from plotout import Described, FloatArray, Machine, Mark, Meaning, NotchKind, Reading, Traced, Work
from plotout_readback.tracing import bounded

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.entities.dxfentity import DXFEntity

_FLAT = 0.005  # mm by which chords may deviate from their curve
_GROUP_CODES = range(1072)  # DXF reference: no others are valid
_NOT_WORKED = ("2", "3", "5", "6", "14")  # ASTM D6673: what describes a piece; no tool follows it
_DESCRIBED = {("2", True): "turn point", ("6", False): "mirror line", ("14", False): "sew line",
              ("7", False): "grain line"}  # fmt: skip
_NOTCHES = {"4": (NotchKind.SLIT, NotchKind.V), "80": (NotchKind.T,), "81": (NotchKind.CASTLE,),
            "82": (NotchKind.CHECK,), "83": (NotchKind.U,)}  # fmt: skip
_MARKS = {
    "1": (Mark.OUTLINE,),
    "7": (Mark.GRAIN,),
    "8": (Mark.INTERNAL, Mark.JOIN, Mark.AREA, Mark.UNDERLAP),
    "9": (Mark.STRIPE,),
    "10": (Mark.PLAID,),
    "11": (Mark.CUTOUT,),
    "13": (Mark.DRILL,),
    "14": (Mark.STITCHING,),
    "15": (Mark.LETTERING, Mark.FOLD, Mark.GRAIN, Mark.REGISTRATION, Mark.PAGE),
    "hanging hole": (Mark.HOLE,),
} | dict.fromkeys(_NOTCHES, (Mark.NOTCH,))
"""What lies on which layer; the hanging hole's is ours. A grain line on 15 shows the bias, or is
an arrow head."""
_WORKS = {"1": Work.CUT, "11": Work.CUT, "13": Work.PUNCH, "hanging hole": Work.PUNCH}
_WORKS |= dict.fromkeys(_NOTCHES, Work.CUT)  # usual; all else is drawn
_COLOURS = {Work.DRAW: 7, Work.SCORE: 30, Work.PUNCH: 6, Work.CUT: 5}
_DISTINGUISHED = frozenset(
    name for names in (*_MARKS.values(), *_NOTCHES.values(), _COLOURS) for name in names
)
_BIAS = "ANNOTATION: grain line shown on the bias"
_AS_LAYER = 256  # DXF reference: colour by layer
_INSUNITS = {1: 25.4, 4: 1.0, 5: 10.0, 6: 1000.0}


def read(data: bytes, machine: Machine) -> Reading:
    """Return the lines of a DXF's model space, with its inserted blocks, in mm."""
    import ezdxf

    unknown: Counter[str] = Counter()
    traced: list[Traced] = []
    described: list[Described] = []
    try:
        for code in set(map(int, data.splitlines()[::2])).difference(_GROUP_CODES):
            unknown[f"the group code {code}"] += 1
        document = ezdxf.read(io.StringIO(data.decode("utf-8", "surrogateescape")))  # type: ignore[attr-defined]
        scale = _INSUNITS.get(int(document.header.get("$INSUNITS", 0)), 1.0)
        for entity, block in _entities(document):
            kind, layer = entity.dxftype(), entity.dxf.layer
            points = _points(entity, scale)
            if points is None:
                continue
            if kind == "POINT" and layer in _NOTCHES:
                depth, angle = (
                    float(entity.dxf.location.z) * scale,
                    float(entity.dxf.get("angle", 0.0)),
                )
                described.append(
                    Described("notch", points, depth, angle + block.turn, _NOTCHES[layer])
                )
            elif layer in _NOT_WORKED or entity.dxf.get("invisible", 0):
                if what := _DESCRIBED.get((layer, kind == "POINT")):
                    described.append(Described(what, points))
            else:
                unknown.update(_hidden(entity, document))
                meaning = _meaning(entity, len(points), block, document, machine)
                traced.append(Traced(points, meaning=meaning))
    except Exception as fault:
        unknown[f"the file is broken: {fault}"] += 1
    return Reading(
        tuple(traced),
        True,
        tuple(unknown),
        ordered=False,
        described=tuple(described),
        distinguished=_DISTINGUISHED,
    )


@dataclass(frozen=True, slots=True)
class _Block:
    """What the insertion of a piece's block says of its lines: its turn, degrees; and of its words,
    whether its grain line shows the bias.
    """

    turn: float = 0.0
    bias: bool = False


def _entities(document: Drawing) -> Iterator[tuple[DXFEntity, _Block]]:
    """Give the entities of the model space; those of a block each in its place."""
    from ezdxf.disassemble import recursive_decompose

    for top in document.modelspace():
        block = _Block()
        if top.dxftype() == "INSERT":
            words = [text.dxf.text for text in document.blocks.get(top.dxf.name).query("TEXT")]
            block = _Block(float(top.dxf.rotation), _BIAS in words)
        for entity in recursive_decompose([top]):
            yield entity, block


def _points(entity: DXFEntity, scale: float) -> FloatArray | None:
    """Return an entity's points, mm; None for words."""
    from ezdxf.path import make_path

    if entity.dxftype() in ("TEXT", "MTEXT", "ATTDEF", "ATTRIB"):
        return None
    if entity.dxftype() == "POINT":
        at = entity.dxf.location
        return bounded(np.array([[at.x, at.y]])) * scale
    path = make_path(entity)
    bounded(np.array([tuple(vertex) for vertex in path.control_vertices()]))
    places = [(point.x, point.y) for point in path.flattening(_FLAT / scale)]
    return np.array(places) * scale if places else None  # a polyline may have no vertices


def _meaning(
    entity: DXFEntity, size: int, block: _Block, document: Drawing, machine: Machine
) -> Meaning:
    """Return what the layer and the colour of a line say of it. size: its number of points.

    Work is said twice: by the layer, which is named after an unusual one, and by the colour.
    """
    name = entity.dxf.layer
    layer, _, work = name.rpartition(" ")
    if work not in list(Work):
        layer, work = name, _WORKS.get(name, Work.DRAW)
    colour = entity.dxf.color
    if colour == _AS_LAYER and document.layers.has_entry(name):
        colour = document.layers.get(name).get_color()
    by_colour = {work for work, usual in _COLOURS.items()
                 if machine.options.get(work, usual) == colour}  # fmt: skip
    marks = set(_MARKS.get(layer, ()))
    if layer != ("15" if block.bias or size > 2 else "7"):  # an arrow head has three points
        marks.discard(Mark.GRAIN)
    return Meaning(
        f"layer '{name}', colour {colour}",
        works=frozenset(by_colour & {work}),
        marks=frozenset(marks),
        notches=frozenset(_NOTCHES[layer]) if layer in _NOTCHES else None,
    )


def _hidden(entity: DXFEntity, document: Drawing) -> Iterator[str]:
    """Give in words why a line would not be worked, or in another colour."""
    name = entity.dxf.layer
    if document.layers.has_entry(name):
        layer = document.layers.get(name)
        if layer.is_off() or layer.is_frozen() or not layer.dxf.plot:
            yield f"the layer '{name}', which is hidden"
    if entity.dxf.hasattr("true_color"):
        yield "a colour that is no index"
