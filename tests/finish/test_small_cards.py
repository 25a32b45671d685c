"""The style, the date and the version on small and narrow cards.

A word is on a card if another of its digits, as wide, has the card have as many strokes more as
that digit has (Hershey's letters); where it may lie is plane geometry by shapely.
"""

from dataclasses import replace

import numpy as np
import pytest
from garments import a_set, edge, rectangle
from shapely import LineString, MultiLineString, Polygon

from plotout.finish import finish
from plotout.geometry.lettering import text_lines, text_width
from plotout.geometry.strokes import Mark

NARROW = [
    (8, 160),
    (12, 160),
    (18, 80),
    (25, 80),
    (35, 80),
    (8, 400),
    (50, 40),
]  # without 2 x 10 mm
TRIANGLE = "triangle"


def strip(wide, tall):
    grain = np.array([[wide / 2.0, 5.0], [wide / 2.0, tall - 5.0]])
    return rectangle(f"Strip {wide} by {tall}", wide, tall, 10.0, grain=grain)


def tri():
    corners = [[0.0, 0.0], [60.0, 0.0], [30.0, 60.0], [0.0, 0.0]]
    edges = tuple(edge(name, corners[k : k + 2], 10.0) for k, name in enumerate("abc"))
    grain = np.array([[30.0, 5.0], [30.0, 36.0]])
    return replace(strip(60, 60), name="Tab", edges=edges, grain=grain)


def card_of(piece, **more):
    made = replace(a_set(piece, sizes=("S", "M"), version="3"), **more)
    return finish(made)[0]


def strokes(card):
    return [LineString(s.points) for s in card.strokes if s.mark is Mark.LETTERING]


@pytest.mark.parametrize("piece", [*(strip(*size) for size in NARROW), tri()])
def test_a_narrow_card_has_its_style_its_size_its_date_and_its_version(piece):
    """A 4 instead of a 1 in any of them is so many strokes more."""
    words = {"style": "BK-0{}", "version": "{}", "date": "2026-01-0{}", "size": "{}"}
    assert text_width("1", 5.0) == text_width("4", 5.0)
    ones = {field: word.format(1) for field, word in words.items()}
    card = card_of(piece, **ones)
    more = len(text_lines("4", 5.0)) - len(text_lines("1", 5.0))
    assert more > 0
    for field, word in words.items():
        four = card_of(piece, **ones | {field: word.format(4)})
        assert len(strokes(four)) - len(strokes(card)) == more, field
    assert not [text for text in card.warnings if "2026" in text or "style" in text]


@pytest.mark.parametrize("piece", [*(strip(*size) for size in NARROW), tri(), strip(12, 60)])
def test_its_words_lie_on_the_card_and_off_all_marks(piece):
    card = card_of(piece)
    words = MultiLineString(strokes(card))
    cut = Polygon(card.outline)
    assert cut.contains(words)
    assert cut.exterior.distance(words) >= 0.8
    marks = [s for s in card.strokes if s.mark not in (Mark.LETTERING, Mark.OUTLINE, Mark.HOLE)]
    assert min(words.distance(LineString(s.points)) for s in marks) >= 0.8
    hole = next(s for s in card.strokes if s.mark is Mark.HOLE)
    x, y = hole.points[0]
    assert words.distance(LineString([(x, y), (x, y)])) >= hole.size / 2.0 + 0.8


def test_what_is_left_out_of_the_smallest_card_is_told():
    card = card_of(strip(8, 40))
    (lost,) = (text for text in card.warnings if "no room for:" in text)
    assert "style BK-01" in lost
    assert "2026-04-11, version 3" in lost


def test_words_apart_are_not_read_on_from_each_other():
    """The date stands in a block of its own, at least as far from any other word as two words of
    one line, 2.5 mm at 3.5 mm of height.
    """
    card = card_of(strip(35, 80), sizes=())
    without = card_of(strip(35, 80), sizes=(), date="", version="")
    before, now = strokes(without), strokes(card)
    block = [s for s in now if any(s.equals_exact(old, 1e-6) for old in before)]
    added = [s for s in now if s not in block]  # and a word along an edge that makes way for it
    assert len(block) > 30
    assert len(added) > 20
    assert MultiLineString(added).distance(MultiLineString(block)) >= 2.5
