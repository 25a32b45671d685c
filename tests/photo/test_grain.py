"""Pencil lines with a grain: darker in places, as pencil on rough paper is (from memory)."""

from dataclasses import replace

import numpy as np
import pytest
import render
from against import score
from test_reading import overshot


@pytest.mark.parametrize("seed", [8305, pytest.param(8306, marks=pytest.mark.thorough)])
def test_the_grain_of_a_pencil_line_is_no_prick(folder, seed):
    """Lines go on beyond corners, as along a ruler. One of a hundred pricks may be false."""
    from plotout_photo.survey import survey

    plain = render.scene(seed, pencil=True, kind="white", small=0.6)
    lines = [overshot(line, 4.0) for line in plain.pencil]
    scene = replace(plain, pencil=lines, pressed=(2, 0.55), grain=0.3)
    rng = np.random.default_rng(seed)
    camera = render.camera(rng, tilt=12, azimuth=rng.uniform(0, 360), aim=(0, 0), reach=860)
    path = folder / f"grain-{seed}.jpg"
    path.write_bytes(render.photograph(scene, camera, blur=0.6))
    got = score(scene, survey([path]))
    assert got.found >= 0.97
    assert got.false <= 0.01 * got.count
    assert got.corners == 1.0
