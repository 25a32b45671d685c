"""Holes on the dots of dotted paper, painted disc by disc: what both let through is multiplied."""

import cv2
import numpy as np
import pytest
from plotout_photo import dots, holes, lines, sift, spots, writing
from plotout_photo.camera import scanner
from plotout_photo.shot import _bare
from scipy.ndimage import gaussian_filter

SCALE, BLUR, SUB, SIZE = 4.3, 0.9, 5, 84.0  # pixels per mm; pixels; samples along a pixel; mm
PITCH = 10.0
GRID = np.array([(x, y) for x in np.arange(7, SIZE, PITCH) for y in np.arange(7, SIZE, PITCH)])


def painted(holes_at, radius, dot, line):
    """Return the darkness of dotted paper with holes, and a pencil line through the third row."""
    side = round(SIZE * SCALE)
    edge = (np.arange(side * SUB) + 0.5) / SUB - 0.5
    x, y = np.meshgrid(edge / SCALE, edge / SCALE)
    clear = 1.0 - line * (np.abs(y - 27.0 - 0.02 * (x - 42.0)) < 0.25)
    for u, v in GRID:
        clear[np.hypot(x - u, y - v) < radius] *= 1.0 - dot
    for u, v in holes_at:
        clear[np.hypot(x - u, y - v) < 0.4] *= 0.2
    dark = 1.0 - clear.reshape(side, SUB, side, SUB).mean(axis=(1, 3))
    noise = np.random.default_rng(1).normal(0.0, 0.01, dark.shape)
    return (gaussian_filter(dark, BLUR) + noise).astype(np.float32)


def pricks_in(dark, beyond=()):
    """Return the holes that are read in a picture of dotted paper, as `shot` does it.

    beyond: pixels of odd dots that its grid has besides.
    """
    drawn = lines.drawn_lines(dark, SCALE)
    clean = lines.without(dark, drawn)
    inside = np.ones(dark.shape, np.uint8)
    areas = (inside, 1 - inside)
    wrote = writing.writing((dark, clean, drawn), inside, SCALE, BLUR)
    dark, clean = (lines.without(each, wrote.strokes) for each in (dark, clean))
    solution = _bare(scanner(dark.shape[::-1], SCALE))
    at = spots.spots(clean, areas, SCALE)
    found = holes.measured(dark, clean, drawn, at, np.full(len(at), SCALE), BLUR)
    grid = dots.dots_in(dark, solution, solution.table(0, found.at), found.size)
    if len(beyond):
        at = np.vstack([grid.at, solution.table(0, np.array(beyond))])
        profile = np.vstack([grid.profile, grid.profile[: len(beyond)]])
        grid = dots.Dots(at, profile, np.append(grid.odd, [True] * len(beyond)))
    seen = dots.holes_beside(grid, found, (dark, clean, drawn), areas, wrote, solution, SCALE, BLUR)
    return seen.of(sift.certainty(seen) * wrote.certainty(seen) > 0.5)


@pytest.mark.parametrize(
    ("radius", "dot"), [(0.8, 0.5), pytest.param(0.8, 0.25, marks=pytest.mark.thorough), (0.5, 0.7)]
)
@pytest.mark.parametrize("line", [0.28, pytest.param(0.0, marks=pytest.mark.thorough)])
def test_a_hole_is_found_in_its_place_wherever_it_touches_a_printed_dot(radius, dot, line):
    rng = np.random.default_rng(2)
    touched = GRID[rng.permutation(len(GRID))[:12]]
    turn = rng.uniform(0.0, 2.0 * np.pi, 12)
    far = np.linspace(0.0, 1.8, 12)[:, None]
    meant = touched + far * np.column_stack([np.cos(turn), np.sin(turn)])
    seen = pricks_in(painted(meant, radius, dot, line))
    gaps = np.hypot(*(seen.at[:, None] / SCALE - meant).transpose(2, 0, 1))
    assert gaps.min(axis=0).max() < 0.12  # every hole is found
    assert len(seen) == len(meant)  # and nothing else


@pytest.mark.parametrize("radius", [0.8, pytest.param(1.0, marks=pytest.mark.thorough)])
def test_black_dots_are_neither_letters_nor_pricks(radius):
    """As many as would make a printed sheet, if they were letters; holes lie between them."""
    meant = GRID[5:60:5] + np.array([4.0, 5.0])
    seen = pricks_in(painted(meant, radius, 0.95, 0.0))
    gaps = np.hypot(*(seen.at[:, None] / SCALE - meant).transpose(2, 0, 1))
    assert gaps.min(axis=0).max() < 0.12
    assert len(seen) == len(meant)


def test_full_discs_are_no_writing_however_many():
    """Of 2.2 to 3 mm."""
    page = np.zeros((600, 1000), np.uint8)
    for nth in range(100):
        at = (50 + 90 * (nth % 10), 50 + 50 * (nth // 10))
        cv2.circle(page, at, 4 + nth % 3, 255, -1, cv2.LINE_AA)
    dark = page / np.float32(255.0)
    pictures = dark, dark, np.zeros_like(dark)
    assert not len(writing.writing(pictures, page | 1, SCALE, BLUR).at)


def test_a_dot_that_lies_a_tenth_off_its_place_in_the_grid_is_still_a_dot():
    """Small, dark and sharp: so small a move leaves much at its edge. Others have holes in them."""
    rng = np.random.default_rng(4)
    way = rng.uniform(0.0, 2.0 * np.pi, len(GRID))
    moved = GRID + 0.12 * np.column_stack([np.cos(way), np.sin(way)])
    profile = 0.6 * (1.0 - np.clip((dots.RINGS - 0.35) / 0.2, 0.0, 1.0))
    around = dots.RINGS[:, None, None] * np.column_stack([np.cos(dots.WAYS), np.sin(dots.WAYS)])
    far = np.hypot(*(GRID[:, None, None] + around - moved[:, None, None]).transpose(3, 0, 1, 2))
    rings = np.interp(far, dots.RINGS, profile)
    usual = np.repeat(profile[None], len(GRID), axis=0)
    assert not dots._odd(rings, usual).any()
    hole = np.hypot(*(around - [0.5, 0.0]).transpose(2, 0, 1)) < 0.35
    assert dots._odd(1.0 - (1.0 - rings) * np.where(hole, 0.2, 1.0), usual).all()


def test_an_odd_dot_of_the_grid_beyond_the_picture_changes_nothing():
    dark, side = painted(GRID[20:24] + np.array([0.9, 0.3]), 0.8, 0.5, 0.0), SIZE * SCALE
    far = [(-60.0, 90.0), (90.0, -60.0), (side + 60.0, 90.0), (90.0, side + 60.0), (-400.0, 90.0)]
    usual = pricks_in(dark)
    assert len(usual) == 4
    assert pricks_in(dark, far).at == pytest.approx(usual.at)
