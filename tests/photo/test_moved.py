"""What was moved between two pictures is noticed. That it matters is geometry."""

from dataclasses import replace

import numpy as np
import pytest
import render
from plotout_photo.survey import survey
from plotout_photo.together import together

from plotout import UserError


def slid(shot, mm):
    """Return a shot in which all spots lie elsewhere by some mm, (2,); its strips don't."""
    found = replace(shot.found, at=shot.found.at + np.array(mm) * shot.scale)
    return replace(shot, sheet=replace(shot.sheet, found=found))


@pytest.mark.parametrize("mm", [(0.25, 0.1), (-0.6, 0.8), (3.0, 0.0), (-9.0, 12.0)])
def test_a_sheet_that_was_moved_between_two_pictures_is_reported(surveyed, mm):
    shot = surveyed.shots[0]
    together([shot, shot], [])
    with pytest.raises(UserError, match="sheet was moved") as caught:
        together([shot, slid(shot, mm)], [])
    assert caught.value.exit_code == 2
    assert "moving anything" in str(caught.value)
    assert shot.path.name in str(caught.value)


def test_a_sheet_that_was_turned_is_reported(surveyed):
    shot = surveyed.shots[0]
    off = shot.found.at - shot.found.at.mean(axis=0)
    turned = shot.found.at + 0.001 * np.column_stack([-off[:, 1], off[:, 0]])
    other = replace(shot, sheet=replace(shot.sheet, found=replace(shot.found, at=turned)))
    with pytest.raises(UserError, match="sheet was moved"):
        together([shot, other], [])


def test_pictures_that_show_different_sheets_are_reported(surveyed):
    shot = surveyed.shots[0]
    low, high = shot.found.at.min(axis=0), shot.found.at.max(axis=0)
    other = np.random.default_rng(2).uniform(low, high, shot.found.at.shape)
    strange = replace(shot, sheet=replace(shot.sheet, found=replace(shot.found, at=other)))
    with pytest.raises(UserError, match="different sheets"):
        together([shot, strange], [])


def test_a_sheet_moved_by_a_third_of_a_millimetre_between_two_photographs(
    scene, cameras, photo, tmp_path
):
    """From another side, where the height of the paper might explain a part of the move."""
    strips = {number: (turn, x + 0.24, y + 0.18) for number, (turn, x, y) in scene.strips.items()}
    second = tmp_path / "second.jpg"
    second.write_bytes(render.photograph(replace(scene, strips=strips), cameras[1]))
    with pytest.raises(UserError, match=r"sheet was moved by 0\.[1-3]\d mm or more"):
        survey([photo, second])
