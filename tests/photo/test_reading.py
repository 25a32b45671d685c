"""What is read off a rendered photograph, against the truth of the scene.

The figures are issue 18's; the renderer shares no code with the reader. More scenes, and what is
reached over all of them: tests/bench/photo.py.
"""

from __future__ import annotations

import numpy as np
import render
from against import score


def test_one_photo_of_flat_paper(scene, surveyed):
    got = score(scene, surveyed)
    assert got.p95 < 0.15
    assert got.found > 0.97
    assert got.false == 0
    assert got.corners == 1.0
    assert got.runs_right
    assert got.within >= 0.95
    assert abs(got.scale) < 2e-4


def test_marks_are_where_the_lens_puts_them(scene, cameras, surveyed):
    """Every corner that was measured, against the renderer's own projection; 0.10 px is asked."""
    off = []
    for mark in surveyed.shots[0].marks:
        nth, number = mark.number % 6, mark.number // 6 + 1
        low = np.array([38.0 * nth, 0.0])
        square = low + 28.0 * np.array([[0, 1], [1, 1], [1, 0], [0, 0.0]])
        there = render._placed(square, *scene.strips[number])
        off.append(mark.corners - cameras[0].see(np.column_stack([there, np.zeros(4)])))
    assert np.sqrt(np.mean(np.square(off))) < 0.10
    assert len(off) == 6 * len(scene.strips)


def test_the_same_photo_gives_the_same_table(photo):
    from plotout_photo.reader import find

    from plotout import PricksWanted

    one, other = (find([photo], PricksWanted()) for _ in range(2))
    assert one.table == other.table
    assert one.pictures == other.pictures
