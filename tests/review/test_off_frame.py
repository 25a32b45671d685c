"""A grain line along a slanted edge of a piece that is cut square: common practice, from memory.

Angles are by hand: 160 mm over 450 mm slope by arctan(160 / 450) = 19.6 degrees.
"""

import numpy as np
import pytest

from plotout.review.doubts import doubts

from .test_tube_doubts import piece, read

FRONT = (0, 0), (360, 0), (360, 450), (360, 750), (160, 750), (0, 300)
NAMES = "hem side armhole shoulder slope front"
SLOPE = 90.0 - np.degrees(np.arctan2(160.0, 450.0))


def asked(points, names, degrees, more="", cut="pair = true"):
    made = read(piece("Front", points, names, degrees, more, cut))
    return [note for note in doubts(made.pieces[0], made.defaults) if "wrong edge" in note]


def test_a_grain_line_along_the_slope_of_a_square_front_is_asked_about():
    (said,) = asked(FRONT, NAMES, SLOPE)
    assert said == (
        "its grain line is 19.6 degrees off 'side' and 'hem' and 'armhole', which are parallel or "
        "square to one another: is it along the wrong edge?"
    )


@pytest.mark.parametrize("degrees", [0.0, 90.0])
def test_one_along_any_edge_of_the_square_is_not(degrees):
    assert not asked(FRONT, NAMES, degrees)


@pytest.mark.parametrize(
    ("points", "names"),
    [
        (((0, 0), (300, 0), (200, 600), (100, 600)), "hem left waist right"),  # a gore
        (((0, 0), (150, 30), (150, 500), (60, 520)), "hem back waist side"),  # one upright edge
        (((0, 0), (200, 0), (100, 400)), "foot left right"),  # a godet
    ],
)
def test_nor_one_along_a_slope_of_a_piece_without_a_square(points, names):
    points = np.asarray(points, float)
    x, y = points[0] - points[-1]
    assert not asked(points.tolist(), names, float(np.degrees(np.arctan2(y, x))))


def test_nor_one_on_the_bias():
    assert not asked(FRONT, NAMES, SLOPE, more="bias = true")
