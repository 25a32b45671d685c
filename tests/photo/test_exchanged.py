"""Marks beside a path, taken in or left out: it always ends, and loses none."""

import numpy as np
from plotout_photo.groups import Group
from plotout_photo.off_path import exchanged


def test_marks_in_nearly_one_place_do_not_take_turns_for_ever():
    """Ellipses with a mark or two beside a prick; three of these did."""
    rng = np.random.default_rng(0)
    turn = np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False)
    for _ in range(700):
        at = np.column_stack([300.0 * np.cos(turn), 200.0 * np.sin(turn)])
        at += rng.normal(0.0, rng.uniform(0.0, 4.0), at.shape)
        k = rng.integers(24)
        at = np.vstack([at, at[k] + rng.normal(0.0, rng.choice([0.0, 0.3, 1.5]), 2)])
        if rng.random() < 0.5:
            at = np.vstack([at, at[k] + rng.normal(0.0, 1.0, 2)])
        groups = [Group(place, (index,), False) for index, place in enumerate(at)]
        tour, loose = exchanged(groups, list(range(24)), list(range(24, len(at))))
        assert sorted([*tour, *loose]) == list(range(len(at)))
