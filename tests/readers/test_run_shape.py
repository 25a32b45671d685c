"""Runs whose pricks bow, bend or turn a corner. References: the sagitta of a circle's arc, angles.

That a straight seam bows by less than 1 mm is common practice.
"""

import numpy as np
import pytest
from plotout_pricks.run_shape import bent, corner_in

from plotout import job

SCATTER = 0.3
RUN = range(1, 99)


def scattered(points, rng):
    return points + rng.normal(0.0, SCATTER, np.shape(points))


def arc(rise, count=14):
    """Points of a circle's arc over a chord of 200 mm: it rises by its sagitta."""
    radius = (100.0**2 + rise**2) / (2.0 * rise)
    half = np.arcsin(100.0 / radius)
    turn = np.linspace(-half, half, count)
    return np.column_stack([radius * np.sin(turn), radius * (np.cos(turn) - np.cos(half))])


def angled(degrees, first, second, count):
    """Points along two straight lines that meet at an angle, evenly spaced."""
    at = np.linspace(6.0, first + second - 6.0, count)
    past = np.maximum(at - first, 0.0)[:, None]
    turn = np.radians(degrees)
    before = np.column_stack([np.minimum(at, first), np.zeros(count)])
    return before + past * [np.cos(turn), np.sin(turn)]


@pytest.mark.parametrize("rise", [3.0, 10.0, 25.0])
def test_a_bow_is_told_by_its_height(rise):
    for seed in range(20):
        found = bent(scattered(arc(rise), np.random.default_rng(seed)), RUN)
        height = float(found.words.split(" by ")[1].split(" mm")[0])
        assert "is it a curve?" in found.words
        assert height == pytest.approx(rise, abs=0.5 + 0.15 * rise)  # a parabola is not an arc


def test_a_bend_is_told_with_its_place():
    for seed in range(20):
        found = bent(scattered(angled(12.0, 100.0, 150.0, 14), np.random.default_rng(seed)), RUN)
        assert (
            "turn by 12 degrees" in found.words
            or "turn by 11 degrees" in found.words
            or ("turn by 13 degrees" in found.words)
        )
        assert any(f"between {n} and {n + 1}" in found.words for n in (5, 6))


def test_straight_pricks_are_not_said_to_bow():
    rng = np.random.default_rng(1)
    wrong = 0
    for count in (5, 8, 14, 40) * 250:
        along = np.sort(rng.uniform(0.0, 300.0, count))
        wrong += bent(scattered(np.column_stack([along, np.zeros(count)]), rng), RUN) is not None
    assert wrong <= 2


def read(tmp_path, runs):
    rows = [f"{x:.2f},{y:.2f},{name},{kind}" for name, kind, run in runs for x, y in run]
    (tmp_path / "a.csv").write_text("\n".join(["x,y,run,kind", *rows]))
    (tmp_path / "set.toml").write_text(
        '[set]\nname = "Smock"\nstyle = "S-1"\n[[piece]]\nname = "A"\nfrom = { file = "a.csv" }\n'
    )
    return job.read_set(tmp_path / "set.toml").piece("A").notes


def square(rng, top, kind):
    """A piece of 200 by 250 mm, pricked counter-clockwise, with another top, from right to left."""
    straight = np.linspace(10.0, 190.0, 7)
    zero = np.zeros(7)
    yield "hem", "straight", scattered(np.column_stack([straight, zero]), rng)
    yield "side", "straight", scattered(np.column_stack([zero + 200.0, straight * 1.2]), rng)
    yield "top", kind, scattered(top, rng)
    yield "front", "straight", scattered(np.column_stack([zero, straight[::-1] * 1.2]), rng)


def test_a_curve_that_is_called_straight_is_not_explained_by_strays(tmp_path):
    for seed in range(8):
        top = np.add(arc(39.0)[1:-1], [100.0, 250.0])[::-1]
        notes = read(tmp_path, square(np.random.default_rng(seed), top, "straight"))
        assert any("'top' is pricked as straight, but its pricks bow by" in note for note in notes)
        assert not any("'top' lies" in note or "may have strayed" in note for note in notes)


def test_a_stray_of_a_straight_run_is_still_a_stray(tmp_path):
    for seed in range(20):
        rng = np.random.default_rng(seed)
        top = np.column_stack([np.linspace(190.0, 10.0, 12), np.full(12, 250.0)])
        top[rng.integers(12), 1] += rng.choice([-1.0, 1.0]) * 5.0
        notes = read(tmp_path, square(rng, top, "straight"))
        assert any("off; left out" in note for note in notes)
        assert not any("is pricked as straight, but" in note for note in notes)


def test_a_run_over_a_corner_is_asked_about():
    missed = 0
    for seed in range(50):
        rng = np.random.default_rng(seed)
        degrees, count = rng.uniform(50.0, 90.0), int(rng.integers(14, 24))
        found = corner_in(scattered(angled(degrees, 120.0, 150.0, count), rng), RUN)
        missed += not found
        if found:
            told = float(found.split(" by ")[1].split(" degrees")[0])
            assert told == pytest.approx(degrees, abs=8.0)
    assert missed <= 1


def test_curves_hold_no_corner():
    """Quarters of circles and ellipses, and S-shaped cubics, as necks and armholes are."""
    rng = np.random.default_rng(4)
    ends = np.array([[0.0, 0.0], [110.0, 10.0], [10.0, 150.0], [130.0, 190.0]])
    wrong = 0
    for count in (5, 8, 10, 14, 24) * 40:
        turn = np.linspace(0.0, np.pi / 2.0, count)
        share = np.linspace(0.0, 1.0, count)[:, None]
        cubic = sum(
            factor * share**k * (1.0 - share) ** (3 - k) * ends[k]
            for k, factor in enumerate((1, 3, 3, 1))
        )
        quarter = np.column_stack([np.cos(turn), np.sin(turn)]) * [85.0, rng.uniform(60.0, 150.0)]
        wrong += sum(bool(corner_in(scattered(curve, rng), RUN)) for curve in (quarter, cubic))
    assert wrong <= 2
