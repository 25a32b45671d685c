"""A seam's notch in per cent, with ease and without: the sums are of the lengths typed here."""

import pytest

from plotout.pattern import setfile
from plotout.pattern.assemble import read_drawings
from plotout.review.whole_set import review
from plotout.tables import parse_toml

FRILL, SKIRT = 600.0, 400.0

SET = """[set]
name = "Smock"
style = "SM-1"
[defaults]
tolerance = "0.5 mm"
[[piece]]
name = "Frill"
rectangle = [600, 100]
cut = [{ cloth = "self" }]
[[piece]]
name = "Skirt"
rectangle = [400, 300]
cut = [{ cloth = "self" }]
[[seam]]
name = "frill"
first = { piece = "Frill", edges = "-top" }
second = { piece = "Skirt", edges = "bottom" }
"""


def made(notch, ease="ease = [200, 200]\n"):
    text = f"{SET}{ease}[[seam.notch]]\n{notch}\n"
    return read_drawings(setfile.of(parse_toml(text, "set file")), lambda *_: None).in_size()


def places(whole):
    """How far along both sides as sewn: the frill's edge is walked backwards."""
    frill, skirt = whole.pieces
    return FRILL - frill.notches[0].along, skirt.notches[0].along


@pytest.mark.parametrize(
    ("notch", "first", "second"),
    [
        ('at = "50 %"', 300, 200),
        ('at = "50 %"\nease = "100 mm"', 300, 200),
        ('at = "25 %"\nease = "50 mm"', 150, 100),
        ('at = "25 %"\nfrom = "end"\nease = "50 mm"', 450, 300),
        ('at = "100 mm"\nease = "50 mm"', 150, 100),
        ('at = "25 %"\nease = "50.4 mm"', 150.4, 100),  # within the tolerance
    ],
)
def test_the_ease_of_a_place_in_per_cent_is_that_of_a_length(notch, first, second):
    whole = made(notch)
    assert places(whole) == pytest.approx((first, second))
    found = review(whole)
    assert not found.faults
    assert not [note for note in found.notes if "per cent" in note]


def test_its_stretches_agree_with_it():
    """Halves of 100 mm of ease each, as the set has it in both ways."""
    stretches = "[[seam.stretch]]\nease = [95, 105]\n" * 2
    for notch in ('at = "50 %"', 'at = "50 %"\nease = "100 mm"'):
        assert not review(made(f"{notch}\n{stretches}", ease="")).faults


def test_an_ease_that_leads_to_another_per_cent_is_told():
    """Half of 400 mm and 60 mm more are 260 mm of the frill, of which the half is 300 mm."""
    whole = made('at = "50 %"\nease = "60 mm"')
    assert places(whole) == pytest.approx((260, 200))
    (note,) = [note for note in review(whole).notes if "per cent" in note]
    assert note.startswith(
        "seam 'frill': its notch 1, at 200.0 mm of 'Skirt', is by its ease at 260.0 mm of 'Frill', "
        "not at 300.0 mm"
    )
