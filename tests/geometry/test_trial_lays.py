"""Trial lays: all cells of a card are free ones; reference: the cells added up by numpy."""

import numpy as np
import pytest

from plotout.geometry.free_cells import blocked_by, spans_of
from plotout.geometry.trial_lays import trial_lays

TURNS = 4


def laid(shapes, field, most, tries=50):
    """How many tries, and (cards, 5) as laid: the cards' shapes, four each, on cells not taken."""
    spans = [spans_of(shape) for shape in shapes]
    counts = np.subtract(field.shape, [shape.shape for shape in shapes]) + 1
    cards, start = len(shapes) // TURNS, blocked_by(field)
    area = np.array([float(shapes[TURNS * card].sum()) for card in range(cards)]) / (~field).sum()
    found = np.zeros((cards, 5), dtype=np.int64)
    count = trial_lays(
        np.arange(cards), np.column_stack([area, area]), area,
        np.arange(len(shapes)).reshape(-1, TURNS), np.vstack(spans),
        np.cumsum([0, *map(len, spans)]), counts, np.array([s.shape for s in shapes], dtype=float),
        start, np.zeros((most, *start.shape), dtype=np.uint64), tries,
        np.array([7], dtype=np.uint64), np.zeros(cards, dtype=np.int64), np.zeros(cards),
        np.zeros(TURNS, dtype=np.int64), np.zeros(most), np.zeros(9, dtype=np.uint64),
        np.zeros(3, dtype=np.int64), found,
    )  # fmt: skip
    return count, found


@pytest.mark.parametrize("size", [(40, 30), (33, 64), (20, 140)])
def test_no_cell_is_taken_twice(size):
    rng = np.random.default_rng(size)
    whole = 0
    for _ in range(10):
        field = rng.random(size) < 0.01
        bases = [rng.random(rng.integers(3, 13, 2)) < 0.8 for _ in range(8)]
        shapes = [np.ascontiguousarray(np.rot90(base, k)) for base in bases for k in range(TURNS)]
        tries, found = laid(shapes, field, 3)
        if not tries:
            continue
        whole += 1
        assert sorted(found[:, 0]) == list(range(8))
        assert (found[:, 2] // TURNS == found[:, 0]).all()
        taken = np.stack([field.astype(int)] * 3)
        for _, sheet, shape, column, row in found:
            wide, tall = shapes[shape].shape
            taken[sheet, column : column + wide, row : row + tall] += shapes[shape]
        assert taken.max() == 1
    assert whole


def test_turns_and_orders_are_tried():
    """A square of 6 in four pieces, of which the long ones must be turned."""
    base = [(6, 2), (6, 2), (2, 4), (2, 2)]
    shapes = [np.ones(size[::-1] if k % 2 else size, dtype=bool) for size in base for k in range(4)]
    field = np.zeros((6, 6), dtype=bool)
    assert laid(shapes, field, 1, tries=2_000)[0] > 0
    field[5, 5] = True
    assert laid(shapes, field, 1, tries=2_000)[0] == 0
