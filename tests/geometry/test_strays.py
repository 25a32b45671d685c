"""Stray pricks on curves with a known answer: found at their size, and none where there is none."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm
from scipy.stats import t as student

from plotout.geometry.strays import CHANCE, _as_normal, strays


def half_circle(seed, scatter=0.3):
    t = np.linspace(0, np.pi, 27)  # radius 125 mm: a prick each 15 mm
    noise = np.random.default_rng(seed).normal(0, scatter, (27, 2))
    return 125 * np.column_stack([np.cos(t), np.sin(t)]) + noise


def armhole():
    """A straight of 110 mm into a quarter circle of 70 mm, a prick each 14 mm or so."""
    t = np.linspace(0, np.pi / 2, 9)
    bend = np.column_stack([70 * (1 - np.cos(t)), 90 - 90 * np.sin(t)])
    return np.vstack([np.column_stack([np.zeros(8), np.linspace(200, 104, 8)]), bend])


@pytest.mark.parametrize("scatter", [0.1, 0.35])
@pytest.mark.parametrize("shape", ["half circle", "armhole", "straight", "round"])
def test_without_a_stray_hardly_a_run_loses_a_prick(shape, scatter):
    """Issue 3's own figure is not given; plotout's is CHANCE a run. 100 seeds a shape here."""
    lost = 0
    for seed in range(100):
        noise = np.random.default_rng(seed).normal(0, scatter, (27, 2))
        t = np.linspace(0, 2 * np.pi, 27, endpoint=False)
        points = {
            "half circle": half_circle(seed, scatter),
            "armhole": armhole() + noise[:17],
            "straight": np.column_stack([np.linspace(0, 390, 27), np.zeros(27)]) + noise,
            "round": 65 * np.column_stack([np.cos(t), np.sin(t)]) + noise,
        }[shape]
        lost += bool(strays(points, straight=shape == "straight", closed=shape == "round"))
    assert lost <= 1  # 100 x CHANCE is 0.3


@pytest.mark.parametrize("nth", [3, 9, 13, 24])
def test_a_stray_3_1_mm_off_is_found_and_nothing_else_is(nth):
    """Issue 3's example: "lies 3.1 mm off"."""
    for seed in range(20):
        points = half_circle(seed)
        points[nth] *= 1.0 + 3.1 / 125.0
        found = strays(points)
        assert list(found) == [nth]
        assert found[nth] == pytest.approx(3.1, abs=0.9)  # three times the scatter


@pytest.mark.parametrize("nth", [0, 26])
def test_at_an_end_a_stray_must_lie_further_off(nth):
    for seed in range(10):
        points = half_circle(seed)
        points[nth] *= 1.0 + 8.0 / 125.0
        assert list(strays(points)) == [nth]


def test_two_strays_in_one_run():
    points = half_circle(5)
    points[[6, 19]] *= [[1.04], [0.97]]
    assert sorted(strays(points)) == [6, 19]


def test_a_stray_of_a_straight():
    points = np.column_stack([np.linspace(0, 400, 12), np.zeros(12)])
    points += np.random.default_rng(3).normal(0, 0.3, points.shape)
    points[4, 1] += 3.1
    (found,) = strays(points, straight=True).items()
    assert found == (4, pytest.approx(3.1, abs=1.2))


def test_so_few_that_none_can_be_judged():
    assert strays(np.array([[0.0, 0.0], [10.0, 5.0]]), straight=True) == {}
    assert strays(np.array([[0.0, 0.0], [10.0, 5.0], [20.0, 0.0]]), straight=True) == {}


@pytest.mark.parametrize("free", [4, 8, 20])
def test_the_normal_deviate_of_a_t_is_that_of_scipy(free):
    for size in (1.0, 3.0, 6.0):
        exact = norm.isf(student.sf(size, free))
        assert _as_normal(size, free) == pytest.approx(exact, rel=0.03)
    assert 0.0 < CHANCE < 0.01
