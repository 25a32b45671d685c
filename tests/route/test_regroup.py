"""Rows of holes held together and ordered anew, beside every order of the rows there is."""

from itertools import permutations, product

import numpy as np
import pytest

from plotout.route.budget import Budget
from plotout.route.net import fixed_net
from plotout.route.regroup import parts_of, regrouped

ROWS, HOLES, PITCH = 5, 12, 3.0


def rows(seed):
    """Return the ends of straight rows, (n, 2, 2), and all their holes, row by row."""
    rng = np.random.default_rng(seed)
    angle = rng.uniform(0.0, np.pi, ROWS)
    way = np.column_stack([np.cos(angle), np.sin(angle)])
    begin = rng.uniform(0.0, 600.0, (ROWS, 2))
    along = PITCH * np.arange(HOLES)
    holes = begin[:, None] + along[None, :, None] * way[:, None]
    return holes[:, [0, -1]], holes.reshape(-1, 2)


def best(ends):
    """Return the shortest way through all rows from 0, 0, by trying all."""
    shortest = np.inf
    for order in permutations(range(ROWS)):
        for turned in product((0, 1), repeat=ROWS):
            at, way = np.zeros(2), ROWS * (HOLES - 1) * PITCH
            for row, back in zip(order, turned, strict=True):
                way += float(np.hypot(*(ends[row, back] - at)))
                at = ends[row, 1 - back]
            shortest = min(shortest, way)
    return shortest


@pytest.mark.parametrize("seed", range(4))
def test_rows_are_brought_into_the_best_order_of_all(seed):
    ends, holes = rows(seed)
    count = len(holes)
    net = fixed_net(np.stack([holes, holes], axis=1), np.zeros(2), np.zeros((count, 2)), None)
    ring = np.concatenate([[count], np.arange(count), [count + 1]])
    assert len(parts_of(ring, net, None, 1.0)) == ROWS
    found = regrouped(ring, net, None, Budget(None, None, count), 1)
    assert sorted(found.tolist()) == list(range(count + 2))
    walk = np.vstack([np.zeros((1, 2)), holes[found[1:-1]]])
    assert float(np.hypot(*np.diff(walk, axis=0).T).sum()) == pytest.approx(best(ends))
