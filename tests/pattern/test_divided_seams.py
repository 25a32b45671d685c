"""Seams along a straight and the curve that goes on from it without a corner.

The edges are a straight of 200 mm and 60 degrees of an ellipse, whose length is that of a polygon
of 2,000 sides; no prick shows where the one ends and the other begins.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from plotout.cli import plotout

ACROSS, UP, SIDE = 90.0, 120.0, 200.0
TURN = np.linspace(0.0, np.pi / 3.0, 2001)
ARC = float(np.hypot(*np.diff([ACROSS * np.cos(TURN), UP * np.sin(TURN)], axis=1)).sum())


def skirt(seed: int) -> str:
    """Return pricks of a piece whose side goes on into its hip curve, 0.1 mm scattered."""
    rng = np.random.default_rng(seed)
    turn = np.linspace(0.1, 1.0, 12)
    end = np.array([ACROSS - ACROSS * np.cos(np.pi / 3.0), SIDE + UP * np.sin(np.pi / 3.0)])
    runs = {
        "side": np.column_stack([np.zeros(7), np.linspace(8, 190, 7)]),
        "hip": np.column_stack([ACROSS - ACROSS * np.cos(turn), SIDE + UP * np.sin(turn)]),
        "waist": end + np.linspace(0.05, 1.45, 5)[:, None] * [60.0, -77.94],
        "back": np.column_stack([np.full(5, 135.0), np.linspace(180, 10, 5)]),
        "hem": np.column_stack([np.linspace(130, 10, 5), np.zeros(5)]),
    }
    rows = [
        f"{x:.3f},{y:.3f},{name},{'curve' if name == 'hip' else 'straight'}"
        for name, points in runs.items()
        for x, y in points + rng.normal(0.0, 0.1, points.shape)
    ]
    return "\n".join(["x,y,run,kind", *rows])


def checked(folder: Path, edges: str, size: float, notch: str = "") -> dict:
    """Return what `check` tells of a seam of those edges with a bar of so many mm."""
    (folder / "skirt.csv").write_text(skirt(7))
    (folder / "set.toml").write_text(f"""
[set]
name = "Skirt"
style = "S"
size = "M"

[defaults]
tolerance = "3 mm"

[[piece]]
name = "Skirt"
cut = [{{ cloth = "self" }}]
from = {{ file = "skirt.csv", tangent = ["hip start"] }}
grain = {{ along = "back" }}

[[piece]]
name = "Bar"
cut = [{{ cloth = "self" }}]
rectangle = ["{size:.3f} mm", "100 mm"]
grain = {{ along = "bottom" }}

[[seam]]
name = "side"
first = {{ piece = "Skirt", edges = {edges} }}
second = {{ piece = "Bar", edges = "bottom" }}
{notch}""")
    said = CliRunner().invoke(plotout, ["check", str(folder / "set.toml"), "--json"])
    return json.loads(said.stdout)["seams"][0]


def test_a_seam_of_both_is_known_though_neither_is(tmp_path):
    whole = checked(tmp_path, '["-side", "-hip"]', SIDE + ARC)
    alone = checked(tmp_path, '["side"]', SIDE)
    assert alone["known_to_mm"] > 8.0
    assert not alone["sure"]
    assert abs(whole["difference_mm"]) <= whole["known_to_mm"] < 3.0
    assert whole["sure"]
    assert whole["good"]


@pytest.mark.parametrize("longer", [-7.0, 7.0])
def test_a_seam_of_both_that_is_too_short_or_long_is_a_fault(tmp_path, longer):
    assert checked(tmp_path, '["-side", "-hip"]', SIDE + ARC + longer)["faults"]


def test_a_stretch_that_ends_past_the_division_is_known_no_better(tmp_path):
    """Its notch is so far along the hip, and nobody knows where that begins."""
    notch = """
[[seam.notch]]
at = "230 mm"
"""
    seam = checked(tmp_path, '["-side", "-hip"]', SIDE + ARC, notch)
    first, last = seam["stretches"]
    assert min(first["known_to_mm"], last["known_to_mm"]) > 8.0
