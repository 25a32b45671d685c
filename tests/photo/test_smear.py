"""Motion while a picture is taken is measured in the picture, and nothing else is taken for it.

A camera that moves evenly by L pixels leaves the mean of all places between (a box of L pixels,
whose variance is L squared / 12). Marks are drawn here by OpenCV, many times finer than the
picture, seen from the side, blurred and averaged: what is known is how they were moved.
"""

from functools import cache

import cv2
import numpy as np
import pytest
from plotout_photo.blur import blur_of
from plotout_photo.marks import find_marks
from plotout_photo.smear import smear_of

SIDE, FINE = (640, 500), 3
ROWS, COLUMNS = 3, 5
CODE = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)


@cache
def sheet(flat, aslant=0.0):
    """Return light, (h, w), fine: marks in rows, `flat` times as high, smaller above.

    aslant: degrees by which they are turned on the sheet, so that their corners are not square.
    """
    big = np.full((1400, 1800), 255, np.uint8)
    for k in range(ROWS * COLUMNS):
        x, y = 60 + 345 * (k % COLUMNS), 100 + 420 * (k // COLUMNS)
        big[y : y + 300, x : x + 300] = cv2.aruco.generateImageMarker(CODE, 40 + k, 300)
    wide, tall = (side * FINE for side in SIDE)
    up = (1.0 - flat) * tall / 2.0
    aside = 300.0 * (1.0 - flat)
    there = [[aside, up], [wide - aside, up], [wide, tall - up], [0.0, tall - up]]
    here = np.array([[0, 0], [1800, 0], [1800, 1400], [0, 1400]], np.float32)
    turned = np.vstack([cv2.getRotationMatrix2D((900, 700), aslant, 0.75 if aslant else 1.0),
                        [0.0, 0.0, 1.0]])  # fmt: skip
    way = cv2.getPerspectiveTransform(here, np.array(there, np.float32)) @ turned
    light = cv2.warpPerspective(big, way, (wide, tall), flags=cv2.INTER_AREA, borderValue=255)
    return 0.05 + 0.75 * light.astype(np.float32) / 255.0


def moved(light, pixels, degrees):
    """Return light as it reaches a camera that moves: the mean of where things were."""
    steps = ((np.arange(16) + 0.5) / 16 - 0.5) * pixels * FINE
    way = np.array([np.cos(np.radians(degrees)), np.sin(np.radians(degrees))])
    size = light.shape[::-1]
    ways = [np.array([[1, 0, x], [0, 1, y]]) for x, y in steps[:, None] * way]
    edge = cv2.BORDER_REPLICATE
    return sum(cv2.warpAffine(light, way, size, borderMode=edge) for way in ways) / len(ways)


def taken(light, blur):
    """Return what a camera makes of it: blurred (a sigma in pixels, or one per pixel of a row)."""
    soft = cv2.resize(
        cv2.GaussianBlur(light, (0, 0), blur * FINE), SIDE, interpolation=cv2.INTER_AREA
    )
    return soft + 0.004 * np.random.default_rng(5).standard_normal(soft.shape, np.float32)


def smear(light):
    marks = find_marks(np.clip(255.0 * light, 0, 255).astype(np.uint8), light)
    assert len(marks) >= 12
    return smear_of(light, marks, blur_of(marks))


@pytest.mark.parametrize(
    ("flat", "pixels", "degrees"),
    [(1.0, 3.0, 45.0), (1.0, 6.0, 0.0), (0.75, 3.0, 100.0), (0.75, 3.0, 0.0), (0.75, 6.0, 45.0)],
)
def test_motion_is_measured_whichever_way_it_goes(flat, pixels, degrees):
    seen = smear(taken(moved(sheet(flat), pixels, degrees), 0.8))
    assert seen == pytest.approx(pixels, rel=0.12)


@pytest.mark.parametrize("flat", [1.0, 0.82, 0.7])
def test_marks_seen_from_the_side_are_not_moved(flat):
    """At 35 degrees, a square is 0.82 as high as it is wide (its cosine)."""
    assert smear(taken(sheet(flat), 0.7)) < 1.2


def test_what_is_farther_away_and_less_sharp_is_not_moved():
    light = sheet(0.75)
    far = np.linspace(1.0, 0.0, SIDE[1], dtype=np.float32)[:, None]
    mixed = far * taken(light, 2.0) + (1.0 - far) * taken(light, 0.7)
    assert smear(mixed) < 1.2


def test_colours_that_a_lens_puts_apart_are_not_moved():
    """Red is seen larger than green, blue smaller: 2 pixels in the corner (lateral colour)."""
    light, (wide, tall) = taken(sheet(0.82), 0.7), SIDE
    grey = np.zeros_like(light)
    for weight, off in ((0.299, 2.0), (0.587, 0.0), (0.114, -2.0)):  # ITU-R BT.601
        swell = 1.0 + off / np.hypot(wide, tall) * 2.0
        way = np.array([[swell, 0, (1 - swell) * wide / 2], [0, swell, (1 - swell) * tall / 2]])
        grey += weight * cv2.warpAffine(light, way, SIDE, flags=cv2.INTER_CUBIC,
                                        borderMode=cv2.BORDER_REPLICATE)  # fmt: skip
    assert smear(grey) < 1.2


@pytest.mark.parametrize("pixels", [0.0, 3.0])
def test_what_a_camera_sharpens_is_not_moved_unless_it_was(pixels):
    """By an unsharp mask (common practice), which leaves bright and dark lines beside edges."""
    light = taken(moved(sheet(0.7, 40.0), pixels, 10.0) if pixels else sheet(0.7, 40.0), 0.6)
    seen = smear(np.clip(1.8 * light - 0.8 * cv2.GaussianBlur(light, (0, 0), 1.5), 0.0, 1.0))
    assert abs(seen - pixels) < (0.5 if pixels else 1.0)


def test_without_marks_nothing_is_known_to_have_moved():
    assert smear_of(np.ones((60, 80), np.float32), [], 1.0) == 0.0
