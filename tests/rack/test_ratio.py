"""Lays of several sizes, by sums by hand."""

import numpy as np
import pytest

from plotout import UserError
from plotout.pattern.model import Area, Cut, Edge, PatternSet, Piece
from plotout.rack.cloth import need
from plotout.rack.cloth_pieces import Cloth
from plotout.rack.ratio import combined, read_ratio


def square(size, side):
    corners = np.array([[0, 0], [side, 0], [side, side], [0, side], [0, 0]], float)
    names = ("foot", "right", "top", "left")
    edges = tuple(Edge(n, corners[k : k + 2], (0.0, 0.0)) for k, n in enumerate(names))
    fusing = Area("fusing", corners / 2.0)
    piece = Piece("Square", edges, cuts=(Cut("self"),), areas=(fusing,))
    return PatternSet("Squares", "SQ-1", size, "", (piece,))


def test_a_ratio_is_sizes_and_numbers():
    assert read_ratio("S:1, M:2,3/4:10") == {"S": 1, "M": 2, "3/4": 10}


@pytest.mark.parametrize("text", ["", "S", "S:", "S:0", "S:1,S:2", "S:-1", "S:1;M:2", "S:9999999"])
def test_anything_else_is_refused(text):
    with pytest.raises(UserError):
        read_ratio(text)


def test_so_many_garments_take_so_many_pieces():
    """Squares without allowance, one a garment, in a row on cloth as wide as the largest."""
    sets = {size: square(size, side) for size, side in (("S", 180.0), ("L", 200.0))}
    both = combined(sets, {"S": 2, "L": 1})
    assert [(piece.name, piece.cuts[0].count) for piece in both.pieces] == [
        ("Square, size S", 2),
        ("Square fusing, size S", 2),
        ("Square, size L", 1),
        ("Square fusing, size L", 1),
    ]
    found = need(both, Cloth("self", 200.0, gap=0.0), seconds=0.0)
    assert found.pieces == 3
    assert need(both, Cloth("fusing", 200.0), seconds=0.0).pieces == 3
    assert found.length == pytest.approx(2 * 180.0 + 200.0, abs=1.0)
