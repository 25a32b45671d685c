"""A sheet's finished cards as DXF, with a BLOCK per piece, on the layers of ASTM D6673.

Source: ASTM D6673-10, layers 1 to 15 and 80 to 83; system text of blocks and style (from memory).
The format's own reference for the rest, by ezdxf.
"""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING

import numpy as np

from plotout import FloatArray, Mark, NotchKind, Placed, Program, Run, Sheet
from plotout.kit import options_of
from plotout_dxf.layers import BIAS, NOT_WORKED, NOTCHES, ONE_WAY, layer_for
from plotout_dxf.options import DxfOptions
from plotout_dxf.vertices import Rest, add_polyline, filled

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts.base import BaseLayout

_LAYERS = {
    Mark.OUTLINE: "1",
    Mark.NOTCH: "4",
    Mark.FOLD: "15",  # dashes and bracket; layer 6 holds one mirror line
    Mark.GRAIN: "7",
    Mark.INTERNAL: "8",
    Mark.JOIN: "8",
    Mark.AREA: "8",
    Mark.UNDERLAP: "8",
    Mark.STRIPE: "9",
    Mark.PLAID: "10",
    Mark.CUTOUT: "11",
    Mark.DRILL: "13",
    Mark.HOLE: "hanging hole",  # the card's, not the piece's: D6673 has no layer for it
    Mark.STITCHING: "14",
    Mark.LETTERING: "15",
    Mark.REGISTRATION: "15",
    Mark.PAGE: "15",
}
_TEXT_HEIGHT = 5.0


def emit(program: Program, sheet: Sheet) -> bytes:
    """Return a DXF (AC1015) in mm. Cards are drawn about their own origins and inserted."""
    from ezdxf import options  # type: ignore[attr-defined]

    fixed = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True  # no dates, no random identifiers
    try:
        return _written(program, sheet)
    finally:
        options.write_fixed_meta_data_for_testing = fixed


def _written(program: Program, sheet: Sheet) -> bytes:
    from ezdxf import units
    from ezdxf.filemanagement import new

    document = new("R2000", units=units.MM)
    document.header["$MEASUREMENT"] = 1
    worked = map(layer_of, program.runs)
    for layer in sorted({*_LAYERS.values(), *NOTCHES.values(), *NOT_WORKED, *worked}):
        document.layers.add(layer).dxf.plot = int(layer not in NOT_WORKED)
    space = document.modelspace()
    rests: dict[str, Rest] = {}
    colours = options_of(program.machine, DxfOptions)
    by_card: dict[str, list[Run]] = {}
    for run in program.runs:
        by_card.setdefault(run.stroke.card, []).append(run)
    for placed in sheet.placed:
        _insert_card(document, placed, by_card.pop(placed.card.id, []), rests, colours)
    for runs in by_card.values():
        for run in runs:
            _draw(space, run, run.points, rests, colours)
    _texts(space, ("STYLE NAME: " + program.name, "UNITS: METRIC"), 0.0, "1")
    text = io.StringIO()
    document.write(text)
    return filled(text.getvalue(), rests)


def _insert_card(
    document: Drawing,
    placed: Placed,
    runs: list[Run],
    rests: dict[str, Rest],
    colours: DxfOptions,
) -> None:
    card = placed.card
    name = f"{card.number:03d}_" + re.sub(r"[^A-Za-z0-9_-]", "_", card.id)
    block = document.blocks.new(name)
    for run in runs:
        turn, shift = placed.matrix[:, :2], placed.matrix[:, 2]
        there = (run.points - shift) @ turn  # a turn's inverse is its transpose
        if _is_grain(run):
            there = _tail_first(there, placed)
        _draw(block, run, there, rests, colours, bias=card.bias)
        if card.bias and _is_grain(run):
            _bias_grain(block, there)
    lowest = float(card.outline[:, 1].min())
    _mark_grades(block, placed, runs)
    _describe(block, placed)
    sized = (f"SIZE: {card.size}",) if card.size else ()
    _texts(block, (f"PIECE NAME: {card.title}", *sized), lowest, "1")
    said = [words for words, so in ((BIAS, card.bias), (ONE_WAY, card.one_way)) if so]
    said += [f"ANNOTATION: {order}" for order in card.orders]
    _texts(block, tuple(said), lowest - 20.0, "15")
    document.modelspace().add_blockref(name, placed.shift, {"rotation": placed.angle, "layer": "1"})


def _is_grain(run: Run) -> bool:
    """Return whether a run is a grain line, without its arrow heads."""
    return run.stroke.mark is Mark.GRAIN and len(run.points) == 2


def _tail_first(grain: FloatArray, placed: Placed) -> FloatArray:
    """Return a grain line as the card has it, from tail to head, whichever way it is drawn."""
    for stroke in placed.card.strokes:
        if stroke.mark is Mark.GRAIN and len(stroke.points) == 2:
            (start, end) = stroke.points
            return grain if (grain[1] - grain[0]) @ (end - start) >= 0.0 else grain[::-1]
    return grain


def _bias_grain(block: BaseLayout, bias: FloatArray) -> None:
    """Add the lengthwise threads of a piece whose card shows the bias: its grain for others.

    bias: (2, 2). The threads lie 45 degrees counter-clockwise of it. No tool follows them.
    """
    middle = bias.mean(axis=0)
    x, y = (bias - middle).T
    start, end = (middle + np.column_stack([x - y, x + y]) * np.sqrt(0.5)).tolist()
    block.add_line(start, end, {"layer": "7", "invisible": 1})


def _mark_grades(block: BaseLayout, placed: Placed, runs: list[Run]) -> None:
    """Mark grade points with the numbers of their rules, and the grain as their reference line.

    Points are POINTs on layer 2 (turn points) or 3 (curve points), a rule a TEXT `# 3` at the same
    place and layer (from memory of ASTM D6673); layer 5 is the grade reference.
    """
    card = placed.card
    if not card.grades:
        return
    for mark in card.grades:
        layer = "3" if mark.within else "2"
        block.add_point(mark.at, {"layer": layer})
        look = {"layer": layer, "height": _TEXT_HEIGHT, "insert": mark.at}
        block.add_text(f"# {mark.rule}", dxfattribs=look)
    for run in runs:
        if _is_grain(run):
            turn, shift = placed.matrix[:, :2], placed.matrix[:, 2]
            start, end = ((run.points - shift) @ turn).tolist()
            block.add_line(start, end, {"layer": "5"})


def _describe(block: BaseLayout, placed: Placed) -> None:
    """Add the piece's notches, stitching line and mirror line to what is worked of its card.

    A notch is a POINT at its mouth with its depth as z and its direction as angle (from memory of
    ASTM D6673), beside the line or the dent in the boundary that is cut. A turn point of the sew
    line is a POINT on layer 2: edges also meet where no corner shows it.
    """
    card = placed.card
    for notch in card.notches:
        look = {"layer": NOTCHES[notch.kind], "angle": notch.angle}
        block.add_point((*notch.at, notch.depth), look)
    if card.stitching is not None:
        ring = card.stitching[:-1].tolist()
        block.add_lwpolyline(ring, close=True, dxfattribs={"layer": "14"})
        for at in card.turns if card.turns is not None else ():
            block.add_point(at.tolist(), {"layer": "2"})
    if card.fold is not None:
        start, end = card.fold.tolist()
        block.add_line(start, end, {"layer": "6"})


def _draw(
    space: BaseLayout,
    run: Run,
    points: FloatArray,
    rests: dict[str, Rest],
    colours: DxfOptions,
    *,
    bias: bool = False,
) -> None:
    """Draw a run on its layer, in the colour of its work."""
    layer = layer_of(run, shows_bias=bias)
    look = {"layer": layer, "color": getattr(colours, run.stroke.work.value)}
    if len(points) == 1:
        space.add_point(points[0].tolist(), look)
    elif len(points) == 2:
        space.add_line(points[0].tolist(), points[1].tolist(), look)
    else:
        closed = bool((run.points[0] == run.points[-1]).all())
        corners = points[:-1] if closed else points
        first, rest = add_polyline(space, corners, close=closed, look=look)
        rests[first] = rest


def layer_of(run: Run, *, shows_bias: bool = False) -> str:
    """Return the layer of a run: notches by kind, arrow heads separate from the grain line.

    shows_bias: a grain line shows the bias, and is no grain line to others. A layer holds one kind
    of work; see `layer_for`.
    """
    stroke = run.stroke
    if stroke.mark is Mark.GRAIN and (shows_bias or len(run.points) != 2):
        layer = "15"
    elif stroke.notch:
        layer = NOTCHES.get(stroke.notch, NOTCHES[NotchKind.SLIT])
    else:
        layer = _LAYERS.get(stroke.mark, _LAYERS[Mark.INTERNAL])
    return layer_for(layer, stroke.work)


def _texts(space: BaseLayout, lines: tuple[str, ...], top: float, layer: str) -> None:
    for number, line in enumerate(lines, start=1):
        where = (0.0, top - number * 1.6 * _TEXT_HEIGHT)
        attributes = {"layer": layer, "height": _TEXT_HEIGHT, "insert": where}
        space.add_text(_words(line), dxfattribs=attributes)


def _words(text: str) -> str:
    """Return `text` on one line, without DXF's text codes: %%, ^, backslash."""
    line = "".join(letter if letter.isprintable() else " " for letter in text)
    return re.sub("%%+", "%", line).replace("^", " ").replace("\\", "/")
