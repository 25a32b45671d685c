"""Registration against numpy's least squares and scikit-image's transforms.

Both libraries solve the same problems by their own code: AffineTransform, SimilarityTransform and
EuclideanTransform (skimage.transform), numpy.linalg.lstsq.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from skimage.transform import AffineTransform, EuclideanTransform, SimilarityTransform

from plotout import UserError
from plotout.layout.registration.fit import Allow, fit_marks, wild_mark

CORNERS = np.array([[10, 10], [590, 10], [590, 390], [10, 390], [300, 10], [300, 390.0]])
_LIBRARY = {
    Allow.SHEAR: AffineTransform,
    Allow.SCALE: SimilarityTransform,
    Allow.TURN: EuclideanTransform,
}


def _noisy(seed: int, count: int = 6, noise: float = 0.1) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    turn, shear = rng.uniform(-180, 180), rng.uniform(-0.02, 0.02)
    made = AffineTransform(
        scale=rng.uniform(0.95, 1.05, 2),
        rotation=np.radians(turn),
        shear=shear,
        translation=rng.uniform(-200, 200, 2),
    )
    meant = CORNERS[:count] + rng.uniform(-5, 5, (count, 2))
    return meant, made(meant) + rng.normal(0, noise, (count, 2))


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.sampled_from(sorted(_LIBRARY)), st.integers(3, 6))
def test_as_scikit_image(seed: int, allow: Allow, count: int) -> None:
    meant, found = _noisy(seed, count)
    ours = fit_marks(meant, found, allow=allow, limit=1e3)
    theirs = _LIBRARY[allow]()
    assert theirs.estimate(meant, found)
    # its affine map is the least singular vector of a homogeneous system (DLT), which differs from
    # least squares in the noise's second order; the others are the same problem as ours
    close = 1e-4 if allow is Allow.SHEAR else 1e-8
    assert ours.matrix[:, :2] == pytest.approx(theirs.params[:2, :2], abs=close / 100)
    off = np.hypot(*(theirs(meant) - found).T)
    assert ours.residuals == pytest.approx(off, abs=close)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10**6))
def test_as_numpys_least_squares(seed: int) -> None:
    meant, found = _noisy(seed)
    ours = fit_marks(meant, found, limit=1e3)
    columns = np.column_stack([meant, np.ones(len(meant))])
    assert pytest.approx(np.linalg.lstsq(columns, found, rcond=None)[0], rel=1e-8) == ours.matrix.T


def test_its_parts_are_those_of_the_map() -> None:
    made = AffineTransform(scale=(1.01, 0.99), rotation=np.radians(12.0), translation=(3, 4))
    lean = np.array([[1.0, np.tan(np.radians(0.5))], [0.0, 1.0]])
    ours = fit_marks(CORNERS, CORNERS @ (made.params[:2, :2] @ lean).T + np.array([3, 4]))
    assert ours.turn == pytest.approx(12.0)
    assert ours.scales == pytest.approx((1.01, 0.99))
    assert ours.shear == pytest.approx(np.degrees(np.arctan(1.01 / 0.99 * lean[0, 1])), abs=1e-9)


def test_two_marks_give_shift_turn_and_one_scale() -> None:
    made = SimilarityTransform(scale=1.02, rotation=0.1, translation=(5, -7))
    ours = fit_marks(CORNERS[:2], made(CORNERS[:2]))
    assert ours.allow is Allow.SCALE
    assert ours.matrix == pytest.approx(made.params[:2])


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.integers(0, 5), st.sampled_from([Allow.SHEAR, Allow.SCALE]))
def test_one_wild_mark_among_six_is_named(seed: int, wild: int, allow: Allow) -> None:
    rng = np.random.default_rng(seed)
    made = SimilarityTransform(scale=1.01, rotation=rng.uniform(-3, 3), translation=(9, 2))
    found = made(CORNERS) + rng.normal(0, 0.03, CORNERS.shape)
    way = rng.uniform(0, 2 * np.pi)
    found[wild] += 6.0 * np.array([np.cos(way), np.sin(way)])
    assert wild_mark(CORNERS, found, allow, 0.5) == wild
    with pytest.raises(UserError, match=rf"mark {wild + 1} is [5-7]\.\d+ mm from where all"):
        fit_marks(CORNERS, found, allow=allow)


@pytest.mark.parametrize(
    ("meant", "found", "words"),
    [
        (CORNERS[:1], CORNERS[:1], "too few"),
        ([[0, 0], [5, 0], [0, 5]], [[0, 0], [5, 0], [0, 5]], "too close"),
        ([[0, 0], [100, 0], [300, 0.5]], [[0, 0], [100, 0], [300, 0.5]], "condition number"),
        ([[0, 0], [100, 0], [300, 0]], [[0, 0], [100, 0], [300, 0]], "in a line"),
        (CORNERS[:3], CORNERS[:3] * (-1, 1), "mirror"),
        (CORNERS[:4], CORNERS[:3], "4 marks were meant, and 3"),
        (CORNERS[:4], CORNERS[:4] * np.nan, "not a number"),
        (CORNERS[:4], np.vstack([CORNERS[:3], [[19, 399]]]), "don't fit to 0.5 mm"),
    ],
)
def test_bad_marks_are_refused(meant: object, found: object, words: str) -> None:
    with pytest.raises(UserError, match=words):
        fit_marks(np.array(meant, dtype=float), np.array(found, dtype=float))
