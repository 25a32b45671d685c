"""Growing long lines that wind: compared with distances measured by GEOS (through Shapely)."""

import numpy as np
import pytest
import shapely

from plotout.geometry.grown import grown

REACH = 4.0
INNER = REACH * np.cos(np.pi / 16.0)  # of polygons with four sides to the quarter


@pytest.fixture(scope="module", params=[4_001, 5_000, 6_007], ids=str)
def winding(request):
    """A line with noise of 1 mm, which crosses itself again and again."""
    along = np.linspace(0.0, 1.0, request.param)
    up = 30.0 * np.sin(40.0 * along) + np.random.default_rng(1).normal(0.0, 1.0, len(along))
    return shapely.LineString(np.column_stack([96.0 * along, up]))


def test_a_winding_line_is_grown_by_its_reach_and_no_more(winding):
    parts = grown([winding], REACH)
    assert len(parts) > 100  # whole, it takes time as the square of its vertices
    area = shapely.union_all(parts)
    places = np.random.default_rng(2).uniform((-10, -45), (106, 45), (4_000, 2))
    far = shapely.distance(shapely.points(places), winding)
    within = shapely.contains_xy(area, places)
    assert within[far < 0.99 * INNER].all()
    assert not within[far > 1.001 * REACH].any()
    assert (far < REACH).sum() > 500 < (far > REACH).sum()


def test_smooth_lines_and_areas_are_grown_whole():
    turn = np.linspace(0.0, 6.0, 5_000)
    arc = shapely.LineString(50.0 * np.column_stack([np.cos(turn), np.sin(turn)]))
    assert len(grown([arc, arc.convex_hull], REACH)) == 2
