"""The bound by blocks refuses no place; reference: every place and every block tried one by one."""

import numpy as np
import pytest

from plotout.layout.nesting.blocks import Asked, free_blocks, tallest


def some_cells(rng, wide, tall, boxes=3):
    """Boxes laid over one another at random, as cells."""
    cells = np.zeros((wide, tall), dtype=bool)
    for _ in range(boxes):
        i, j = rng.integers(0, wide), rng.integers(0, tall)
        cells[i : i + rng.integers(1, wide), j : j + rng.integers(1, tall)] = True
    return cells


@pytest.mark.parametrize("seed", range(5))
def test_tallest_blocks_are_those_found_by_trying_all(seed):
    cells = some_cells(np.random.default_rng(seed), 7, 9)
    found = tallest(cells)
    for width in range(1, 8):
        heights = [
            height
            for height in range(1, 10)
            for i in range(8 - width)
            for j in range(10 - height)
            if cells[i : i + width, j : j + height].all()
        ]
        assert (found[width] if width < len(found) else 0) == max(heights, default=0)


def test_a_shape_that_has_a_place_is_never_refused_and_some_that_have_none_are():
    rng = np.random.default_rng(7)
    refused = with_a_place = 0
    for _ in range(400):
        taken = some_cells(rng, 41, 30, boxes=1 + rng.integers(6))
        shape = some_cells(rng, *rng.integers(5, 31, 2))
        (met,) = Asked([tallest(shape)]).met(free_blocks(taken))
        windows = np.lib.stride_tricks.sliding_window_view(taken, shape.shape)
        fits = not (windows & shape).any(axis=(2, 3)).all()
        assert met or not fits
        refused += not met
        with_a_place += fits
    assert refused > 10
    assert with_a_place > 50


def test_a_shape_without_cells_is_not_refused():
    nothing, all_taken = np.zeros((5, 5), dtype=bool), np.ones((9, 9), dtype=bool)
    assert Asked([tallest(nothing), tallest(~nothing)]).met(free_blocks(all_taken)) == [True, False]
