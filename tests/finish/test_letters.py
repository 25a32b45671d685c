"""A name that can't be drawn is told before anything is made of it."""

from dataclasses import replace

import pytest

from plotout import UserError
from plotout.finish import finish
from plotout.geometry.lettering import undrawable

from .conftest import a_front, a_set, rectangle


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
