"""Stabs that touch are no stroke of a pen, painted disc by disc (plane geometry)."""

import numpy as np
import pytest
from plotout_photo.writing import writing
from test_clusters import BLUR, SCALE, discs, painted

HOLES = [(4.0 + 4.0 * nth, 4.0) for nth in range(14)]  # of the sheet's runs
STABS = 30.0 + np.array([[-0.35, 0.15], [-0.2, -0.95], [0.05, 0.75], [1.5, 0.1]])  # of a corner


def strokes_of(extra):
    """Return what is taken for strokes amid a sheet with holes and something more."""
    holes = discs(HOLES, [0.9] * len(HOLES))
    dark = painted(lambda x, y: np.maximum(holes(x, y), extra(x, y)), 60.0)
    pictures, inside = (dark, dark, np.zeros_like(dark)), np.ones(dark.shape, np.uint8)
    return writing(pictures, inside, SCALE, BLUR)


def test_stabs_of_a_corner_that_touch_are_not_written():
    wrote = strokes_of(discs(STABS, [0.9, 1.1, 1.0, 1.05]))
    assert not wrote.strokes.any()
    assert not len(wrote.at)


@pytest.mark.parametrize("pale", [0.4, 1.0])
def test_a_letter_is_written_be_it_as_dark_as_holes(pale):
    def letter(x, y):
        upright = (np.abs(x - 30.0) < 0.4) & (np.abs(y - 30.0) < 2.2)
        return 0.7 * pale * (upright | ((np.abs(y - 28.2) < 0.4) & (np.abs(x - 30.0) < 1.8)))

    assert strokes_of(letter).strokes.any()
