"""A curve divided at a rounded place is cut as if it were not.

The reference is shapely's distance from the whole curve (GEOS): the allowance, all along.
"""

from __future__ import annotations

import numpy as np
import pytest
from shapely import distance, points
from shapely.geometry import LineString

from plotout.finish.prepare import bare_card, cut_line, ready
from plotout.geometry.polyline import distances
from plotout.pattern.settings import Defaults

from .conftest import Build

TEXT = """
[[piece]]
name = "Side"
from = { file = "side" }
start = [200, 0]
turn-angle = 25
edges = ["line", "top", "inner", "foot"]
allowance = "12 mm"
[[piece.divide]]
edge = "line"
at = AT
into = ["skirt", "yoke"]
[[piece]]
name = "Facing"
rectangle = ["AT mm", "60 mm"]
[[seam]]
name = "yoke"
first = { piece = "Side", edges = ["skirt"] }
second = { piece = "Facing", edges = ["bottom"] }
"""
LOW, HIGH = 80, 60


def two_arcs(low: float, high: float, corner: float) -> np.ndarray:
    """From (200, 0) upwards, 300 mm in 80 chords and 200 in 60 as an arc each, bends in 1/mm to the
    right; between them the line turns to the right by `corner` degrees, too.
    """
    steps = np.repeat([300.0 / LOW, 200.0 / HIGH], [LOW, HIGH])
    bend = np.repeat([low, high], [LOW, HIGH])
    turn = np.cumsum(bend * steps) - bend * steps / 2.0 - 0.4
    turn[LOW:] += np.radians(corner)
    reached = np.cumsum(steps[:, None] * np.column_stack([np.sin(turn), np.cos(turn)]), axis=0)
    start = np.array([[200.0, 0.0]])
    return np.vstack([start, start + reached])


@pytest.mark.parametrize("past", [0.0, 1e-6, -1e-5, 2e-5, 3e-4, -0.004, 0.03])
@pytest.mark.parametrize(
    ("low", "high", "corner"), [(0.0005, 0.003, 0.0), (0.003, 0.0002, 0.0), (0.001, 0.002, 7.0)]
)
def test_a_curve_divided_near_a_point_of_it_is_cut_evenly(
    build: Build, low: float, high: float, corner: float, past: float
) -> None:
    """Set files hold rounded places: the division lies beside where both arcs meet, not on it.

    They are hollow. A corner of 7 degrees within is cut where the parallels cross.
    """
    curve = two_arcs(low, high, corner)
    ring = np.vstack([curve, [0.0, curve[-1][1]], [0.0, 0.0], curve[:1]])
    at = float(distances(curve)[LOW]) + past
    made = build(TEXT.replace("AT", f"{at:.6f}"), side=ring)
    piece = ready(made.piece("Side"))
    cutting = cut_line(piece, Defaults())[:-1]
    beside = np.hypot(*(cutting - curve[LOW]).T) < 100.0
    ordered = cutting[np.roll(np.arange(len(cutting)), -int((~beside).argmax()))]
    near = ordered[np.hypot(*(ordered - curve[LOW]).T) < 100.0]
    assert len(near) > 40
    assert np.abs(distance(LineString(curve), points(near)) - 12.0).max() < 0.02
    assert (np.diff(near[:, 1]) > 0.0).all()
    assert bare_card(piece, Defaults(), made.seams).faults == ()
