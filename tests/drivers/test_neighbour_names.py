"""Names of neighbouring pages beside match marks: off the cards, by shapely; nothing is cut off.

A name is at most 12 mm wide and 2.5 mm high (asked of the paper, as is seen here). Invented cards.
"""

from __future__ import annotations

from contextlib import nullcontext

import numpy as np
import pytest
import shapely
from plotout_pdf.furniture import frame

from plotout.kit import tile_plan

EVERYWHERE = shapely.box(0.0, 0.0, 400.0, 560.0)


class Paper:
    """Takes down what is written and where."""

    def __init__(self):
        self.boxes = []

    def text(self, text, x, y, height, *, anchor, room):
        assert (anchor, height) == ("middle", 2.5)
        half = min(room, height * len(text)) / 2.0
        self.boxes.append(shapely.box(x - half, y, x + half, y + height))

    def layer(self, _name):
        return nullcontext()

    def pen(self, *_given, **_more):
        pass

    def line(self, points):
        pass


def names(cards):
    lines = [np.array([[0.0, 0.0], [400.0, 560.0]]), np.array([[0.0, 560.0], [400.0, 0.0]])]
    plan = tile_plan(400.0, 560.0, lines, page=(210.0, 297.0), style="lap", bodies=(EVERYWHERE,))
    paper = Paper()
    for tile in plan.printed:
        frame(paper, "", plan, tile, tuple(cards))
    return paper.boxes


@pytest.mark.parametrize("seed", range(6))
def test_no_name_lies_on_a_card(seed):
    free = names(())
    low = np.random.default_rng(seed).uniform(0.0, (340.0, 500.0), (60, 2))
    cards = [shapely.box(x, y, x + 36.0, y + 22.0) for x, y in low.tolist()]
    kept = names(cards)
    covered = shapely.union_all(cards)
    assert any(covered.intersects(each) for each in free)  # where they stood they would
    assert 0 < len(kept) <= len(free)
    assert not any(covered.intersects(each) for each in kept)


def test_a_card_over_everything_leaves_no_name():
    assert names((shapely.box(-1000.0, -1000.0, 2000.0, 2000.0),)) == []
