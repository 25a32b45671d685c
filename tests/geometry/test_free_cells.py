"""Free places of shapes of cells; reference: every place tried, cell by cell, by numpy."""

import numpy as np
import pytest

from plotout.geometry.free_cells import (
    blocked_by,
    blocks_of,
    first_with_a_place,
    free_places,
    spans_of,
)


def some_cells(rng, wide, tall, boxes=3):
    """Boxes laid over one another at random, as cells; they may have bays and holes."""
    cells = np.zeros((wide, tall), dtype=bool)
    for _ in range(boxes):
        i, j = rng.integers(0, wide), rng.integers(0, tall)
        cells[i : i + rng.integers(1, wide + 1), j : j + rng.integers(1, tall + 1)] ^= True
    return cells


def found(taken, shape, most):
    counts = np.subtract(taken.shape, shape.shape) + 1
    free, places = np.zeros(9, dtype=np.uint64), np.empty((most, 2), dtype=np.int64)
    many = free_places(blocked_by(taken), spans_of(shape), counts, free, places)
    return places[:many].tolist()


def tried(taken, shape):
    windows = np.lib.stride_tricks.sliding_window_view(taken, shape.shape)
    return np.argwhere(~(windows & shape).any(axis=(2, 3))).tolist()


@pytest.mark.parametrize("size", [(9, 7), (31, 20), (30, 64), (20, 65), (12, 200), (30, 140)])
def test_places_are_those_found_by_trying_all(size):
    rng = np.random.default_rng(size)
    with_a_place = without = 0
    for _ in range(40):
        taken = some_cells(rng, *size, boxes=1 + rng.integers(6))
        some = rng.choice([4, 2, 1])
        shape = some_cells(rng, *(rng.integers(1, 1 + side // some) for side in size))
        expected = tried(taken, shape)
        assert found(taken, shape, 10**5) == expected
        assert found(taken, shape, 3) == expected[:3]
        with_a_place += bool(expected)
        without += not expected
    assert with_a_place
    assert without


def test_a_shape_as_large_as_the_field_has_one_place():
    whole = np.ones((70, 128), dtype=bool)
    assert found(~whole, whole, 9) == [[0, 0]]
    assert found(whole, whole, 9) == []


def test_a_shape_without_cells_lies_everywhere():
    nothing = np.zeros((2, 3), dtype=bool)
    assert len(found(np.ones((5, 5), dtype=bool), nothing, 99)) == 4 * 3


@pytest.mark.parametrize("seed", range(5))
def test_the_tallest_blocks_are_those_found_by_trying_all(seed):
    rng = np.random.default_rng(seed)
    cells = some_cells(rng, 7, 9)
    for width in range(1, 8):
        heights = [
            height
            for height in range(1, 10)
            for i in range(8 - width)
            for j in range(10 - height)
            if cells[i : i + width, j : j + height].all()
        ]
        assert blocks_of(cells)[width] == max(heights, default=0)


def test_the_first_field_with_a_place_is_that_found_by_trying_all():
    rng = np.random.default_rng(3)
    firsts = set()
    for _ in range(40):
        taken = [some_cells(rng, 20, 70, boxes=4) for _ in range(6)]
        shape = some_cells(rng, *rng.integers((8, 20), (21, 66)))
        blocked = np.ascontiguousarray([blocked_by(each) for each in taken])
        some = np.array([0, 2, 3, 5])
        counts, free = np.subtract((20, 70), shape.shape) + 1, np.zeros(3, dtype=np.uint64)
        first = first_with_a_place(blocked, some, spans_of(shape), counts, free)
        expected = [nth for nth, field in enumerate(some) if tried(taken[field], shape)]
        assert first == (expected or [4])[0]
        firsts.add(first)
    assert firsts > {0, 4}
