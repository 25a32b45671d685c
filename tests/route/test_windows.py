"""Parts of a ring ordered anew in a window, beside every order of them, and beside no windows."""

from itertools import permutations, product

import numpy as np
import pytest

from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.route import order, windows
from plotout.route.budget import Budget
from plotout.route.cooling import Coolings
from plotout.route.net import fixed_net
from plotout.route.ordering import travel_of


def far(places):
    return float(np.hypot(*np.diff(places, axis=0).T).sum())


def net_of(ends):
    return fixed_net(ends, np.zeros(2), np.zeros((len(ends), 2)), None)


def walk(net, ring):
    """Return the places of a ring from the start to the last node, as it goes on from 0, 0."""
    count = len(ring) - 2
    ring = np.roll(ring, -int(np.flatnonzero(ring == count)[0]))
    return net.at[ring[:-1] if ring[-1] == count + 1 else np.roll(ring[::-1], 1)[:-1]]


@pytest.mark.parametrize("seed", range(4))
def test_the_parts_in_a_window_come_into_the_best_order_of_all(seed):
    rng = np.random.default_rng(seed)
    places = rng.uniform(0.0, 100.0, (30, 2))
    net = net_of(np.stack([places, places], axis=1))
    ring = np.concatenate([[30], np.arange(30), [31]])
    inside = np.array([4, 5, 12, 13, 14, 20, 21, 22])
    parts = windows.opened(ring, net, inside, None)
    assert [part.tolist() for part in parts.parts] == [
        [30, 0, 1, 2, 3, 4],
        [5, 6, 7, 8, 9, 10, 11, 12],
        [13],
        [14, 15, 16, 17, 18, 19, 20],
        [21],
        [22, 23, 24, 25, 26, 27, 28, 29, 31],
    ]
    assert parts.whole(parts.in_order()).tolist() == ring.tolist()
    search = Coolings(Budget(None, None, parts.strokes), parts.strokes, 200, None, 1)
    found, _, _ = search.next(parts.net, parts.in_order(), 1.0)

    first, *inner, last = (net.at[part] for part in parts.parts)
    ways = (
        np.vstack([first, *(p[::-1] if back else p for p, back in zip(some, turned, strict=True))])
        for some in permutations(inner)
        for turned in product((False, True), repeat=len(inner))
    )
    best = min(far(np.vstack([way, last[:-1]])) for way in ways)
    assert far(walk(net, parts.whole(found))) == pytest.approx(best)


def test_every_node_is_in_one_window_of_either_pass():
    places = np.random.default_rng(5).uniform(0.0, (900.0, 100.0), (20_000, 2))
    net = net_of(np.stack([places, places], axis=1))
    for shift in windows.SHIFTS:
        found = windows.windows(net, shift)
        assert np.sort(np.concatenate(found)).tolist() == list(range(20_000))
        assert max(map(len, found)) <= windows._NODES


def test_windows_find_as_short_a_path(monkeypatch):
    rng = np.random.default_rng(6)
    begin = rng.uniform(0.0, 100.0, (400, 2))
    pairs = np.stack([begin, begin + rng.normal(0.0, 8.0, (400, 2))], axis=1)
    strokes = [Stroke(pair, Work.DRAW, Mark.INTERNAL, str(k)) for k, pair in enumerate(pairs)]
    whole = order(strokes)
    monkeypatch.setattr(windows, "_NODES", 100)
    route = order(strokes)
    assert sorted(source for (source,) in route.sources) == list(range(400))
    assert travel_of(route.strokes, (0.0, 0.0)) == pytest.approx(route.travel)
    assert route.travel < 1.03 * whole.travel
    assert route.travel != whole.travel  # or no window was opened
