"""How surely it is known where a straight ends that a curve goes on from without a corner."""

import numpy as np
import pytest
import shapely

from plotout.plugins import read_drawing

ACROSS, UP, SIDE = 90.0, 120.0, 200.0
END = np.array([45.0, 303.92])  # of the ellipse at 60 degrees, where its tangent is (77.94, 60)


def pricked(seed, folder, pricks, scatter):
    """Read a straight of 200 mm that runs on into 60 degrees of an ellipse, pricked at random.

    Return what is told of their lengths, and how far off these and their sum are, mm.
    """
    rng = np.random.default_rng(seed)
    turn = np.linspace(*rng.uniform([0.05, 0.97], [0.15, 1.04]), pricks)
    curve = np.column_stack([ACROSS - ACROSS * np.cos(turn), SIDE + UP * np.sin(turn)])
    side = np.column_stack([np.zeros(7), np.linspace(*rng.uniform([2, 185], [15, 198]), 7)])
    runs = {
        "side": side,
        "curve": curve,
        "square to it": END + np.linspace(0.05, 1.45, 5)[:, None] * [60.0, -77.94],
        "back": np.column_stack([np.full(5, 135.0), np.linspace(180, 10, 5)]),
        "foot": np.column_stack([np.linspace(130, 10, 5), np.zeros(5)]),
    }
    rows = [
        f"{x:.3f},{y:.3f},{name},{'curve' if name == 'curve' else 'straight'}"
        for name, points in runs.items()
        for x, y in points + rng.normal(0.0, scatter, points.shape)
    ]
    (folder / "a.csv").write_text("\n".join(["x,y,run,kind", *rows]))
    shapes = {
        s.name: s for s in read_drawing(folder / "a.csv", {"tangent": ["curve start"]}).shapes
    }
    full = np.linspace(0.0, np.pi / 3.0, 2001)
    ring = np.column_stack([ACROSS * np.cos(full), UP * np.sin(full)])
    true = np.array([SIDE, shapely.LineString(ring).length])
    found = [shapes[name] for name in ("side", "curve")]
    off = np.array([shapely.LineString(shape.points).length for shape in found]) - true
    return [shape.known_to for shape in found], np.abs(off), abs(off.sum())


@pytest.mark.parametrize(("pricks", "scatter"), [(9, 0.0), (12, 0.2), (20, 0.3)])
def test_both_edges_are_known_as_surely_as_is_told(tmp_path, pricks, scatter):
    """Of twenty lengths one may lie further off: here one of 20 is expected, 3 at most."""
    made = [pricked(seed, tmp_path, pricks, scatter) for seed in range(10)]
    told, off, whole = (np.array(each) for each in zip(*made, strict=True))
    assert (off > told).sum() <= 3
    assert np.median(off) > 2.0  # it is a matter of millimetres
    assert np.median(told) < 30.0
    assert np.median(whole) < 1.0  # though both together are well known
