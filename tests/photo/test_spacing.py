"""Steps in which pricks are missing: made up with the truth known (random numbers, no picture)."""

from __future__ import annotations

import numpy as np
import pytest
from plotout_photo.spacing import pricks_unseen


def on_a_line(steps):
    along = np.concatenate([[0.0], np.cumsum(steps)])
    return np.column_stack([along, np.zeros_like(along)])


def a_piece(rng, missing, runs=4, scatter=0.1):
    """Return runs of 10 to 29 steps of 15 mm, shorter at their ends, and where pricks are missing.

    missing: share of the pricks.
    """
    places, gaps = [], []
    for count in rng.integers(10, 30, runs):
        steps = 15.0 * (1.0 + scatter * rng.standard_normal(count))
        steps[[0, -1]] *= rng.uniform(0.4, 1.1, 2)
        kept = rng.random(count + 1) > missing
        kept[[0, -1]] = True
        rows = np.flatnonzero(kept)
        places.append(on_a_line(steps)[rows])
        gaps.append(set(np.flatnonzero(np.diff(rows) > 1).tolist()))
    return places, gaps


def told(runs, index):
    others = [run for k, run in enumerate(runs) if k != index]
    return {gap.after for gap in pricks_unseen(runs[index], others)}


def test_where_two_fifths_of_the_pricks_are_missing_most_gaps_are_told():
    """By a run alone, six tenths of them were."""
    rng, found, due = np.random.default_rng(11), 0, 0
    for _ in range(60):
        runs, gaps = a_piece(rng, 0.4)
        for index, true in enumerate(gaps):
            said = told(runs, index)
            assert said <= true
            found, due = found + len(said & true), due + len(true)
    assert found > 0.78 * due


@pytest.mark.parametrize("among", [0, 3])
def test_what_is_pricked_unevenly_is_seldom_told(among):
    """Lognormal steps: by a run alone, a sixth to a fifth of such runs were told."""
    rng, count = np.random.default_rng(12), 0
    for _ in range(200):
        uneven = [on_a_line(15.0 * np.exp(0.25 * rng.standard_normal(10))) for _ in range(4)]
        runs = [uneven[0], *a_piece(rng, 0.05, among, 0.08)[0]] if among else uneven
        count += bool(told(runs, 0))
    assert count < 0.13 * 200


def test_a_run_pricked_more_closely_than_the_others_keeps_its_own_step():
    close = np.delete(on_a_line(np.full(20, 8.0)), [5, 11, 12], axis=0)
    others = [on_a_line(np.full(12, 15.0)), on_a_line(np.full(9, 15.2))]
    one, two = pricks_unseen(close, others)
    assert (one.count, two.count) == (1, 2)
    assert one.usual == pytest.approx(8.0)


def test_short_steps_at_corners_are_not_the_usual_ones():
    """Four short runs, pricked every 40 mm or so, each beginning and ending 9 mm from a corner."""
    runs = []
    for steps in ([35, 41, 69, 43], [38, 42, 40, 37, 41], [44, 39, 83, 40], [41, 36, 42, 38]):
        along = np.concatenate([[0.0], np.cumsum([9.0, *steps, 9.5])])
        runs.append(np.column_stack([along, np.zeros(len(along))]))
    for at, run in enumerate(runs):
        told = pricks_unseen(run, runs[:at] + runs[at + 1 :])
        assert not [gap for gap in told if gap.usual < 30.0]


@pytest.mark.parametrize("ends", [2, 3])
@pytest.mark.parametrize("beside", [5.0, 10.0])
def test_a_run_that_is_pricked_closer_near_its_corners_misses_nothing(ends, beside):
    """Steps of 5 mm at its ends, of 10 mm between them: the usual step was taken from the ends."""
    rng = np.random.default_rng(21)
    near = [5.0] * ends
    runs = [on_a_line(np.array(steps) * (1.0 + 0.04 * rng.standard_normal(len(steps))))
            for steps in ([*near, *[10.0] * 5, *near], [beside] * 14, [beside] * 12)]  # fmt: skip
    assert not told(runs, 0)


def test_a_gap_beside_even_steps_is_still_told():
    assert told([on_a_line([10.0, 10.0, 20.0, 20.0, 10.0, 10.0, 10.0, 10.0])], 0) == {2, 3}
