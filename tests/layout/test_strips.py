"""What later engines are given: blocks and loose cards make up the lay. Reference: GEOS."""

import time
from itertools import combinations

import numpy as np
import pytest
import shapely
import shapely.affinity

from plotout.layout.nesting.engine import Found, Task
from plotout.layout.nesting.strip import _End, _Search

HEIGHT = 60.0


def laid(seed):
    """A search whose best lay is random triangles, one in each cell of 20 mm."""
    rng = np.random.default_rng(seed)
    outlines = [shapely.Polygon(rng.uniform(1.0, 19.0, (3, 2))) for _ in range(30)]
    search = _Search(outlines, (0.0, 180.0), HEIGHT, seed, time.monotonic() + 60.0)
    task = next(search.tasks())
    assert len(task.polygons) == 30
    spots = tuple((n, 0.0, 20.0 * (n // 3), 20.0 * (n % 3)) for n in range(30))
    search.length, search.places = 200.0, search.places_of(task, Found(200.0, spots))
    return search


def placed(search):
    return [
        shapely.affinity.translate(shapely.affinity.rotate(outline, angle, (0, 0)), x, y)
        for outline, (angle, x, y) in zip(search.outlines, search.places, strict=True)
    ]


@pytest.mark.parametrize("seed", range(4))
def test_blocks_and_loose_cards_are_the_lay(seed):
    search = laid(seed)
    shapes, rng = placed(search), np.random.default_rng(seed)
    some = 0
    for _ in range(20):
        loose, blocks = search._shaken(rng)
        held = [card for block in blocks for card in block.cards]
        assert sorted(loose + held) == list(range(30))
        for block in blocks:
            some += 1
            covered = shapely.union_all([shapes[card] for card in block.cards])
            assert covered.difference(block.shape).area < 1.0
            assert all(shapes[card].intersection(block.shape).area < 1e-6 for card in loose)
    assert some


def test_cards_of_a_block_move_with_it():
    search = laid(1)
    before = placed(search)
    rng = np.random.default_rng(1)
    while not (made := search._shaken(rng))[1]:
        pass
    loose, blocks = made
    search._made[7] = loose, blocks, search.places
    task = Task(HEIGHT, [], [], 1, 7, 1)
    spots = [(n, *search.places[card]) for n, card in enumerate(loose)]
    spots += [(len(loose) + n, 0.0, 5.0, 0.0) for n in range(len(blocks))]
    search.places = search.places_of(task, Found(190.0, tuple(spots)))
    for card, (old, new) in enumerate(zip(before, placed(search), strict=True)):
        move = np.subtract(new.centroid.coords[0], old.centroid.coords[0])
        assert np.allclose(move, (0.0 if card in loose else 5.0, 0.0))


def test_where_no_card_is_left_loose_there_is_no_block():
    search = laid(2)
    assert search._block(placed(search), list(range(30)), right=False) is None
    search.places[:] = [(0.0, 0.0, 0.0)] * 30  # all at the strip's start: often all lie before
    for seed in range(40):
        loose, _ = search._shaken(np.random.default_rng(seed))
        assert loose


def test_lays_are_closed_up_in_the_end():
    """The triangles stand 1 mm and more apart in their cells of 20 mm."""
    search = laid(3)
    search.ends[3] = _End(200.0, search.places)
    (places,) = search.closed_up()
    search.places = places
    closed = placed(search)
    assert shapely.bounds(closed)[:, 2].max() < 190.0
    assert sum(one.intersection(two).area for one, two in combinations(closed, 2)) == 0.0
