"""Drawings of one piece: pricks, SVG, DXF, photographs."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from fuzz.targets.target import Target, corpus

SVG = ', outline = "#a", grain = "#g", notch = ".n"'
LAYER = ', outline = "1", unit = "mm"'


def _drawing(name: str, pick: str) -> Callable[[bytes, Path], None]:
    def take(data: bytes, folder: Path) -> None:
        from plotout import job

        (folder / name).write_bytes(data)
        text = '[set]\nname = "F"\nstyle = "F"\n[[piece]]\nname = "F"\n'
        (folder / "set.toml").write_text(f'{text}from = {{ file = "{name}"{pick} }}\n')
        job.read_set(folder / "set.toml")

    return take


def _corrections(data: bytes, folder: Path) -> None:
    """The table of pricks that a user has put right, as it is read when the photo is again."""
    import numpy as np
    from plotout_photo.corrections import corrections_in

    (folder / "a-pricks.csv").write_bytes(data)
    corrections_in(folder / "a-pricks.csv", np.array([[10.0, 10.0], [20.0, 10.0], [20.0, 30.0]]))


DRAWINGS = (
    Target(
        "pricks",
        lambda: corpus("front*.csv"),
        _drawing("front.csv", ', square = ["neck"]'),
        share=0.8,
    ),
    Target("svg", lambda: corpus("a-*.svg"), _drawing("a.svg", SVG), share=4),
    Target(
        "dxf block", lambda: corpus("*block.dxf"), _drawing("a.dxf", ', block = "A"'), share=0.8
    ),
    Target("dxf layer", lambda: corpus("bands.dxf"), _drawing("a.dxf", LAYER), share=0.8),
    Target("photo", lambda: corpus("*.png"), _drawing("a.png", ""), share=0.05),
    Target("corrections", lambda: corpus("a-pricks.csv"), _corrections, share=2),
)
