"""Corners whose stabs and runs say different things. The places are plane geometry."""

from __future__ import annotations

import numpy as np
import pytest
from plotout_photo.by_runs import _goes_on
from plotout_photo.corners import Side, placed
from plotout_photo.groups import Group
from plotout_photo.remarks import _beside_stabs
from plotout_photo.runs import way_round
from plotout_photo.tight import row_of

RADIUS = 1100.0  # mm: in eight pricks 8 mm apart it bows by a third of a millimetre


def _piece(row):
    """A piece with a straight lower side and one that bows, from 0, 0 on; and a row of stabs there.

    row: (n,) along the lower side. Three stabs make each other corner.
    """
    along = np.arange(12.0, 110.0, 10.0)
    up = np.arange(9.0, 105.0, 8.0)
    bowed = np.column_stack([RADIUS - np.sqrt(RADIUS**2 - up**2), up])
    top = float(RADIUS - np.sqrt(RADIUS**2 - 112.0**2))
    ring = 1.1 * np.array([[0.0, 1.0], [-0.866, -0.5], [0.866, -0.5]])
    return np.vstack([
        np.column_stack([row, np.zeros(len(row))]),
        np.column_stack([along, 0.0 * along]), ring + np.array([120.0, 0.0]),
        np.column_stack([0.0 * up + 120.0, up]), ring + np.array([120.0, 112.0]),
        np.column_stack([along[along > top + 5.0], 0.0 * along[along > top + 5.0] + 112.0]),
        ring + np.array([top, 112.0]), bowed,
    ])  # fmt: skip


@pytest.mark.parametrize("seed", range(4))
def test_a_run_that_bows_is_not_led_on_as_a_straight(seed):
    """Beyond its last prick a bow goes on: a stab was taken for a prick, and the corner moved."""
    row = np.array([-2.2, -0.73, 0.73, 2.2])
    at = _piece(row)
    at += np.random.default_rng(seed).normal(0.0, 0.03, at.shape)
    way = way_round(at)
    corner = min((g for g in way.groups if g.corner), key=lambda g: np.hypot(*g.at))
    assert set(corner.members) == {0, 1, 2, 3}
    assert np.hypot(*corner.at) < 0.3


def test_runs_that_meet_beside_the_stabs_make_their_corner_uncertain():
    """Of four stabs 1.2 mm apart, in a row about 0, 0, the last is unseen: the others' middle lies
    0.6 mm off, and both runs pass 0, 0.
    """
    away = np.arange(6.0, 60.0, 9.0)[::-1]
    sides = [Side(np.column_stack([away, 0.0 * away]), curved=False),
             Side(np.column_stack([0.0 * away, away]), curved=False)]  # fmt: skip
    at, off = placed(3, np.array([-0.6, 0.0]), sides, row=np.array([1.2, 0.0]))
    assert np.hypot(*at) < 2.0 * off
    corner = Group(at, (4, 5, 6), corner=True, off=off)
    assert corner.contradicted
    said = _beside_stabs(corner, ["5", "6", "7"])
    assert "beside the middle of the stabs 5, 6, 7" in said
    at, off = placed(3, np.array([-0.1, 0.08]), sides, row=np.array([1.2, 0.0]))
    assert not Group(at, (4, 5, 6), corner=True, off=off).contradicted


def test_a_run_that_leads_elsewhere_proves_no_stab_unseen():
    """A ring of stabs, or a row that the two runs cross at different places: a run bends there."""
    away = np.arange(6.0, 60.0, 9.0)[::-1]
    flat = np.column_stack([away, 0.0 * away])
    bent = np.column_stack([1.1 + 0.0 * away, away])
    aslant = np.column_stack([-0.6 + away, away]) / np.sqrt(2.0)
    for sides, row in (((flat, bent), None), ((aslant, bent), np.array([1.2, 0.0]))):
        both = [Side(side, curved=False) for side in sides]
        at, off = placed(3, np.zeros(2), both, row=row)
        assert not Group(at, (4, 5, 6), corner=True, off=off).contradicted


def test_the_way_from_stab_to_stab_is_that_of_a_row():
    row = row_of(np.array([[0.0, 0.0], [1.2, 0.1], [2.4, 0.0]]))
    assert np.abs(row) == pytest.approx([1.2, 0.0], abs=0.01)
    assert row_of(np.array([[0.0, 1.0], [-0.866, -0.5], [0.866, -0.5]])) is None


def test_a_prick_that_goes_on_a_row_of_stabs_may_be_one():
    row = np.column_stack([1.7 * np.arange(4), np.zeros(4)])
    assert _goes_on(row, np.array([6.8, 0.1]))
    assert _goes_on(row, np.array([-1.6, 0.0]))
    assert not _goes_on(row, np.array([8.0, 0.0]))
    assert not _goes_on(row, np.array([6.4, 1.2]))
    assert not _goes_on(row[:2], np.array([3.4, 0.0]))
