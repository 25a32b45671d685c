"""What a virtual machine drew, as a picture in the proof's style, or as numbers."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

from plotout.errors import UserError, counted
from plotout.manifest import write_file
from plotout.proof.rendering import to_png, to_svg
from plotout.proof.scene import SceneLine, framed, scene
from plotout.virtual_machine import VirtualStroke


def write_drawn(
    strokes: Sequence[VirtualStroke],
    path: Path,
    scale: float,
    name: str,
    kinds: Mapping[int, str] | None = None,
    *,
    force: bool = False,
) -> None:
    """Write a .png or .svg picture, or .json with mm.

    scale: mm per machine unit. kinds: how lines are drawn, by the tool's number. name: see
    `drawn_of`. Raises UserError for another kind of file, or where one that plotout did not write
    would be replaced, unless `force`; MachineError if it can't be written.
    """
    data = _bytes(strokes, path, scale, name, kinds or {})
    write_file(path, data, drawn_of(name), force=force)


def drawn_of(name: str) -> dict[str, str]:
    """Return which job a picture is of. name: what the machine was sent, in words."""
    return {"what": "drawn by a virtual machine", "of": name}


def _bytes(
    strokes: Sequence[VirtualStroke], path: Path, scale: float, name: str, kinds: Mapping[int, str]
) -> bytes:
    kind = path.suffix.lower()
    points = [np.round(np.array(stroke.points) * scale, 4) for stroke in strokes]
    if kind == ".json":
        data = [
            {"tool": stroke.tool, "whole": stroke.whole, "points": line.tolist()}
            for stroke, line in zip(strokes, points, strict=True)
        ]
        return json.dumps(data).encode()
    lines = [
        SceneLine(line, kinds.get(stroke.tool, "draw"), size=1.0)
        for stroke, line in zip(strokes, points, strict=True)
    ]
    whole = sum(stroke.whole for stroke in strokes)
    note = f"{counted(len(strokes), 'stroke')}, {whole} complete; machine mm"
    picture = framed(scene(f"What a virtual machine drew of {name}", lines, (note,)))
    if kind == ".png":
        return to_png(picture)
    if kind == ".svg":
        return to_svg(picture).encode()
    raise UserError(f"'{path.name}' is not a kind of picture", fix="Name it .png, .svg or .json.")
