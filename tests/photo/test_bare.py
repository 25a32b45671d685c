"""Runs without a prick: what is known of the figure that they were taken from (plane geometry)."""

from __future__ import annotations

import numpy as np
import pytest
from plotout_photo.bare import told
from plotout_photo.runs import way_round
from plotout_photo.table import Ordered


def stabs(at):
    return np.array(at) + np.array([[0.0, 1.2], [1.0, -0.6], [-1.0, -0.6]])


def _pricked(one, other):
    """Return pricks every 14 mm or so between two corners; none if these are close."""
    count = int(np.hypot(*(other - one)) / 14.0) - 1
    return one + np.outer(np.arange(1, count + 1) / (count + 1.0), other - one)


def _numbered(at):
    way = way_round(at)
    names = tuple(f"run {k}" for k in range(1, len(way.runs) + 1))
    return Ordered(at, tuple(range(1, len(at) + 1)), way, names)


@pytest.mark.parametrize("near", [6.0, 9.0, 13.0])
def test_stabs_on_a_curve_close_to_a_corner_may_be_a_match_point(near):
    """A half disc of radius 90 mm; its arc is pricked every 14 mm, beyond the match point."""
    arc = np.array([near, *np.arange(near + 8.0, 276.0, 14.0)]) / 90.0
    round_it = 90.0 * np.column_stack([np.cos(arc), np.sin(arc)])
    base = np.column_stack([np.arange(-78.0, 80.0, 14.0), np.zeros(12)])
    ends = np.vstack([stabs([90.0, 0.0]), stabs([-90.0, 0.0])])
    at = np.vstack([ends, stabs(round_it[0]), round_it[1:], base])
    (said,) = told(_numbered(at))
    assert f"on smoothly at {round_it[0][0]:.0f}, {round_it[0][1]:.0f} mm" in said
    assert said.endswith("--drop 7 --drop 8 --drop 9")
    dropped = np.delete(at, [6, 7, 8], axis=0)
    assert not told(_numbered(dropped))
    assert sorted(run.kind for run in way_round(dropped).runs) == ["curve", "straight"]


@pytest.mark.parametrize("cut", [6.0, 9.0, 13.0])
def test_a_short_edge_between_two_corners_is_no_match_point(cut):
    """A rectangle with one corner cut off at 45 degrees."""
    corners = np.array([[0, 0], [250 - cut, 0], [250, cut], [250, 140], [0, 140]])
    edges = zip(corners, np.roll(corners, -1, axis=0), strict=True)
    inner = [_pricked(*edge) for edge in edges]
    at = np.vstack([*map(stabs, corners), *inner])
    final = _numbered(at)
    assert [len(run.groups) for run in final.way.runs].count(2) == 1
    assert not told(final)
