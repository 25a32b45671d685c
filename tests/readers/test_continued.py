"""A fit whose pricks all lie in one place has no length, and no direction to continue in."""

import numpy as np
from plotout_pricks.bend import Tails
from plotout_pricks.continued import beyond


def test_a_curve_without_length_is_continued_without_a_bend():
    curves = np.full((1, 20, 2), 7.0)
    with np.errstate(all="raise"):
        ahead = beyond(Tails(curves))
    assert np.isfinite(ahead).all()
    assert np.ptp(ahead[..., 1]) == 0.0
