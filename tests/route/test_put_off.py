"""The search with free starts and precedence: what it gains and keeps, by definition.

Lengths are summed anew here, from places alone (Pythagoras).
"""

from __future__ import annotations

import numpy as np
import pytest

from plotout.route.cooling import Coolings
from plotout.route.free import free_net, read, ring_of
from plotout.route.options import options_of
from plotout.route.search import laid_out, shortened

START = np.array([3.0, -2.0])


def mixed(seed):
    """Squares in one another, with slits inside some: ends, contours, what comes after."""
    rng = np.random.default_rng(seed)
    ends, contours, after = [], [], []
    for _ in range(6):
        low, outer = rng.uniform(0, 300, 2), -1
        for depth in range(int(rng.integers(1, 4))):
            corners = np.array([[0, 0], [40, 0], [40, 40], [0, 40], [0, 0]]) * (1 - depth / 4)
            ring = low + 5.0 * depth + corners
            contours.append(ring)
            ends.append(ring[[0, 0]])
            after.append(outer)
            outer = len(ends) - 1
        for _ in range(int(rng.integers(0, 4))):
            contours.append(None)
            ends.append(low + rng.uniform(15, 25, (2, 2)))
            after.append(outer)
    return np.array(ends), contours, np.array(after, dtype=np.int64)


def net_of(seed):
    ends, contours, after = mixed(seed)
    options = options_of(ends, contours, START, np.full(len(ends), 10.0))
    net = free_net(ends, options, after, START, np.zeros(len(options.ends)), None)
    places = [k for k in range(len(ends)) if contours[k] is None]
    places += [k for k in range(len(ends) - 1, -1, -1) if contours[k] is not None]
    places = np.array(places)
    return ends, contours, after, net, ring_of(places, ends[places], net)


def travel(pairs):
    at = np.vstack([START[None], pairs[:-1, 1]])
    return float(np.hypot(*(pairs[:, 0] - at).T).sum())


@pytest.mark.parametrize("seed", range(8))
def test_the_gain_is_what_the_travel_lost_and_inner_ones_come_first(seed):
    ends, contours, after, net, ring = net_of(seed)
    now, desk = laid_out(ring, net.first)
    state = np.array([seed + 1], dtype=np.uint64)
    before = travel(read(now.nodes.astype(np.int64), net, net.at, ends)[1])
    for kicks in (0, 20, 50):
        gain = shortened(net, now, 1000, kicks, 5.0, state, desk)
        places, pairs = read(now.nodes.astype(np.int64), net, net.at, ends)
        assert before - travel(pairs) == pytest.approx(gain, abs=1e-6)
        before = travel(pairs)
        assert sorted(places) == list(range(len(ends)))
        place = np.argsort(places)
        held = after >= 0
        assert (place[after[held]] > place[held]).all()
        for k, pair in zip(places, pairs, strict=True):
            if contours[k] is None:
                assert (pair == ends[k]).all() or (pair == ends[k][::-1]).all()
            else:
                assert (pair[0] == pair[1]).all()
                assert _off(contours[k], pair[0]) < 1e-9


def _off(contour, point):
    """Distance of a point from a square's sides, which run along the axes."""
    low, high = contour.min(axis=0), contour.max(axis=0)
    return float(np.minimum(np.abs(point - low), np.abs(point - high)).min())


class Few:
    """A budget that yields two shares."""

    asked, stopped = False, False

    def shares(self, strokes, usual, at_once):
        return iter([at_once, at_once])


def test_a_cooling_returns_the_best_it_saw():
    ends, _, _, net, ring = net_of(3)
    before = travel(read(ring, net, net.at, ends)[1])
    best, at, more = Coolings(Few(), len(ends), 500, None, 1).next(net, ring, 1.0)
    assert not more
    assert travel(read(best, net, at, ends)[1]) < before
