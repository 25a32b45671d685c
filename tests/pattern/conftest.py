"""Small sets made in the test, with drawings given as arrays instead of files."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from plotout.pattern import setfile
from plotout.pattern.assemble import read_drawings
from plotout.pattern.drawing import Drawing, Role, Shape
from plotout.pattern.model import PatternSet

HEAD = '[set]\nname = "Test"\nstyle = "T-1"\n'
RECTANGLE = np.array([[0, 0], [200, 0], [200, 300], [0, 300], [0, 0]], dtype=float)


def rectangle(width: float, height: float = 60.0) -> np.ndarray:
    return np.array([[0, 0], [width, 0], [width, height], [0, height], [0, 0]], dtype=float)


def outline(points: Any) -> Drawing:
    return Drawing((Shape(np.asarray(points, dtype=float), Role.OUTLINE),))


Build = Callable[..., PatternSet]


@pytest.fixture
def build(tmp_path: Path) -> Build:
    """Return a function: set file text, drawings by file name -> PatternSet."""

    def make(text: str, **drawings: Any) -> PatternSet:
        given: dict[str, Drawing] = {}
        for name, drawing in drawings.items():
            given[name] = drawing if isinstance(drawing, Drawing) else outline(drawing)
            (tmp_path / name).touch()
        path = tmp_path / "set.toml"
        path.write_text(text if "[set]" in text else HEAD + text)

        def read(file: Path, pick: Mapping[str, Any]) -> Drawing:
            return given[file.name]

        return read_drawings(setfile.load(path), read).in_size()

    return make
