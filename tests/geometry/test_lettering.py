"""Lettering against the font's own published proportions, Unicode's decompositions and UAX #9."""

import unicodedata

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from shapely import LineString, Polygon
from shapely.ops import unary_union

from plotout import UserError
from plotout.geometry.lettering import text_lines, text_width, undrawable, wrapped
from plotout.geometry.lettering.runs import text_runs


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
        ("‘a’ “b” – 5′", "'a' \"b\" - 5'"),
        ("1½ in", "1 1/2 in"),
        ("½", "1/2"),
        ("e\u0301", "é"),
        ("ｆｕｌｌ", "full"),
        ("two\nlines\tof", "two lines of"),
        ("№ 1", "No 1"),
    ],
)
def test_what_the_font_lacks_is_spelled_plainly(written, read):
    ours, plain = text_lines(written, 5), text_lines(read, 5)
    assert len(ours) == len(plain)
    assert all(np.allclose(a, b) for a, b in zip(ours, plain, strict=True))


@pytest.mark.parametrize("letter", ["\x00", "\x03", "\x1b", "\x7f", "\ue000"])
def test_what_no_font_draws_is_a_box_and_named(letter):
    (box,) = text_lines(letter, 5)
    assert (box[0] == box[-1]).all()
    assert np.ptp(box[:, 1]) == pytest.approx(5.0)
    assert undrawable(f"a{letter}b{letter}") == letter


@pytest.mark.parametrize("text", ["Ärmel", "Crème brûlée", "Łódź", "Ελλάδα ΐ ς", "Ёж, объём, эхо"])
def test_latin_greek_and_cyrillic_need_no_other_font(text, monkeypatch):
    monkeypatch.setenv("PATH", "")
    assert undrawable(text) == ""
    bare = "".join(c for c in unicodedata.normalize("NFD", text) if not unicodedata.combining(c))
    accents = len(unicodedata.normalize("NFD", text)) - len(bare)
    assert len(text_lines(text, 5)) >= len(text_lines(bare, 5)) + accents


def test_accents_stand_over_their_letter_and_i_loses_its_dot():
    plain, accented = text_lines("E", 10), text_lines("É", 10)
    (extra,) = accented[len(plain) :]
    assert extra[:, 1].min() > 10.0
    assert 0.0 < extra[:, 0].mean() < text_width("E", 10)
    assert len(text_lines("í", 10)) == len(text_lines("i", 10))  # an accent for a dot


ARABIC, HEBREW, JAPANESE, HINDI = "كم أمامي", "שרוול", "前身頃", "बाँह"
fonts = pytest.mark.skipif(
    any(undrawable(text) for text in (ARABIC, HEBREW, JAPANESE, HINDI)),
    reason="no font here for these scripts",
)


@fonts
@pytest.mark.parametrize("text", [ARABIC, HEBREW, JAPANESE, HINDI])
def test_other_scripts_are_closed_outlines_within_their_width(text):
    lines = text_lines(text, 5.0)
    assert lines
    assert all((line[0] == line[-1]).all() for line in lines)
    every = np.vstack(lines)
    assert every[:, 0].min() > -1.0
    assert every[:, 0].max() < text_width(text, 5.0) + 1.0


@fonts
def test_hebrew_reads_from_the_right_and_its_number_from_the_left():
    """UAX #9: in `שא 12` the digits stand to the left of the word, the 1 before the 2."""
    runs = text_runs("שא 12")
    assert [run.text for run in runs] == ["1", "2", " ", "שא"]
    assert [run.leftwards for run in runs] == [False, False, True, True]


def test_brackets_in_hebrew_are_mirrored():
    """UAX #9, L4: the bracket that opens stands at the right, and looks to the left."""
    assert [run.text for run in text_runs("(א)")] == ["(", "א", ")"]


@fonts
def test_arabic_letters_are_joined():
    """HarfBuzz's own word for it: three letters of a word are not those three by themselves."""
    alone = sum(text_width(letter, 10) for letter in "كتب")
    assert text_width("كتب", 10) < 0.9 * alone


def test_a_font_that_is_none_is_named(tmp_path, monkeypatch):
    wrong = tmp_path / "not-a-font.ttf"
    wrong.write_bytes(b"cat")
    monkeypatch.setenv("PLOTOUT_FONT", str(wrong))
    with pytest.raises(UserError, match="can't be read as a font"):
        text_lines("頃頃頃", 5)


@given(st.text(max_size=20))
@example("\u06fa\uaaf7")  # a place where no letter stands yet, beside Arabic
@example("\u0622\u2067\u085d\u2069")  # marks that set a direction
@example("\u0645\u06cc\u200c\u062e")  # Persian with a non-joiner
def test_any_text_is_drawn_within_its_width(text):
    lines = text_lines(text, 5.0)
    assert all(line.ndim == 2 and line.shape[1] == 2 and len(line) > 1 for line in lines)
    if lines and text.isascii():
        assert np.vstack(lines)[:, 0].max() <= text_width(text, 5.0) + 1e-9


def test_nobody_can_spoil_the_kept_letters():
    text_lines("A", 5.0)[0][:] = 99.0
    assert np.vstack(text_lines("A", 5.0)).max() < 10.0


def order_of(text):
    """Return a text's runs as they stand from the left, as one string."""
    return "".join(run.text for run in text_runs(text))


def test_a_name_that_is_isolated_does_not_turn_what_is_beside_it():
    """UAX #9, BD8 to BD10: an isolate is one object to the text about it, and is ordered alone."""
    plain, isolated = "size وسط, 2026-04-11", "size \u2068وسط\u2069, 2026-04-11"
    assert "2026-04-11" not in order_of(plain)  # the digits go with the Arabic before them
    assert order_of(isolated).endswith(", 2026-04-11")
    assert order_of(isolated).startswith("size ")


def test_isolates_in_text_to_the_left_stand_in_its_order():
    two = "א \u2068abc\u2069 ב \u2068def\u2069"
    assert order_of(two).index("d") < order_of(two).index("a")
    assert "abc" in order_of(two)
    for odd in ("\u2068abc", "abc\u2069", "\u2068\u2068א\u2069", "\ufffc\u2068א\u2069"):
        assert text_lines(odd, 5.0)


def test_the_german_eszett_stands_upright_and_is_no_beta():
    """Unlike the font's beta, which slants and ends below the line."""
    (line,) = text_lines("ß", 1.0)
    assert np.ptp(line[:2, 0]) == 0.0  # its stem
    assert line[:, 1].min() == pytest.approx(0.0)
    assert line[:, 1].max() == pytest.approx(1.0)
    assert np.vstack(text_lines("β", 1.0))[:, 1].min() < -0.1


FURTHER = "ÞþÐðŊŋẞßς£€¡¿÷"


@pytest.mark.parametrize("letter", FURTHER.replace("Ŋ", ""))  # that is as in Sami, like an N
def test_letters_that_the_font_lacks_are_drawn_like_another_font_s(letter):
    """Stretched to the size of the installed font's letter, the stroke lies in it, within the
    width of its stems, and covers it: that font (DejaVu, here) is the reference.
    """
    outline_font = pytest.importorskip("plotout.geometry.lettering.outline_font")
    shaped = outline_font.shaped(letter, rightwards=True)
    if shaped is None or shaped[2]:
        pytest.skip("no font here that has it")
    theirs = Polygon()
    for ring in shaped[0]:
        theirs = theirs.symmetric_difference(Polygon(ring).buffer(0.0))
    ours = text_lines(letter, 1.0)
    low, high = np.vstack(ours).min(axis=0), np.vstack(ours).max(axis=0)
    stem = 0.12
    (x0, y0, x1, y1), pad = theirs.bounds, stem / 2.0
    room = np.array([x1 - x0, y1 - y0]) - stem
    fit = [(line - low) / (high - low) * room + (x0 + pad, y0 + pad) for line in ours]
    drawn = unary_union([LineString(line) for line in fit])
    assert drawn.intersection(theirs.buffer(0.09)).length > 0.9 * drawn.length
    assert drawn.buffer(0.15).intersection(theirs).area > 0.9 * theirs.area


def test_every_letter_looks_unlike_all_others():
    """All letters, figures and signs of ISO 8859-1 and Icelandic, Sami, German and Turkish names.

    The font's l is its I. Signs that no name needs, or that are spelled otherwise, are left out.
    """
    left_out = set("\u00a0­¯´¸¨¬·×«»µ¤¦§©®¶±¥¢")
    letters = [chr(code) for code in (*range(0x21, 0x7F), *range(0xA1, 0x100))] + [*"ŊŋẞıİŞşĞğŁł€"]
    seen = {}
    for letter in (letter for letter in letters if letter not in left_out):
        drawn = tuple(line.round(6).tobytes() for line in text_lines(letter, 1.0))
        assert seen.setdefault(drawn, letter) == letter or letter == "l", letter
    assert len(seen) == len(set(letters) - left_out) - 1


def test_further_letters_need_no_installed_font(monkeypatch):
    monkeypatch.setenv("PATH", "")
    assert undrawable(FURTHER + "²³¹ªº") == ""
    assert text_width("²", 10) < 0.7 * text_width("2", 10)
    assert np.vstack(text_lines("²", 10))[:, 1].min() > 4.0


@pytest.mark.parametrize("width", [1.0, 30.0, 60.0])
def test_a_unit_stays_with_its_figure(width):
    """SI Brochure, 9th edition, 5.4.3: a number and its unit are one, with a space between."""
    line = "allowance 10 mm, 1/2 in; cut 2 x self, sewn in 3 places"
    parts = wrapped(line, width, 5.0, cut_words=False)
    assert " ".join(parts) == line
    for pair in ("10 mm,", "1/2 in;", "2 x"):
        assert any(pair in part for part in parts)
    assert "3" in wrapped(line, 1.0, 5.0, cut_words=False)
