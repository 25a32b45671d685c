"""Cards of a graded set: lettered with their size, whole, and looked at in every size."""

import numpy as np
import pytest
from shapely.geometry import Polygon, box

from plotout.finish import finish
from plotout.finish.wording import blocks
from plotout.geometry.strokes import Mark
from plotout.pattern import setfile
from plotout.pattern.assemble import read_drawings
from plotout.review.size_review import review_sizes
from plotout.review.whole_set import review, with_cards
from plotout.tables import parse_toml

HEAD = """[set]
name = "Apron"
style = "AP-1"
[defaults]
allowance = 10
[sizes]
base = "M"
range = ["S", "M", "L", "XL"]
"""
# a slit, 40 mm wide and 80 mm deep, that is 13 mm narrower in every size
SLIT = """[[piece]]
name = "Front"
points = [[0, 0], [90, 0], [90, 80], [130, 80], [130, 0], [220, 0], [220, 200], [0, 200]]
edges = ["foot", "slit left", "slit end", "slit right", "foot right", "right", "top", "left"]
grain = { from = [40, 40], to = [40, 160] }
cut = [{ cloth = "self" }]
grade = [
  { corner = ["foot", "slit left"], x = 6.5 }, { corner = ["slit left", "slit end"], x = 6.5 },
  { corner = ["slit end", "slit right"], x = -6.5 },
  { corner = ["slit right", "foot right"], x = -6.5 },
]
"""


def read(text):
    made = setfile.of(parse_toml(HEAD + text, "set file"))
    return read_drawings(setfile.check_growth(made), lambda *_: None)


def reviewed(whole):
    sets = whole.in_sizes(whole.sizes)
    base = with_cards(review(sets[whole.base]), sets[whole.base])
    return base, review_sizes(whole.sizes, whole.base, base, sets)


def test_a_slit_that_its_allowances_fill_is_named_with_the_size_where_they_do():
    """By hand: 40 - 2 x 13 mm is less than twice the allowance of 10 mm, 40 - 13 mm is not."""
    base, sized = reviewed(read(SLIT))
    assert not base.faults
    (fault,) = sized.faults
    assert fault.startswith("Front in size XL: the allowances beside 'slit left' and 'slit end'")
    (card, *_) = finish(read(SLIT).in_size("XL"))
    assert any("fill the gap" in fault for fault in card.faults)
    drawn = Polygon(read(SLIT).in_size("XL").pieces[0].outline)
    wide = drawn.buffer(10, join_style="mitre")  # shapely's own allowance has no slit either
    assert wide.equals(Polygon(card.outline))
    assert wide.equals(box(-10, -10, 230, 210))


def test_what_cards_of_other_sizes_have_to_be_told_is_told_once_with_the_sizes():
    _, sized = reviewed(read(SLIT))
    assert [note for note in sized.notes if "'foot'" in note] == [
        "Front in size XL: the seam notch at the end of 'foot' is left out: it would not lie in "
        "the allowance at that corner"
    ]


@pytest.mark.parametrize("side", [30, 18, 9])
def test_the_smallest_card_still_shows_its_size(side):
    """The card is the same in S and M but for its lettering, which differs."""
    text = f'[[piece]]\nname = "Tab"\nrectangle = [{side}, {side}]\nallowance = 4\n'
    whole = read(text + 'grain = { along = "left" }\ncut = [{ cloth = "self", count = 12 }]\n')
    cards = [finish(whole.in_size(size))[0] for size in "SM"]
    assert np.array_equal(cards[0].outline, cards[1].outline)
    letters = [
        [stroke.points.tolist() for stroke in card.strokes if stroke.mark is Mark.LETTERING]
        for card in cards
    ]
    by_hand = [f"write its size on it by hand: {size}" for size in "SM"]
    told = [" ".join(card.warnings) for card in cards]
    alike = letters[0] == letters[1]
    assert not alike or all(words in text for words, text in zip(by_hand, told, strict=True))
    if side > 9:
        assert not alike


def test_a_size_is_the_last_that_is_left_out():
    whole = read('[[piece]]\nname = "Tab"\nrectangle = [30, 12]\ncut = [{ cloth = "self" }]\n')
    card_set = whole.in_size("XL")

    class Card:
        orders, laying, words, parts = ("cut 1 self",), (), (), 1
        facts = ("right side up",)

    assert all("size XL" in " ".join(tier) for tier in blocks(Card, card_set, "Tab", 1, 2))


def test_a_split_keeps_its_direction():
    """Square to the grain in every size, though one side of the piece grows more than the other."""
    more = '[[piece]]\nname = "Bib"\npoints = [[0, 0], [200, 0], [200, 300], [0, 300]]\n'
    more += 'edges = ["foot", "right", "top", "left"]\ncut = [{ cloth = "self" }]\n'
    more += "split = [{ line = [[-50, 150], [300, 150]] }]\n"
    more += 'grade = [{ corner = ["right", "top"], y = 30 }]\n'
    whole = read(more)
    ((x1, y1), (x2, y2)) = whole.in_size("XL").pieces[0].splits[0].line
    assert y1 == pytest.approx(y2, abs=1e-9)
    assert x2 - x1 == pytest.approx(350)
    # the left side stays; of the right one, half lies below: its middle rises by half of 60 mm
    assert y1 == pytest.approx(150 + 60 / 4, abs=1)
