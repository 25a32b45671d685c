"""A digit that slipped in a run of few pricks: the prick is named, and spoils no other."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from plotout_pricks.outline import outline
from plotout_pricks.table import Pricks, Table

from plotout.geometry.polyline import distances

CORNERS = np.array([[200.0, 0.0], [0.0, 0.0], [0.0, 300.0], [200.0, 300.0]])


def read(pricks):
    """Return the notes, and the length of a side that bows by 7 mm, of pricks along it, (n, 2)."""
    runs = [Pricks("side", "curve", pricks, 2, tuple(range(len(pricks))))]
    for k, name in enumerate(("hem", "fold", "top")):
        points = CORNERS[k] + (CORNERS[k + 1] - CORNERS[k]) * np.linspace(0.05, 0.95, 4)[:, None]
        runs.append(Pricks(name, "straight", points, 20 + 10 * k, tuple(range(4))))
    drawing = outline(Table(tuple(runs), ()), Path("back.csv"), {})
    (side,) = (shape for shape in drawing.shapes if shape.name == "side")
    return drawing.notes, distances(side.points)[-1]


def along(count):
    share = np.linspace(0.0, 1.0, count)
    return np.column_stack([200.0 + 7.0 * np.sin(np.pi * share), 290.0 - 270.0 * share])


@pytest.mark.parametrize("scatter", [0.0, 0.2])
@pytest.mark.parametrize("count", [6, 7, 9, 10, 13, 20])
def test_a_lost_decimal_place_is_named_and_not_put_in_another_place(count, scatter):
    """20.7 for 207 in the middle. Reference: the same pricks without that one."""
    pricks, middle = along(count), count // 2
    pricks += np.random.default_rng(3).normal(0.0, scatter, pricks.shape)
    pricks[middle, 0] /= 10.0
    notes, found = read(pricks)
    _, without = read(np.delete(pricks, middle, axis=0))
    named = [note for note in notes if "mm off; left out" in note]
    assert len(named) == 1
    assert named[0].startswith(f"prick {middle + 1} of 'side' lies 18")
    assert f"its x is {pricks[middle, 0]:g}. Beside it x is about 20" in named[0]
    assert not [note for note in notes if "out of order" in note]
    assert found == pytest.approx(without, abs=1e-6)


def test_a_prick_far_past_all_others_is_no_slip():
    pricks = np.vstack([along(24)[:14], along(24)[-1:]])
    notes, _ = read(pricks)
    assert not [note for note in notes if "left out" in note]


@pytest.mark.parametrize("count", [6, 9, 13])
def test_pricks_listed_in_another_order_are_still_put_right(count):
    pricks, (_, true) = along(count), read(along(count))
    order = [0, 2, 1, *range(3, count)]
    notes, found = read(pricks[order])
    assert [note for note in notes if "out of order; put right" in note]
    assert found == pytest.approx(true, abs=0.01)
