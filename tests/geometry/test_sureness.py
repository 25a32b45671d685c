"""How surely sums of lengths are known: by simulation."""

from __future__ import annotations

import numpy as np
import pytest

from plotout.geometry.sureness import TWO_SIGMA, Known, known_together, two_sigma


def test_errors_of_scatter_add_as_normal_ones_do():
    assert known_together([Known(3.0), Known(4.0)]) == (5.0, 0.0)


@pytest.mark.parametrize("chance", [0.06, 0.2, 0.4])
@pytest.mark.parametrize("alike", [True, False])
@pytest.mark.parametrize("count", [2, 3])
def test_a_sum_holds_what_wrong_explanations_of_like_edges_make_of_it(chance, alike, count):
    """Edges that are 8 mm longer if their pricks are explained otherwise; scatter of 0.5 mm.

    With two sigma added as of normal errors, sums of which all are wrong lie outside.
    """
    rng = np.random.default_rng(5)
    wrong = rng.random((count, 20_000)) < chance
    wrong = np.repeat(wrong[:1], count, axis=0) if alike else wrong
    off = rng.normal(0.0, 0.5, wrong.shape) + 8.0 * wrong
    known = [
        Known(to, to - two_sigma(one[~otherwise]))
        for one, otherwise in zip(off, wrong, strict=True)
        for to in (two_sigma(one),)
    ]
    within = np.abs(off.sum(axis=0)) <= known_together(known).to
    assert within.mean() >= TWO_SIGMA
