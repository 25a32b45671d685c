"""Which points of a grid lie inside a shape: compared with asking shapely for every one of them."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from plotout.geometry.cells import inside, near


@given(st.integers(0, 2**32 - 1))
def test_as_asked_one_by_one(seed):
    chance = np.random.default_rng(seed)
    discs = shapely.points(chance.uniform(0, 60, (6, 2))).tolist()
    grown = shapely.union_all(shapely.buffer(discs, chance.uniform(2, 20, 6)))
    room = grown.difference(shapely.box(*chance.integers(5, 25, 2), *chance.integers(26, 60, 2)))
    if room.is_empty:
        return
    compare(room)


@pytest.mark.parametrize(
    "room",
    [
        shapely.box(0, 0, 30, 20),  # its sides lie on columns and rows
        shapely.box(0, 0, 30, 20).difference(shapely.box(5, 5, 10, 10)),
        shapely.Polygon([(0, 0), (20, 20), (40, 0), (20, 5)]),  # through points of the grid
        shapely.box(0, 0, 0.4, 9).union(shapely.box(5, 5, 9, 9)),
    ],
)
def test_on_the_boundary_is_not_inside(room):
    compare(room)


def compare(room):
    low_x, low_y, high_x, high_y = room.bounds
    x, y = np.arange(low_x, high_x + 1.0, 1.0), np.arange(low_y, high_y + 1.0, 1.0)
    asked = shapely.contains_xy(room, *np.meshgrid(x, y)).T
    assert (inside(room, x, y) == asked).all()


@given(st.integers(0, 2**32 - 1), st.integers(0, 12))
def test_near_a_place_as_measured_from_every_one(seed, count):
    chance = np.random.default_rng(seed)
    places, reach = chance.uniform(-10, 50, (count, 2)), chance.uniform(0.1, 9)
    x, y = np.arange(0.0, 40.0, 1.3), np.arange(3.0, 30.0, 1.3)
    at = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1)
    apart = np.abs(at[:, :, None] - places).max(axis=-1)
    assert (near(places, reach, x, y) == (apart < reach).any(axis=-1)).all()
