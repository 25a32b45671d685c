"""A name that can't be drawn is told before anything is made of it."""

from dataclasses import replace

import numpy as np
import pytest
from garments import a_front, a_set, rectangle
from shapely import LineString, Polygon

from plotout import UserError
from plotout.finish import finish
from plotout.geometry.lettering import text_lines, undrawable
from plotout.geometry.strokes import Mark


def test_a_name_without_a_font_is_refused_by_its_letters():
    named = replace(a_front(), name="Bib \ue000")
    with pytest.raises(UserError) as refused:
        finish(a_set(named))
    assert "can't be drawn" in str(refused.value)


def test_a_small_card_keeps_its_number_where_that_has_room():
    """Of 65 by 55 mm, without room for all of its words: some go before its number."""
    (card, *_) = finish(a_set(rectangle("Tab", 40.0, 30.0)))
    (lost,) = (text for text in card.warnings if "no room for" in text)
    assert "allowance" in lost
    assert "card 1" not in lost


@pytest.mark.skipif(bool(undrawable("前身頃")), reason="no font here for Japanese")
def test_a_name_in_japanese_is_on_its_card():
    (card, *_) = finish(a_set(replace(a_front(), name="前身頃")))
    assert card.title == "前身頃"
    assert not any("no room" in text for text in card.warnings)


@pytest.mark.parametrize("degrees", [0.0, 30.0, 45.0, 120.0])
def test_an_oblique_strip_keeps_its_words(degrees):
    """Of 60 mm by 420: upright across it there is no room for them, along it there is (GEOS)."""
    strip = rectangle("Bias strip", 400.0, 40.0, 10.0)
    angle = np.radians(degrees)
    grain = np.array([200.0, 20.0]) + np.outer([-18.0, 18.0], [np.cos(angle), np.sin(angle)])
    (card, *_) = finish(a_set(replace(strip, grain=grain)))
    assert not [text for text in card.warnings if "room" in text]
    words = [LineString(s.points) for s in card.strokes if s.mark is Mark.LETTERING]
    assert len(words) > 40
    assert all(Polygon(card.outline).contains(word) for word in words)


def stands_level(card, words, height):
    """Return whether words are drawn on a card as letters are that stand upright on it."""
    wanted = [line - line[0] for line in text_lines(words, height)]
    drawn = [s.points - s.points[0] for s in card.strokes if s.mark is Mark.LETTERING]
    return all(
        any(len(own) == len(line) and np.allclose(own, line, atol=0.01) for own in drawn)
        for line in wanted
    )


@pytest.mark.parametrize("wide", [60.0, 85.0, 150.0, 400.0])
@pytest.mark.parametrize("degrees", [90.0, 0.0, 37.0])
def test_a_card_is_lettered_upright_as_it_hangs(wide, degrees):
    """A card hangs with its grain upright. Beside a grain line through the middle of a card of 85
    mm there is no room, above or below a shorter one there is.
    """
    angle = np.radians(degrees)
    turn = np.array([[np.sin(angle), -np.cos(angle)], [np.cos(angle), np.sin(angle)]])
    piece = rectangle("Panel", wide, 450.0)
    edges = tuple(replace(edge, points=edge.points @ turn.T) for edge in piece.edges)
    grain = np.array([[wide / 2.0, 20.0], [wide / 2.0, 430.0]]) @ turn.T
    (card, *_) = finish(a_set(replace(piece, edges=edges, grain=grain)))
    assert stands_level(card, "Panel", 7.0)
    assert any(stroke.mark is Mark.GRAIN for stroke in card.strokes)
    assert not [text for text in card.warnings if "no room for" in text]


def test_a_strip_too_narrow_for_upright_words_has_them_along_it():
    (card, *_) = finish(
        a_set(rectangle("Tie", 20.0, 600.0, grain=np.array([[10, 50], [10, 550.0]])))
    )
    assert not stands_level(card, "Tie", 7.0)
    assert not [text for text in card.warnings if "no room for" in text]
