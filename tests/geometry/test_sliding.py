"""Slides end where the gap is just kept; reference: distances by GEOS, along the whole way."""

import numpy as np
import pytest
import shapely

from plotout.geometry.sliding import along, sides_of, slide_left


def star(rng, x, y):
    angle = np.sort(rng.uniform(0.0, 2.0 * np.pi, rng.integers(3, 12)))
    if np.diff(angle, append=angle[0] + 2.0 * np.pi).max() > 3.0:
        return star(rng, x, y)
    spokes = rng.uniform(4.0, 20.0, (len(angle), 1))
    return shapely.Polygon(np.column_stack([np.cos(angle), np.sin(angle)]) * spokes + (x, y))


def sides(shapes):
    return sides_of(*shapely.get_coordinates(shapely.get_rings(shapes), return_index=True))


@pytest.mark.parametrize("axis", [0, 1])
@pytest.mark.parametrize("gap", [0.05, 4.0, 15.0])
def test_a_shape_slides_until_the_gap_is_just_kept(gap, axis):
    rng = np.random.default_rng(5)
    stopped = 0
    for _ in range(60):
        others = [star(rng, *rng.uniform(-60.0, 60.0, 2)) for _ in range(rng.integers(1, 6))]
        others[0] = others[0].difference(others[0].centroid.buffer(1.0))
        place = rng.uniform(40.0, 80.0, 2)
        moving = star(rng, *place)
        if min(moving.distance(other) for other in others) <= gap:
            continue
        step = slide_left(along(axis, sides([moving])), along(axis, sides(others)), gap, 120.0)
        way = np.array([1.0, 0.0]) if axis == 0 else np.array([0.0, 1.0])
        for part in np.linspace(0.0, step, 40):
            here = shapely.transform(moving, lambda at, by=part * way: at - by)
            assert min(here.distance(other) for other in others) >= gap - 1e-6
        if step < 120.0:
            assert min(here.distance(other) for other in others) == pytest.approx(gap, abs=1e-6)
            stopped += 1
    assert stopped > 5


def test_nothing_is_in_the_way():
    moving = sides([shapely.box(0.0, 0.0, 5.0, 5.0)])
    assert slide_left(moving, np.empty((0, 2, 2)), 3.0, 7.0) == 7.0
    beside = sides([shapely.box(-9.0, 8.0, 30.0, 9.0), shapely.box(8.0, 0.0, 9.0, 5.0)])
    assert slide_left(moving, beside, 3.0, 7.0) == 7.0  # at the gap, along it and away
