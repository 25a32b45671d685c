"""Notches that a seam, or a piece, has twice. The places are sums of the lengths typed here."""

import pytest

from plotout.pattern import setfile
from plotout.pattern.assemble import read_drawings
from plotout.review.whole_set import review
from plotout.tables import parse_toml


def notes(seam_notches=(), first="", second="", *, folded=False):
    """Sides of 400 mm; or one of 800 mm, and its half on the fold."""
    half = ('fold = "top"', "on-fold = true", 400) if folded else ("", "count = 1", 400)
    whole = ("", "count = 1", 800 if folded else 400)
    text = '[set]\nname = "Smock"\nstyle = "SM-1"\n'
    for name, (fold, cut, tall), marks in (("Front", half, first), ("Back", whole, second)):
        text += (
            f'[[piece]]\nname = "{name}"\nrectangle = [300, {tall}]\n{fold}\n'
            f'grain = {{ along = "left" }}\ncut = {{ cloth = "self", {cut} }}\n{marks}'
        )
    text += '[[seam]]\nname = "side"\nfirst = { piece = "Front", edges = ["right"] }\n'
    text += 'second = { piece = "Back", edges = ["-left"] }\n'
    text += "".join(f"[[seam.notch]]\n{notch}\n" for notch in seam_notches)
    made = read_drawings(setfile.of(parse_toml(text, "set file")), lambda *_: None).in_size()
    return [note for note in review(made).notes if "leave out one" in note]


def on(edge, at, more=""):
    return f'[[piece.notch]]\nedge = "{edge}"\nat = "{at} mm"\n{more}\n'


AT = 'at = "100 mm"'


@pytest.mark.parametrize(
    ("other", "told"),
    [
        (AT, "notches 1 and 2 are"),
        ('at = "100.3 mm"', "notches 1 and 2 are"),
        ('at = "25 %"', "notches 1 and 2 are"),
        ('at = "300 mm"\nfrom = "end"', "notches 1 and 2 are"),
        (AT + "\ncount = 2", "notches 1 and 2, of count 1 and 2, are"),
        ('at = "101 mm"', ""),  # where it is cut shows that they run together
        ('at = "100 mm"\nease = "8 mm"', ""),
        ('at = "100 mm"\nfrom = "end"', ""),
    ],
)
def test_a_seam_notch_that_is_typed_twice_is_told(other, told):
    found = notes([AT, other])
    assert found == ([f"seam 'side': its {told} in one place: leave out one"] if told else [])


def test_the_third_notch_is_compared_with_both_others():
    found = notes([AT, 'at = "200 mm"', 'at = "200 mm"'])
    assert found == ["seam 'side': its notches 2 and 3 are in one place: leave out one"]


def test_both_halves_of_a_piece_on_the_fold_may_have_one_place():
    """At 120 mm from either end of the whole: on the half, both are one notch."""
    pair = ['at = "120 mm"', 'at = "120 mm"\nfrom = "end"']
    assert notes(pair, folded=True) == []
    assert len(notes([*pair, 'at = "680 mm"'], folded=True)) == 1


@pytest.mark.parametrize(
    ("first", "second", "told"),
    [
        (on("right", 100), on("left", 300), []),
        (on("right", 100), "", []),
        (on("right", 100, "count = 2"), "", ["'right' of 'Front' has a double slit"]),
        (on("right", 100, "count = 2"), on("left", 300, "count = 2"),
         ["'right' of 'Front' has a double slit", "'left' of 'Back' has a double slit"]),
        (on("right", 100, 'kind = "V"'), "", ["'right' of 'Front' has a single V"]),
    ],
)  # fmt: skip
def test_a_seam_notch_that_gives_way_to_a_piece_s_own_is_told(first, second, told):
    found = notes([AT], first, second)
    assert len(found) == len(told)
    for note, words in zip(found, told, strict=True):
        assert note.startswith("seam 'side': its notch 1 is a single slit, but ")
        assert f"{words} there, which is kept" in note


def test_a_single_and_a_double_in_one_place_of_a_piece_are_told():
    found = notes((), on("right", 100) + on("right", 100, "count = 2"))
    assert found == ["Front: it has two notches at 100 mm of 'right': leave out one"]
