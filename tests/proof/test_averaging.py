"""Pictures drawn twice as large and averaged: as Pillow's own `Image.reduce` does it."""

import io

import numpy as np
import pytest
from PIL import Image, ImageColor

from plotout.proof.averaging import averaged
from plotout.proof.rendering import to_png
from plotout.proof.scene import PAPER, STYLES, SceneLine, scene


@pytest.mark.parametrize(
    ("size", "kinds", "mode"),
    [((8, 6), 3, "P"), ((42, 30), 2, "P"), ((60, 34), 2, "P"), ((100, 102), 19, "RGB")],
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
    found = averaged(np.zeros((8, 6), np.uint8), np.array([[251, 250, 247]]))
    assert found.size == (3, 4)
    assert found.convert("RGB").getcolors() == [(12, (251, 250, 247))]


def test_the_palette_begins_with_what_is_there_most():
    numbers = np.zeros((4, 40), np.uint8)
    numbers[:, :4] = 1
    found = averaged(numbers, np.array([[250, 250, 250], [10, 20, 30]]))
    assert found.getpalette()[:6] == [250, 250, 250, 10, 20, 30]


@pytest.mark.parametrize("height", [50.0, 50.5])  # 100 and 101 rows before they are averaged
def test_a_last_row_without_a_second_is_not_mixed_with_paper(height):
    levels = [*np.arange(0.0, 3.0, 0.25), height]
    lines = [SceneLine(np.array([[0.0, y], [100.0, y]]), "cut") for y in levels]
    picture = Image.open(io.BytesIO(to_png(scene("", lines), 100)))
    pixels = np.asarray(picture.convert("RGB"))
    cut, paper = (ImageColor.getrgb(colour) for colour in (STYLES["cut"].colour, PAPER))
    assert picture.size == (100, int(np.ceil(height)))
    assert tuple(pixels[-1, 50].tolist()) == cut
    assert tuple(pixels[25, 50].tolist()) == paper
