"""Lettering against the font's own published proportions and Unicode's decompositions."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from plotout.geometry.lettering import text_lines, text_width


def test_capitals_stand_on_the_baseline_and_have_the_height_asked():
    points = np.vstack(text_lines("HEIX", 7.0))  # ISO 3098-1: the nominal size is that of capitals
    assert points[:, 1].min() == pytest.approx(0.0)
    assert points[:, 1].max() == pytest.approx(7.0)
    assert points[:, 0].min() >= 0.0
    assert points[:, 0].max() <= text_width("HEIX", 7.0)


def test_widths_add_and_scale():
    assert text_width("ab", 5) == pytest.approx(text_width("a", 5) + text_width("b", 5))
    assert text_width("ab", 10) == pytest.approx(2 * text_width("ab", 5))
    assert text_width("", 5) == 0.0


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("Crème brûlée", "Creme brulee"),
        ("‘a’ “b” – 5′", "'a' \"b\" - 5'"),
        ("1½ in", "1 1/2 in"),
        ("½", "1/2"),
        ("Łódź ß", "Lodz ss"),
        ("e\u0301", "e"),
        ("two\nlines\tof", "two lines of"),
    ],
)
def test_what_the_font_lacks_is_spelled_plainly(written, read):
    ours, plain = text_lines(written, 5), text_lines(read, 5)
    assert len(ours) == len(plain)
    assert all(np.allclose(a, b) for a, b in zip(ours, plain, strict=True))


@pytest.mark.parametrize("letter", ["漢", "\x00", "\x03", "\x1b", "\x7f", "\u200b", "\u0301", "א"])
def test_what_has_no_plain_spelling_is_a_box(letter):
    (box,) = text_lines(letter, 5)
    assert (box[0] == box[-1]).all()
    assert np.ptp(box[:, 1]) == pytest.approx(5.0)


@given(st.text(max_size=20))
def test_any_text_is_drawn_within_its_width(text):
    lines = text_lines(text, 5.0)
    assert all(line.ndim == 2 and line.shape[1] == 2 and len(line) > 1 for line in lines)
    if lines:
        assert np.vstack(lines)[:, 0].max() <= text_width(text, 5.0) + 1e-9


def test_nobody_can_spoil_the_kept_letters():
    text_lines("A", 5.0)[0][:] = 99.0
    assert np.vstack(text_lines("A", 5.0)).max() < 10.0
