"""Registration against numpy's least squares and scikit-image's transforms.

Both libraries solve the same problems by their own code: AffineTransform, SimilarityTransform and
EuclideanTransform (skimage.transform), numpy.linalg.lstsq. What the marks say of one another is
compared with fits by skimage to all marks but one.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from skimage.transform import AffineTransform, EuclideanTransform, SimilarityTransform

from plotout import UserError
from plotout.layout.registration.fit import fit_marks, wild_mark
from plotout.layout.registration.solve import Allow, foretold, off, solved

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


def _laid(seed: int, count: int, noise: float, scale=1.0) -> tuple[np.ndarray, np.ndarray]:
    """Marks of a sheet that was laid down as it is: shifted and turned."""
    rng = np.random.default_rng(seed)
    way = EuclideanTransform(
        rotation=np.radians(rng.uniform(-180, 180)), translation=rng.uniform(-200, 200, 2)
    )
    meant = CORNERS[:count]
    return meant, way(meant * scale) + rng.normal(0.0, noise, (count, 2))


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.sampled_from(sorted(_LIBRARY)), st.integers(3, 6))
def test_as_scikit_image(seed: int, allow: Allow, count: int) -> None:
    meant, found = _noisy(seed, count)
    ours = solved(meant, found, allow)
    theirs = _LIBRARY[allow]()
    assert theirs.estimate(meant, found)
    # its affine map is the least singular vector of a homogeneous system (DLT), which differs from
    # least squares in the noise's second order; the others are the same problem as ours
    close = 1e-4 if allow is Allow.SHEAR else 1e-8
    assert ours[:, :2] == pytest.approx(theirs.params[:2, :2], abs=close / 100)
    far = np.hypot(*(theirs(meant) - found).T)
    assert off(ours, meant, found) == pytest.approx(far, abs=close)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10**6))
def test_as_numpys_least_squares(seed: int) -> None:
    meant, found = _noisy(seed)
    ours = solved(meant, found, Allow.SHEAR)
    columns = np.column_stack([meant, np.ones(len(meant))])
    assert pytest.approx(np.linalg.lstsq(columns, found, rcond=None)[0], rel=1e-8) == ours.T


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10**6), st.sampled_from([Allow.SCALE, Allow.TURN]), st.integers(3, 6))
def test_each_mark_is_foretold_as_scikit_image_does_from_the_others(seed, allow, count) -> None:
    meant, found = _noisy(seed, count)
    for nth, far in enumerate(foretold(meant, found, allow)):
        rest = np.arange(count) != nth
        theirs = _LIBRARY[allow]()
        assert theirs.estimate(meant[rest], found[rest])
        assert far == pytest.approx(np.hypot(*(theirs(meant[nth]) - found[nth]).T)[0], abs=1e-8)


def test_its_parts_are_those_of_the_map() -> None:
    made = AffineTransform(scale=(1.01, 0.99), rotation=np.radians(12.0), translation=(3, 4))
    lean = np.array([[1.0, np.tan(np.radians(0.5))], [0.0, 1.0]])
    ours = fit_marks(CORNERS, CORNERS @ (made.params[:2, :2] @ lean).T + np.array([3, 4]))
    assert ours.allow is Allow.SHEAR
    assert ours.turn == pytest.approx(12.0)
    assert ours.scales == pytest.approx((1.01, 0.99))
    assert ours.shear == pytest.approx(np.degrees(np.arctan(1.01 / 0.99 * lean[0, 1])), abs=1e-9)


@settings(max_examples=100, deadline=None)
@given(st.integers(0, 10**6), st.integers(3, 6), st.floats(0.5, 5.0), st.integers(0, 5))
def test_no_wrong_mark_hides_and_none_is_said_to_fit(seed, count, wrong, which) -> None:
    """The trial: three marks said 0.00 mm whatever was wrong, four hid 1.9 mm of one."""
    meant, found = _laid(seed, count, 0.02)
    way = np.random.default_rng(seed + 1).uniform(0, 2 * np.pi)
    found[which % count] += (wrong + 0.2) * np.array([np.cos(way), np.sin(way)])
    with pytest.raises(UserError, match=r"don't fit to 0.5 mm|from where the others put"):
        fit_marks(meant, found)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.integers(3, 6), st.floats(0.0, 2.0), st.integers(0, 5))
def test_what_one_mark_could_hide_is_no_less_than_what_one_hides(seed, count, wrong, which) -> None:
    """All marks but one are exact: whatever is accepted, the error is told as possible."""
    meant, found = _laid(seed, count, 0.0)
    way = np.random.default_rng(seed + 1).uniform(0, 2 * np.pi)
    found[which % count] += wrong * np.array([np.cos(way), np.sin(way)])
    for limit in (0.5, 5.0):
        try:
            made = fit_marks(meant, found, limit=limit)
        except UserError:
            assert wrong > limit / 4.0  # what is foretold of the others may be off by more
            continue
        assert made.could_hide >= wrong - 1e-6


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6), st.integers(3, 6))
def test_a_sheet_that_only_lies_elsewhere_is_shifted_and_turned(seed: int, count: int) -> None:
    meant, found = _laid(seed, count, 0.0)
    made = fit_marks(meant, np.round(found, 2))  # as a scale is read
    assert made.allow is Allow.TURN
    assert made.checked
    assert made.scales == pytest.approx((1.0, 1.0), abs=1e-12)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6), st.sampled_from([0.997, 1.002]))
def test_marks_that_ask_for_a_scale_get_one(seed: int, scale: float) -> None:
    meant, found = _laid(seed, 4, 0.03, scale)
    made = fit_marks(meant, found)
    assert made.allow in (Allow.SCALE, Allow.SHEAR)
    assert made.scales == pytest.approx((scale, scale), abs=5e-4)


def test_a_sheet_that_stretched_along_one_side_is_told_from_a_wrong_mark() -> None:
    meant, found = _laid(3, 4, 0.03, np.array([1.004, 1.0]))
    made = fit_marks(meant, found)
    assert made.allow is Allow.SHEAR
    assert made.scales == pytest.approx((1.004, 1.0), abs=5e-4)
    with pytest.raises(UserError, match="find a fourth; or --allow shear"):
        fit_marks(meant[:3], found[:3])
    trusted = fit_marks(meant[:3], found[:3], allow=Allow.SHEAR)
    assert trusted.could_hide == np.inf
    assert "3 marks fit by shift, turn, two scales and shear exactly" in trusted.notes[0]
    assert "nothing checks this fit" in trusted.notes[0]


def test_two_marks_say_what_they_can_not() -> None:
    made = SimilarityTransform(scale=1.02, rotation=0.1, translation=(5, -7))
    found = made(CORNERS[:2])
    with pytest.raises(UserError, match=r"11.60 mm too far apart.*\n.*--allow scale"):
        fit_marks(CORNERS[:2], found)
    ours = fit_marks(CORNERS[:2], found, allow=Allow.SHEAR)
    assert ours.allow is Allow.SCALE
    assert ours.matrix == pytest.approx(made.params[:2])
    assert "nothing checks this fit" in ours.notes[0]
    assert "two marks show neither shear" in ours.notes[1]
    turned = EuclideanTransform(rotation=0.1, translation=(5, -7))(CORNERS[:2])
    plain = fit_marks(CORNERS[:2], turned)
    assert plain.allow is Allow.TURN
    assert not plain.checked
    assert "check only the distance" in plain.notes[0]


def test_one_mark_gives_a_shift_where_that_is_asked_for() -> None:
    made = fit_marks(CORNERS[:1], CORNERS[:1] + 3.0, allow=Allow.SHIFT)
    assert made.matrix == pytest.approx(np.array([[1, 0, 3], [0, 1, 3.0]]))
    assert "one mark fits by shift exactly" in made.notes[0]


def test_a_mark_that_nothing_checks_is_named() -> None:
    meant = np.array([[10, 10], [25, 10], [500, 300.0]])
    made = fit_marks(meant, meant + 2.0, names=("here", "beside it", "far away"))
    assert made.notes[0].startswith("nothing checks far away")
    assert np.isnan(made.foretold[2])


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.integers(0, 5), st.sampled_from([Allow.SHEAR, Allow.SCALE, None]))
def test_one_wild_mark_among_six_is_named(seed: int, wild: int, allow: Allow | None) -> None:
    rng = np.random.default_rng(seed)
    made = SimilarityTransform(scale=1.01, rotation=rng.uniform(-3, 3), translation=(9, 2))
    found = made(CORNERS) + rng.normal(0, 0.03, CORNERS.shape)
    way = rng.uniform(0, 2 * np.pi)
    found[wild] += 6.0 * np.array([np.cos(way), np.sin(way)])
    assert wild_mark(CORNERS, found, allow or Allow.SCALE, 0.5) == wild
    with pytest.raises(UserError, match=rf"mark {wild + 1} is [5-7]\.\d+ mm from where"):
        fit_marks(CORNERS, found, allow=allow)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.integers(0, 3), st.floats(1.0, 10.0))
def test_a_wrong_one_of_four_is_named_or_none_is(seed: int, wild: int, wrong: float) -> None:
    meant, found = _laid(seed, 4, 0.03)
    way = np.random.default_rng(seed + 1).uniform(0, 2 * np.pi)
    found[wild] += wrong * np.array([np.cos(way), np.sin(way)])
    with pytest.raises(UserError) as told:
        fit_marks(meant, found)
    if "from where the others put" in told.value.problem:
        assert told.value.problem.startswith(f"mark {wild + 1} is")


SQUARE = np.array([[0, 0], [400, 0], [400, 400], [0, 400.0]])


@pytest.mark.parametrize(
    ("meant", "found", "words"),
    [
        (CORNERS[:1], CORNERS[:1], "too few"),
        ([[0, 0], [5, 0], [0, 5]], [[0, 0], [5, 0], [0, 5]], "too close"),
        (CORNERS[:3], CORNERS[:3] * (-1, 1), "mirror"),
        (CORNERS[:4], CORNERS[:4, ::-1], "mirror"),
        (CORNERS[:4], [[50, 60]] * 4, r"all 4 marks are found within 0.0 mm.*580|693 mm apart"),
        (CORNERS[:4], np.full((4, 2), 50) + CORNERS[:4] / 1000, "all 4 marks are found within"),
        (CORNERS[:4], CORNERS[[0, 0, 2, 3]], "mark 1 and mark 2 are found in the same place"),
        (CORNERS[:4], CORNERS[:4] / 10.0, "90.0 % too small"),
        (CORNERS[:4], CORNERS[:4] * 0.94, "6.0 % too small"),
        (SQUARE, SQUARE[[0, 2, 1, 3]], "don't fit|others say|mirror"),
        (CORNERS[:4], CORNERS[:3], "places given: 3; marks: 4"),
        (CORNERS[:4], CORNERS[:4] * np.nan, "not a number"),
        (CORNERS[:4], np.vstack([CORNERS[:3], [[19, 399]]]), "mark 4 is 12.73 mm from where"),
        (CORNERS[:3], np.vstack([CORNERS[:2], [[595, 399]]]), "Three marks can't distinguish"),
    ],
)
def test_bad_marks_are_refused(meant: object, found: object, words: str) -> None:
    with pytest.raises(UserError, match=words):
        fit_marks(np.array(meant, dtype=float), np.array(found, dtype=float))


@pytest.mark.parametrize("third", [0.0, 0.5])
def test_marks_in_a_line_can_turn_a_sheet_but_not_stretch_it(third: float) -> None:
    line = np.array([[0, 0], [100, 0], [300, third]])
    assert fit_marks(line, line + 5.0, allow=Allow.SHEAR).allow is Allow.TURN
    with pytest.raises(UserError, match="condition number"):
        fit_marks(line, line + np.array([[0, 0], [0, 2], [0, 0]]), allow=Allow.SHEAR)
