"""Strips whose white is cut off: the light of the renderer's scene says how much."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
import render
from plotout_photo.accuracy import error_map
from plotout_photo.advice import advice, bleached_told
from plotout_photo.survey import survey


@pytest.mark.parametrize(
    ("light", "white"), [pytest.param(1.0, False, marks=pytest.mark.thorough), (2.6, True)]
)
def test_overexposed_strips_are_named_as_the_reason_of_a_greater_error(tmp_path, light, white):
    """On brown paper, of which nothing is pure white, strips reflect twice as much."""
    scene = dataclasses.replace(render.scene(4, kind="brown"), light=light)
    camera = render.camera(np.random.default_rng(9), tilt=22, azimuth=30, aim=(0, 0), reach=930)
    path = tmp_path / "sheet.jpg"
    path.write_bytes(render.photograph(scene, camera))
    made = survey([path])
    said = " ".join(advice(made, error_map(made)))
    assert ("The strips are overexposed: the white of" in said) == white
    assert "straightened by a program" not in said
    assert (np.median(made.error) > 0.12) == white


def test_white_in_black_and_white_is_no_fault_of_the_light(surveyed):
    shot = surveyed.shots[0]
    bright = dataclasses.replace(shot, grey=np.where(shot.grey > 100, 255, 0).astype(np.uint8))
    assert "overexposed" in bleached_told(bright)
    assert not bleached_told(dataclasses.replace(bright, greys=2))
