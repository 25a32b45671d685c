"""A hem turned back along a curve: against the lengths of concentric arcs."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
import shapely
from click.testing import CliRunner

from plotout.cli.check_command import check
from plotout.pattern.hems import over


def arc(radius: float, degrees: float) -> np.ndarray:
    t = np.radians(np.linspace(-90.0, degrees - 90.0, 2001))
    return radius * np.column_stack([np.cos(t), np.sin(t)])


@pytest.mark.parametrize("inward", [False, True])
def test_an_arc_is_off_by_the_difference_of_its_parallels(inward: bool) -> None:
    """A fold of radius 500 mm, 60 degrees, a hem 40 mm deep: 540 and 460 mm of radius."""
    line = arc(500.0, 60.0)[:: -1 if inward else 1]
    sizes = [shapely.LineString(arc(radius, 60.0)).length for radius in (540.0, 460.0)]
    expected = (sizes[0] - sizes[1]) * (-1 if inward else 1)
    assert over(line, (40.0, 40.0)) == pytest.approx(expected, rel=1e-3)


def test_a_straight_lies_flat_and_a_wave_counts_its_worst_stretch() -> None:
    assert over(np.array([[0.0, 0.0], [100.0, 0.0], [200.0, 0.0]]), (40.0, 10.0)) == 0.0
    there = arc(500.0, 20.0)
    back = there[-1] + (there[-1] - there[::-1])  # bends the other way, as much
    off = over(np.vstack([there, back]), (30.0, 30.0))
    assert abs(off) == pytest.approx(2 * 30 * np.radians(20.0), rel=2e-3)


def test_check_warns_of_a_hem_that_will_not_lie_flat(tmp_path: Path) -> None:
    rows = [f"{x:.3f},{y:.3f},hem,curve" for x, y in arc(500.0, 40.0)[::100]]
    end = arc(500.0, 40.0)[-1]
    rows += [f"{end[0]:.3f},{y},side,straight" for y in (end[1] + 20, -100)]
    rows += [f"{x},0,top,straight" for x in (end[0] - 20, 20)]
    rows += [f"0,{y},centre,straight" for y in (-20, -480)]
    (tmp_path / "a.csv").write_text("x,y,run,kind\n" + "\n".join(rows))
    (tmp_path / "set.toml").write_text(
        '[set]\nname = "A"\nstyle = "A"\nsize = "M"\n[[piece]]\nname = "Skirt"\n'
        'from = { file = "a.csv" }\n[[piece.cut]]\ncloth = "self"\n'
        '[piece.edge.hem]\nallowance = "40 mm"\ncorner = "turned back"\n'
    )
    done = CliRunner().invoke(check, [str(tmp_path / "set.toml")])
    assert done.exit_code == 0, done.output
    told = re.search(r"Note: Skirt: 'hem' is turned back .* is ([0-9.]+) mm longer", done.output)
    assert told
    assert float(told[1]) == pytest.approx(2 * 40 * np.radians(40.0), rel=0.02)
