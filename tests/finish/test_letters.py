"""A name that can't be drawn is told before anything is made of it."""

from dataclasses import replace

import pytest

from plotout import UserError
from plotout.finish import finish
from plotout.geometry.lettering import undrawable

from .conftest import a_front, a_set


def test_a_name_without_a_font_is_refused_by_its_letters():
    named = replace(a_front(), name="Bib \ue000")
    with pytest.raises(UserError) as refused:
        finish(a_set(named))
    assert "can't be drawn" in str(refused.value)


@pytest.mark.skipif(bool(undrawable("前身頃")), reason="no font here for Japanese")
def test_a_name_in_japanese_is_on_its_card():
    (card, *_) = finish(a_set(replace(a_front(), name="前身頃")))
    assert card.title == "前身頃"
    assert not any("no room" in text for text in card.warnings)
