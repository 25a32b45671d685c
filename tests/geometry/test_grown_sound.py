"""Areas that GEOS returns crossed (seen of 3.14.1, at single values of a distance)."""

import numpy as np
import pytest
import shapely

from plotout.geometry.grown import buffered

SQUARE = shapely.box(0.0, 0.0, 100.0, 100.0)
CROSSED = shapely.Polygon([(0, 0), (30, 30), (30, 0), (0, 30)])
REAL = shapely.buffer


@pytest.fixture
def seldom(monkeypatch):
    """Let every buffer by exactly so many mm be a crossed one."""

    def at(wrong):
        def buffer(shapes, by, **style):
            made = REAL(shapes, by, **style)
            return np.full(np.shape(made), CROSSED, object) if np.all(np.equal(by, wrong)) else made

        monkeypatch.setattr(shapely, "buffer", buffer)

    return at


@pytest.mark.parametrize(("by", "area"), [(-10.0, 80.0**2), (5.0, 110.0**2)])
def test_a_crossed_area_is_made_anew_a_little_farther(seldom, by, area):
    seldom(by)
    made = buffered(SQUARE, by, join_style="mitre")
    assert made.is_valid
    assert made.area == pytest.approx(area, rel=1e-7)
    several = buffered([SQUARE, SQUARE], by, join_style="mitre")
    assert [one.area for one in several] == pytest.approx([area, area], rel=1e-7)


def test_what_is_sound_is_left_as_it_is():
    made = buffered([SQUARE, shapely.Point(0, 0)], 3.0, quad_segs=4)
    assert made.tolist() == REAL([SQUARE, shapely.Point(0, 0)], 3.0, quad_segs=4).tolist()
    assert buffered(SQUARE, -60.0).is_empty
