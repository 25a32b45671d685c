"""Pictures drawn twice as large and averaged: as Pillow's own `Image.reduce` does it."""

import numpy as np
import pytest
from PIL import Image

from plotout.proof.averaging import averaged


@pytest.mark.parametrize(
    ("size", "kinds", "mode"),
    [((8, 6), 3, "P"), ((41, 30), 2, "P"), ((60, 33), 2, "P"), ((99, 101), 19, "RGB")],
)
def test_it_is_the_mean_of_four(size, kinds, mode):
    rng = np.random.default_rng(3)
    numbers = rng.integers(0, kinds, size, dtype=np.uint8)
    numbers[rng.random(size) < 0.5] = 0
    colours = rng.integers(0, 256, (kinds, 3))
    expected = Image.fromarray(colours[numbers].astype(np.uint8)).reduce(2)
    found = averaged(numbers, colours)
    assert found.mode == mode
    assert (np.asarray(found.convert("RGB")) == np.asarray(expected)).all()


def test_blank_paper_has_one_colour():
    found = averaged(np.zeros((7, 5), np.uint8), np.array([[251, 250, 247]]))
    assert found.size == (3, 4)
    assert found.convert("RGB").getcolors() == [(12, (251, 250, 247))]


def test_the_palette_begins_with_what_is_there_most():
    numbers = np.zeros((4, 40), np.uint8)
    numbers[:, :4] = 1
    found = averaged(numbers, np.array([[250, 250, 250], [10, 20, 30]]))
    assert found.getpalette()[:6] == [250, 250, 250, 10, 20, 30]
