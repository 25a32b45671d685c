"""What is written by hand beside pricks; words and pens are made up, in rendered photographs."""

from dataclasses import replace

import cv2
import numpy as np
import pytest
import render
from against import NEAR, rigid, score
from plotout_photo.accuracy import error_map
from plotout_photo.corrections import Corrections
from plotout_photo.covered import beside_paths, under_writing
from plotout_photo.remarks import remarks_of
from plotout_photo.sift import DOUBTFUL
from plotout_photo.survey import survey
from plotout_photo.table import ordered


@pytest.fixture(
    scope="module",
    params=[
        8410,
        pytest.param(9419, marks=pytest.mark.thorough),
        pytest.param(8414, marks=pytest.mark.thorough),
        pytest.param(9417, marks=pytest.mark.thorough),
    ],
)  # words and arrows over lines; small crosses
def written(request, tmp_path_factory):
    """Return a scene with 20 words beside its pricks, and what is read of it."""
    seed = request.param
    scene = replace(render.scene(seed), words=20)
    rng = np.random.default_rng(seed + 5)
    azimuth, tilt = rng.uniform(0, 360), rng.uniform(0, 35)
    camera = render.camera(rng, tilt=tilt, azimuth=azimuth + rng.uniform(-20, 20),
                           aim=rng.uniform(-15, 15, 2), reach=rng.uniform(900, 960))  # fmt: skip
    path = tmp_path_factory.mktemp("written") / "sheet.jpg"
    path.write_bytes(render.photograph(scene, camera, blur=rng.uniform(0.6, 1.1)))
    return scene, survey([path])


def test_words_beside_pricks_are_no_pricks_and_hide_none(written):
    scene, made = written
    got = score(scene, made)
    assert got.found > 0.97
    assert got.corners == 1.0
    assert got.runs_right
    off = made.sure[_false(scene, made)]
    assert (off < DOUBTFUL).all()  # what is read falsely is told as doubtful
    assert len(off) <= 0.03 * got.count


def test_where_writing_lies_on_the_outline_is_told(written):
    _, made = written
    final = ordered(made, Corrections())
    told = " ".join(remarks_of(made, final, Corrections(), error_map(made)).rest)
    under = under_writing(made, final.way)
    assert len(under)
    assert (
        f"What looks like writing lies on the outline at {under[0][0]:.0f}, {under[0][1]:.0f}"
        in told
    )
    away = replace(made, beside=made.on_runs.mean(axis=0)[None])
    assert not len(beside_paths(away, final.way))
    near = replace(made, beside=made.on_runs[:1] + 0.5)
    assert len(beside_paths(near, final.way)) == 1


def _false(scene, made):
    """Return which pricks of runs are none, (n,)."""
    turn, shift = rigid(*_pairs(scene, made))
    far = np.hypot(*((made.at @ turn + shift)[:, None] - scene.holes).transpose(2, 0, 1))
    return made.in_run & (far.min(axis=1) > NEAR)


def _pairs(scene, made):
    """Return places on the strips, as read and as they are."""
    model, x = made.solution.model, made.solution.x
    ends = np.array([[0.0, 0.0], [218.0, 0.0]])
    strips = [strip for strip in model.strips if strip in scene.strips]
    return (
        np.vstack([made.off_table(model.on_strip(x, strip, ends)) for strip in strips]),
        np.vstack([render._placed(ends, *scene.strips[strip]) for strip in strips]),
    )


def test_what_is_left_of_a_line_that_was_taken_off_is_no_word():
    """A line darker than what was taken off, and a letter beside it: two strokes of 10 mm."""
    from plotout_photo.lines import without
    from plotout_photo.writing import writing

    scale = 4.0
    dark, drawn = np.zeros((2, 240, 300), np.float32)
    dark[118:122] = 0.55
    drawn[116:124] = 0.25
    dark[40:43, 40:80] = dark[40:80, 60:63] = 0.6
    dark = cv2.GaussianBlur(dark, (0, 0), 0.8)
    clean = without(dark, drawn)
    wrote = writing((dark, clean, drawn), np.ones(dark.shape, np.uint8), scale, 0.8)
    assert wrote.strokes[120, 100] > 0
    assert wrote.words[118:123].max() == 0
    assert wrote.words[60, 61] > 0
