"""A straight run whose corner with a curve lies far past its last prick.

The outline is a rectangle whose hem is half a wave of a sine: its corners are exact.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from plotout_pricks.outline import outline
from plotout_pricks.table import read_table

from plotout import UserError

WIDE, HIGH, WAVE = 220.0, 345.0, 5.0


def table(gap: float) -> list[str]:
    """Return exact pricks, the outermost 8 mm from their corners: the side's lower one `gap` mm."""
    x = np.linspace(8.0, WIDE - 8.0, 20)
    runs = {
        "hem": ("curve", np.column_stack([x, -WAVE * np.sin(2.0 * np.pi * x / WIDE)])),
        "right": ("straight", np.column_stack([np.full(5, WIDE), np.linspace(8, HIGH - 8, 5)])),
        "top": ("straight", np.column_stack([np.linspace(WIDE - 8, 8, 5), np.full(5, HIGH)])),
        "left": ("straight", np.column_stack([np.zeros(5), np.linspace(HIGH - 8, gap, 5)])),
    }
    return ["x,y,run,kind"] + [
        f"{x:.2f},{y:.2f},{name},{kind}" for name, (kind, points) in runs.items() for x, y in points
    ]


def drawn(folder: Path, gap: float) -> dict[str, np.ndarray]:
    """Return the edges' points by name, read from a table in a folder."""
    path = folder / "front.csv"
    path.write_text("\n".join(table(gap)), encoding="utf-8")
    return {shape.name: shape.points for shape in outline(read_table(path, {}), path, {}).shapes}


@pytest.mark.parametrize("gap", [50.0, 65.0, 80.0, 115.0])
def test_a_straight_is_lengthened_to_the_curve_that_it_crosses(tmp_path, gap):
    """The curve was bent up to where a line lengthened by 60 mm ended."""
    shapes = drawn(tmp_path, gap)
    assert np.hypot(*np.diff(shapes["left"], axis=0)[0]) == pytest.approx(HIGH, abs=0.3)
    assert shapes["hem"][0] == pytest.approx([0.0, 0.0], abs=0.3)


@pytest.mark.parametrize("gap", [130.0, 145.0, 170.0])
def test_a_straight_that_ends_short_of_the_curve_is_refused(tmp_path, gap):
    with pytest.raises(UserError, match=r"'left' and 'hem' don't meet"):
        drawn(tmp_path, gap)


@pytest.mark.parametrize("turned", [[], ["right"], ["hem"], ["hem", "left"]])
def test_a_curve_listed_the_other_way_round_is_told_as_that(tmp_path, turned):
    """A straight run may be turned round: its line is the same."""
    head, *rows = table(8.0)
    runs = [[row for row in rows if f",{name}," in row] for name in ("hem", "right", "top", "left")]
    runs = [run[::-1] if run[0].split(",")[2] in turned else run for run in runs]
    path = tmp_path / "front.csv"
    path.write_text("\n".join([head, *(row for run in runs for row in run)]), encoding="utf-8")
    if "hem" not in turned:
        assert len(outline(read_table(path, {}), path, {}).shapes) == 4
        return
    with pytest.raises(UserError, match="'hem' is listed the other way round: it ends by 'left'"):
        outline(read_table(path, {}), path, {})
