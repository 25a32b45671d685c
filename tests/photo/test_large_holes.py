"""Holes that are too large for pricks, as an awl's are, are told of; a sheet of them is refused."""

import dataclasses
import re

import numpy as np
import pytest
import render
from plotout_photo.shot import take
from plotout_photo.survey import survey

from plotout import UserError


@pytest.mark.parametrize("drawn", [False, pytest.param(True, marks=pytest.mark.thorough)])
def test_the_holes_of_an_awl_are_told_as_too_large_and_a_pin_s_are_not(
    scene, cameras, photo, tmp_path, drawn
):
    """Also where a pencil line leads through them."""
    lines = [scene.holes[scene.run_of == run] for run in np.unique(scene.run_of[scene.run_of >= 0])]
    wide = dataclasses.replace(
        scene, sizes=np.full(len(scene.sizes), 1.9), pencil=lines if drawn else []
    )
    path = tmp_path / "awl.jpg"
    path.write_bytes(render.photograph(wide, cameras[0]))
    said = take(path).too_large
    count, least, most = re.match(r"(\d+) round dark spots of (\S+) to (\S+) mm", said).groups()
    assert 0.5 * len(scene.holes) < int(count) <= len(scene.holes)  # some are paler, or touch
    assert float(least) < 1.9 < float(most) + 0.3
    assert not take(photo).too_large


@pytest.mark.parametrize(
    ("across", "kind"),
    [
        (2.6, "white"),
        pytest.param(3.6, "dotted", marks=pytest.mark.thorough),
        pytest.param(2.6, "dotted", marks=pytest.mark.thorough),
        pytest.param(3.6, "white", marks=pytest.mark.thorough),
    ],
)
def test_holes_of_some_millimetres_on_pencil_lines_are_told_with_number_and_size(
    cameras, tmp_path, kind, across
):
    sheet = render.scene(31, kind=kind, pencil=True)
    wide = dataclasses.replace(sheet, sizes=np.full(len(sheet.sizes), across))
    path = tmp_path / "awl.jpg"
    path.write_bytes(render.photograph(wide, cameras[0]))
    said = take(path).too_large
    count, least, most = re.match(r"(\d+) round dark spots of (\S+) to (\S+) mm", said).groups()
    alone = (sheet.corner_of < 0).sum()  # stabs of such a size touch
    assert 0.9 * alone < int(count) <= len(sheet.holes)
    assert float(least) - 0.4 < across < float(most) + 0.4


def test_a_sheet_of_which_all_holes_are_an_awl_s_is_told_that_first(
    scene, cameras, photo, tmp_path
):
    few = np.array([[-100.0, -60.0], [100.0, -60.0], [100.0, 60.0], [-100.0, 60.0]])
    wide = dataclasses.replace(
        scene, holes=few, sizes=np.full(4, 1.9), rims=np.zeros(4), dots=np.empty((0, 2)),
        corner_of=np.full(4, -1), run_of=np.zeros(4, dtype=int), pencil=[],
    )  # fmt: skip
    path = tmp_path / "awl.jpg"
    path.write_bytes(render.photograph(wide, cameras[0], fancy=False))
    with pytest.raises(
        UserError, match=r"no pricks are seen in it: [34] round dark spots"
    ) as caught:
        survey([path])
    assert "finer needle" in str(caught.value)
