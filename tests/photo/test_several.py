"""What several pictures say of a place: which of them show it, and how certain they make it.

That a lens puts every place in front of it at one pixel only is geometry; a polynomial that is
fitted to the marks in a picture turns back somewhere beyond it (from memory).
"""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
import render
from plotout_photo.camera import lens
from plotout_photo.sift import DOUBTFUL
from plotout_photo.sightings import certainty
from plotout_photo.together import Prick

OUTWARDS = np.linspace(0.0, 3.0, 301)  # focal lengths from the middle


def _far_out(pixels: np.ndarray) -> np.ndarray:
    return np.hypot(*(pixels - pixels[0]).T)


@pytest.mark.parametrize("bent", [(0.1, -0.2, -0.02), (-0.06, -0.12, -0.02), (0.02, 0.06, 0.02)])
def test_a_place_far_beside_a_picture_is_not_seen_in_it(bent: tuple[float, ...]):
    kind = lens((4000, 3000), 2960.0, 0.1)
    values = kind.expected.copy()
    values[0], values[5], values[9:12] = np.pi, 0.0, bent  # it looks down
    world = np.column_stack([2960.0 * OUTWARDS, np.zeros((301, 2))])
    assert (np.diff(_far_out(kind.see(values, world))) > 0.0).all()


def test_what_lies_beside_a_rendered_picture_is_not_drawn_into_it():
    for seed in range(8):
        cam = render.camera(np.random.default_rng(seed), tilt=0, azimuth=0, aim=(0, 0), reach=900)
        ray = np.column_stack([OUTWARDS, np.zeros(301), np.ones(301)]) * cam.at[2]
        assert (np.diff(_far_out(cam.see(ray @ cam.turn + cam.at))) > 0.0).all()


@pytest.mark.thorough
def test_a_copy_of_a_picture_is_no_further_measurement(photo, surveyed, tmp_path):
    """However often it is saved: the expected error stays what it was, and it is told."""
    from PIL import Image
    from plotout_photo.survey import survey

    again = tmp_path / "again.jpg"
    with Image.open(photo) as file:
        file.save(again, quality=75)
    for copy in (photo, again):
        made = survey([photo, copy])
        assert [shot.path for shot in made.shots] == [photo]
        (note,) = made.left_out
        assert f"{copy.name} is left out: it shows the same as {photo.name}" in note
        assert np.array_equal(made.error, surveyed.error)


def test_pictures_from_other_places_are_all_kept(surveyed):
    """From one place, but of another sheet; and of the same sheet, moved on by a pixel."""
    from plotout_photo.repeated import without_repeated

    (shot,) = surveyed.shots
    other = replace(shot.sheet, found=replace(shot.found, at=shot.found.at + np.array([9.0, 4.0])))
    moved = tuple(replace(mark, corners=mark.corners + np.array([0.8, 0.6])) for mark in shot.marks)
    for further in (replace(shot, sheet=other), replace(shot, marks=moved)):
        kept, notes = without_repeated([shot, further])
        assert len(kept) == 2
        assert not notes


def test_a_dot_of_writing_stays_doubtful_in_three_pictures():
    """It looks the same in each, so that it passed for a certain prick once two showed it."""
    kind = SimpleNamespace(size=(4000, 3000))
    shots = [SimpleNamespace(kind=kind, sure=np.array([0.45, 1.0])) for _ in range(3)]
    pricks = [Prick(dict.fromkeys(range(3), row)) for row in range(2)]
    solution = SimpleNamespace(see=lambda _index, table: np.full((len(table), 2), 1000.0))
    sure, seen = certainty(solution, shots, pricks, np.zeros((2, 2)))
    assert sure[0] < DOUBTFUL < sure[1]
    assert (seen == 3).all()
