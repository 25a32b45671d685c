"""Stabs that touch each other, painted disc by disc (plane geometry), taken apart again."""

import numpy as np
import pytest
from plotout_photo.clusters import stabs_of
from scipy.ndimage import gaussian_filter

SCALE, BLUR, SUB = 4.3, 0.9, 8  # pixels per mm; pixels; samples along a pixel


def painted(inside):
    """Return the darkness of a picture of 15 mm, (h, w). inside: which places, mm, are dark."""
    side = round(15.0 * SCALE)
    edge = (np.arange(side * SUB) + 0.5) / SUB - 0.5
    x, y = np.meshgrid(edge / SCALE, edge / SCALE)
    dark = inside(x, y).reshape(side, SUB, side, SUB).mean(axis=(1, 3))
    noise = np.random.default_rng(1).normal(0.0, 0.01, dark.shape)
    return (gaussian_filter(dark, BLUR) + noise).astype(np.float32)


def discs(at, sizes):
    def inside(x, y):
        dark = np.zeros_like(x)
        for (u, v), size in zip(at, sizes, strict=True):
            dark = np.maximum(dark, 0.7 * (np.hypot(x - u, y - v) < size / 2.0))
        return dark

    return inside


@pytest.mark.parametrize("sizes", [(1.2, 1.2, 1.2, 1.2), (0.6, 1.1, 0.6, 0.8)])
def test_four_touching_stabs_are_found_each_in_its_place(sizes):
    at = np.array([7.5, 7.5]) + 0.85 * np.array([[1, 0.1], [0.1, -1], [-1, 0], [0, 1.0]])
    found = stabs_of(painted(discs(at, sizes)), np.array([[7.5, 7.5], at[0]]) * SCALE, SCALE, BLUR)
    gaps = np.hypot(*(found[:, None, :2] / SCALE - at).transpose(2, 0, 1))
    assert len(found) == 4
    assert gaps.min(axis=0).max() < 0.05
    assert 2.0 * found[gaps.argmin(axis=0), 3] / SCALE == pytest.approx(sizes, abs=0.2)


def test_one_hole_stays_one_however_large():
    for size in (0.5, 0.9, 1.3):
        picture = painted(discs([(7.5, 7.5)], [size]))
        (found,) = stabs_of(picture, np.array([[7.5, 7.5]]) * SCALE, SCALE, BLUR)
        assert found[:2] / SCALE == pytest.approx((7.5, 7.5), abs=0.03)
        assert found[4] == pytest.approx(0.7 * np.pi / 4.0 * size**2, rel=0.15)  # all its darkness


def test_a_stroke_of_lettering_is_no_row_of_stabs():
    def stroke(x, y):
        return 0.6 * ((np.abs(x - 7.5) < 0.5) & (np.abs(y - 7.5) < 4.0))

    at = np.array([[7.5, 5.0], [7.5, 7.5], [7.5, 10.0]]) * SCALE
    assert not len(stabs_of(painted(stroke), at[:1], SCALE, BLUR))
    assert not len(stabs_of(painted(stroke), at[1:2], SCALE, BLUR))
