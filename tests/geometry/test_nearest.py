"""Nearest points and clusters; reference: scipy's tree of points and its parts of graphs."""

import numpy as np
import pytest
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import KDTree

from plotout.geometry.nearest import clusters, connected, nearest


def in_rows(rng, count, axes=2):
    """Places in a few columns and rows and at random, many of them twice."""
    places = rng.uniform(0.0, 100.0, (count, axes))
    places[::3, 0] = places[::3, 0].round(-1)
    places[::4, 1] = 5.0
    places[::5] = places[0]
    return places + rng.uniform(-1e-7, 1e-7, places.shape)


def same_parts(one, other):
    """Whether two numberings are of the same parts."""
    return len(set(zip(one, other, strict=True))) == len(set(one)) == len(set(other))


@pytest.mark.parametrize("norm", [2.0, np.inf])
@pytest.mark.parametrize(("points", "count"), [(1, 1), (40, 40), (500, 1), (700, 30)])
def test_the_nearest_points_are_those_of_a_tree(points, count, norm):
    rng = np.random.default_rng(points + count)
    among, places = in_rows(rng, points), in_rows(rng, 300)
    _, expected = KDTree(among).query(places, k=np.arange(1, count + 1), p=norm)
    assert nearest(places, among, count, independent=norm > 2.0).tolist() == expected.tolist()


@pytest.mark.parametrize("norm", [2.0, np.inf])
def test_points_that_are_not_within_reach_are_none(norm):
    rng = np.random.default_rng(8)
    among, places = rng.uniform(0.0, 9.0, (60, 7)), rng.uniform(0.0, 9.0, (90, 7))
    how = {"p": norm, "distance_upper_bound": 3.0}
    _, expected = KDTree(among).query(places, k=[1, 2, 3], **how)
    found = nearest(places, among, 3, independent=norm > 2.0, within=3.0)
    assert np.where(found < 0, len(among), found).tolist() == expected.tolist()
    assert 0 < (found < 0).sum() < found.size
    assert nearest(places, among[:0], 2).tolist() == [[-1, -1]] * 90


@pytest.mark.parametrize("tolerance", [0.2, 2.0, 9.0])
def test_clusters_are_chains_of_near_points(tolerance):
    points = in_rows(np.random.default_rng(3), 400, axes=3)
    pairs = KDTree(points).query_pairs(tolerance, output_type="ndarray")
    graph = coo_array((np.ones(len(pairs)), pairs.T), shape=(400, 400))
    expected = connected_components(graph, directed=False)[1].tolist()
    assert 1 < len(set(expected)) < 400
    assert same_parts(clusters(points, tolerance).tolist(), expected)
    assert clusters(points[:0], tolerance).tolist() == []


def test_connected_parts_are_those_of_a_graph():
    pairs = np.random.default_rng(2).integers(0, 300, (200, 2))
    graph = coo_array((np.ones(200), pairs.T), shape=(pairs.max() + 1,) * 2)
    expected = connected_components(graph, directed=False)[1].tolist()
    assert same_parts(connected(pairs).tolist(), expected)
