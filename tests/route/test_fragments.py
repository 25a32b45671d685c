"""Fragments are checked against Kruskal's rule, paths through rows against a spanning tree."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse.csgraph import minimum_spanning_tree

from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.route import order
from plotout.route.budget import Budget
from plotout.route.fragments import fragments
from plotout.route.net import fixed_net
from plotout.route.path import shortest

coordinate = st.floats(0, 100).map(lambda value: round(value, 1))
pair = st.tuples(coordinate, coordinate)
few_places = st.tuples(st.sampled_from([0.0, 1.0]), st.just(0.0))  # many in one place
both_ends = st.one_of(st.tuples(pair, pair), pair.map(lambda at: (at, at)),
                      few_places.map(lambda at: (at, at)))  # fmt: skip


def kruskal(net):
    """Pairs of linked nodes: the shortest first, at most two per node and no ring of them."""
    count = len(net.at) - 2
    sides = {k: {int(net.mate[k])} if net.mate[k] >= 0 else set() for k in range(count)}

    def reached(k):
        seen, new = set(), {k}
        while new:
            seen |= new
            new = set().union(*(sides[a] for a in new)) - seen
        return seen

    for place in np.argsort(net.far[:count, :5], axis=None, kind="stable").tolist():
        a, b = place // min(5, net.far.shape[1]), int(net.near[:, :5].ravel()[place])
        if b < count and len(sides[a]) < 2 and len(sides[b]) < 2 and b not in reached(a):
            sides[a].add(b)
            sides[b].add(a)
    return {frozenset((a, b)) for a, others in sides.items() for b in others}


@settings(max_examples=60, deadline=None)
@given(st.lists(both_ends, min_size=1, max_size=30))
def test_fragments_hold_all_nodes_and_the_shortest_links(strokes):
    ends = np.array(strokes, dtype=np.float64)
    net = fixed_net(ends, np.zeros(2), np.zeros((len(ends), 2)), None)
    nodes, first = fragments(net)
    assert sorted(nodes.tolist()) == list(range(len(net.at) - 2))
    parts = [nodes[a:b].tolist() for a, b in pairwise(first)]
    links = {frozenset(two) for part in parts for two in pairwise(part)}
    assert links == kruskal(net)


@settings(max_examples=60, deadline=None)
@given(st.lists(both_ends, min_size=1, max_size=40), st.integers(1, 3))
def test_every_stroke_is_in_the_path_once(strokes, seed):
    ends = np.array(strokes, dtype=np.float64)
    beyond = np.hypot(*(ends - 50.0).transpose(2, 0, 1))
    places, turned = shortest(ends, np.zeros(2), beyond, None, Budget(None, None, len(ends)), seed)
    assert sorted(places.tolist()) == list(range(len(ends)))
    assert turned.shape == (len(ends),)


@pytest.mark.parametrize("seed", [1, 3, 5])
def test_rows_of_holes_are_near_their_spanning_tree(seed):
    """No path is shorter than the tree (R. Prim 1957), here from scipy."""
    rng = np.random.default_rng(seed)
    begin = rng.uniform(0, 950, (50, 1, 2))
    step = np.where(rng.random((50, 1, 1)) < 0.8, [[[2.0, 0.0]]], [[[0.0, 2.0]]])
    places = (begin + step * np.arange(20)[None, :, None]).reshape(-1, 2)
    from_start = np.vstack([np.zeros((1, 2)), places])
    far = np.hypot(*(from_start[:, None] - from_start[None]).transpose(2, 0, 1))
    tree = float(minimum_spanning_tree(far).sum())
    holes = [Stroke(place[None], Work.PUNCH, Mark.DRILL) for place in places]
    assert tree <= order(holes).travel <= 1.14 * tree
