"""Key points within a piece, and edges without a prick, which lead to none (plane geometry)."""

import re

import numpy as np
import pytest
from plotout_photo.inside import told
from plotout_photo.runs import way_round
from plotout_photo.table import Ordered
from test_bare import stabs

CORNERS = np.array([[0.0, 0.0], [300.0, 0.0], [300.0, 220.0], [0.0, 220.0]])
POCKET = np.array([[80.0, 60.0], [170.0, 60.0], [170.0, 140.0], [80.0, 140.0]])


def sheet(corners, unpricked=(), within=()):
    """Return a closed path's key points and pricks every 12 mm, and key points within it."""
    sides = [
        one + (other - one) * np.arange(12.0, np.hypot(*(other - one)) - 6.0, 12.0)[:, None]
        / np.hypot(*(other - one))
        for k, (one, other) in enumerate(zip(corners, np.roll(corners, -1, axis=0), strict=True))
        if k not in unpricked
    ]  # fmt: skip
    at = np.vstack([*map(stabs, corners), *map(stabs, within), *sides])
    way = way_round(at)
    names = tuple(f"run {k}" for k in range(1, len(way.runs) + 1))
    return Ordered(at, tuple(range(1, len(at) + 1)), way, names)


@pytest.mark.parametrize("within", [POCKET, POCKET[:3]], ids=["pocket", "gusset"])
def test_key_points_within_are_told_with_all_their_stabs(within):
    (said,) = told(sheet(CORNERS, within=within))
    numbers = [int(number) for number in re.findall(r"--drop (\d+)", said)]
    assert sorted(numbers) == list(range(13, 13 + 3 * len(within)))
    for x, y in within:
        assert f"{x:.0f}, {y:.0f}" in said


@pytest.mark.parametrize("unpricked", [(), (0,), (0, 3), (0, 2), (0, 1, 2), (0, 1, 2, 3)])
def test_folds_that_are_not_pricked_lead_to_no_key_point_within(unpricked):
    assert not told(sheet(CORNERS, unpricked))
