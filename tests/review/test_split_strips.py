"""A split that cuts off a strip: the depths are differences of the y that are typed here."""

import pytest
from garments import rectangle

from plotout.pattern.model import Split
from plotout.pattern.settings import Defaults
from plotout.review.part_doubts import part_doubts


def asked(*line):
    split = Split(tuple(tuple(map(float, point)) for point in line) or None)
    piece = rectangle("Skirt", 300.0, 700.0, splits=(split,))
    return [note for note in part_doubts(piece, Defaults()) if "split" in note]


@pytest.mark.parametrize(
    ("line", "deep", "edge"),
    [
        ([(0, 5), (300, 5)], "5", "foot"),
        ([(300, 5), (0, 5)], "5", "foot"),
        ([(0, 10), (300, 20)], "20", "foot"),  # at its deeper end, very nearly
        ([(0, 688), (300, 688)], "12", "top"),
        ([(290, 0), (290, 700)], "10", "right"),
    ],
)
def test_one_beside_an_edge_is_asked_about(line, deep, edge):
    (note,) = asked(*line)
    assert note == (
        f"its split cuts off a strip of only {deep} mm along '{edge}': is its line right?"
    )


@pytest.mark.parametrize("line", [[(0, 350), (300, 350)], [(0, 26), (300, 26)], []])
def test_one_that_leaves_two_cards_is_not(line):
    assert asked(*line) == []


@pytest.mark.parametrize(
    ("line", "edge"), [([(0, 0), (300, 0)], "foot"), ([(302, 0), (302, 700)], "right")]
)
def test_one_that_cuts_off_allowance_alone_is_asked_about(line, edge):
    (note,) = asked(*line)
    assert note == (f"its split cuts off nothing but allowance along '{edge}': is its line right?")
