"""Calibration: a square that is sheared and scaled on purpose, measured with numpy alone."""

from __future__ import annotations

import tomllib

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plotout import Mark, Stroke, UserError, Work
from plotout.machine import Calibration, profile
from plotout.machine.calibration import (
    calibrate,
    corrected,
    correction,
    distortion,
)
from plotout.machine.profile import with_calibration


def _measured(matrix: np.ndarray, side: float) -> dict[str, tuple[float, float]]:
    lower_left, lower_right, upper_right, upper_left = (
        np.array([[0, 0], [1, 0], [1, 1], [0, 1]]) * side
    ) @ matrix.T

    def apart(one: np.ndarray, other: np.ndarray) -> float:
        return float(np.linalg.norm(one - other))

    return {
        "across": (apart(lower_left, lower_right), apart(upper_left, upper_right)),
        "up": (apart(lower_left, upper_left), apart(lower_right, upper_right)),
        "diagonals": (apart(lower_left, upper_right), apart(upper_left, lower_right)),
    }


@settings(max_examples=60, deadline=None)
@given(
    st.floats(0.975, 1.025),
    st.floats(0.975, 1.025),
    st.floats(-1.5, 1.5),
    st.sampled_from([100.0, 101.6]),
)
def test_what_was_distorted_is_measured(x: float, y: float, skew: float, side: float) -> None:
    lean = np.radians(skew)
    matrix = np.array([[x, y * np.sin(lean)], [0, y * np.cos(lean)]])
    found = calibrate(**_measured(matrix, side), side=side, date="2026-04-11")
    assert (found.scale_x, found.scale_y) == pytest.approx((x, y), abs=1e-6)
    assert found.skew == pytest.approx(skew, abs=1e-4)
    assert distortion(found)[:, :2] == pytest.approx(matrix, abs=1e-5)
    assert matrix @ correction(found)[:, :2] == pytest.approx(np.eye(2), abs=1e-5)


GOOD = {"across": (100.4, 100.4), "up": (99.8, 99.8), "diagonals": (141.56, 141.56)}


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"across": (0.0, 100.0)}, "zero"),
        ({"up": (3.93, 3.93)}, "mistake in units"),
        ({"across": (96.9, 96.9), "diagonals": (139.2, 139.2)}, "-3.1 %"),
        ({"across": (100.0, 102.0)}, "differ"),
        ({"diagonals": (141.4, 146.0)}, "don't agree with"),
        ({"up": (float("nan"), 100.0)}, "not a number"),
    ],
)
def test_bad_measures_are_refused(wrong: dict[str, tuple[float, float]], words: str) -> None:
    calibrate(**GOOD)
    with pytest.raises(UserError, match=words):
        calibrate(**{**GOOD, **wrong})


def test_it_is_kept_in_the_profile(tmp_path: object) -> None:
    found = Calibration(1.004, 0.998, -0.12, "2026-04-11")
    text = profile.find("craft-cutter").read_text()
    once = with_calibration(text, found)
    twice = with_calibration(with_calibration(text, Calibration(0.99, 0.99)), found)
    assert once == twice
    assert tomllib.loads(once)["bed"] == tomllib.loads(text)["bed"]
    path = tmp_path / "own.toml"  # type: ignore[operator]
    path.write_text(once)
    assert profile.load(path).calibration == found


def test_strokes_come_out_true_and_nonsense_is_refused() -> None:
    ring = np.array([[0, 0], [300, 0], [300, 200], [0, 200], [0, 0.0]])
    stroke = Stroke(ring, Work.CUT, Mark.OUTLINE)
    found = Calibration(1.01, 0.985, 0.4, "2026-04-11")
    sent = corrected([stroke], found)[0].points
    assert sent @ distortion(found)[:, :2].T == pytest.approx(ring)
    assert corrected([stroke], Calibration())[0] is stroke
    with pytest.raises(UserError, match="is implausible"):
        corrected([stroke], Calibration(scale_x=25.4))
