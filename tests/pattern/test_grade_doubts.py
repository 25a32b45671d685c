"""Sizes and growths that may be slips of the pen are told, and sound ones are not."""

from dataclasses import replace

import pytest

from plotout import UserError
from plotout.pattern import setfile
from plotout.pattern.assemble import read_drawings
from plotout.review.whole_set import review
from plotout.tables import parse_toml

SET = """[set]
name = "Apron"
style = "AP-1"
[sizes]
base = "{base}"
range = {range}
[sizes.measure]
chest = {chest}
[[piece]]
name = "Bib"
rectangle = [200, 300]
grain = {{ along = "left" }}
cut = [{{ cloth = "self" }}]
[[piece.grade]]
corner = ["bottom", "right"]
x = "chest / 4"
[[piece.grade]]
corner = ["right", "top"]
x = "chest / 4"
"""


def read(sizes, chest="8"):
    text = SET.format(base=sizes[0], range=str(list(sizes)).replace("'", '"'), chest=chest)
    made = setfile.of(parse_toml(text, "set file"))
    return read_drawings(setfile.check_growth(made), lambda *_: None)


@pytest.mark.parametrize(
    ("sizes", "says"),
    [
        (("34", "38", "36"), "size 36 comes after size 38"),
        (("S", "L", "M"), "size M comes after size L"),
        (("XXS", "XS", "XL", "3XL", "2XL"), "size 2XL comes after size 3XL"),
        (("M", "S"), "size S comes after size M"),
        (("XXXS", "XXS", "XS", "S", "M", "L", "XL", "XXL", "3XL"), ""),
        (("34", "36.5", "38"), ""),
        (("8 years", "6 years"), "size 6 years comes after size 8 years"),
        (("4Y", "3Y", "5Y"), "size 3Y comes after size 4Y"),
        (("3-4", "1-2", "5-6"), "size 1-2 comes after size 3-4"),
        (("30/34", "30/32", "32/30"), "size 30/32 comes after size 30/34"),
        (("6M", "12M", "2Y", "3Y"), ""),  # months, then years
        (("92/98", "104/110"), ""),
        (("tall", "short"), ""),  # names that are not known to have an order
    ],
)
def test_sizes_out_of_order_are_told(sizes, says):
    """By the order of numbers, and of letters as on labels (common practice)."""
    notes = review(read(sizes).in_size("")).notes
    assert [note for note in notes if "comes after" in note] == (
        [f"{says} in the range: is that their order?"] if says else []
    )


@pytest.mark.parametrize(
    ("named", "says"),
    [("34", ""), ("", ""), ("34 to 38", ""), ("36", "[set] names size 36, but [sizes] grows the")],
)
def test_a_set_that_names_another_size_than_it_grows_from_is_asked_about(named, says):
    whole = read(("34", "36", "38"))
    head = replace(whole.set_file.head, size=named)
    notes = review(replace(whole, set_file=replace(whole.set_file, head=head)).in_size("")).notes
    assert [note[: len(says)] for note in notes if "was drawn" in note] == ([says] if says else [])


@pytest.mark.parametrize(
    ("chest", "says"),
    [
        ("[840, 880, 920, 910, 1000]", "shrinks by 10 mm from size 38 to 40"),
        ("[20, 10, 15, -10, -20]", "grows by 5 mm from size 36 to 38"),
        ("[-20, -10, 0, 10, 20]", ""),
        ("[-10, -10, 0, 0, 20]", ""),
        ("[20, 10, 0, -10, -20]", ""),
        ("8", ""),
    ],
)
def test_a_measurement_that_turns_back_is_told(chest, says):
    notes = review(read(("34", "36", "38", "40", "42"), chest).in_size("")).notes
    found = [note for note in notes if "unlike from other sizes" in note]
    assert len(found) == bool(says)
    assert all(f"measurement 'chest' {says}" in note for note in found)


def test_refused_growth_names_the_line_of_the_point_that_moves_most():
    text = SET.format(base="S", range='["S", "M", "L"]', chest="8")
    text = text.replace(
        'corner = ["right", "top"]\nx = "chest / 4"', 'corner = ["right", "top"]\nx = -150'
    )
    made = setfile.of(parse_toml(text, "set file"))
    whole = read_drawings(setfile.check_growth(made), lambda *_: None)
    with pytest.raises(UserError, match="in size L: 'top' is reversed") as refused:
        whole.in_sizes(whole.sizes)
    assert refused.value.place.line == text[: text.index("x = -150")].count("\n") - 1


@pytest.mark.parametrize(
    ("chest", "length", "says"),
    [
        ("[-8, 0, 8]", "[-5, 0, 5]", ""),
        ("[8, 0, -8]", "[-5, 0, 5]", "measurement 'chest' shrinks from each size to the next"),
        ('"-8 mm"', "5", "measurement 'chest' shrinks from each size to the next"),
        ("[8, 0, -8]", "[5, 0, -5]", ""),  # both: perhaps the sizes are listed so
        ("[8, 0, -8]", "0", ""),
    ],
)
def test_a_measurement_that_shrinks_while_the_other_grows_is_told(chest, length, says):
    """Common practice: chest and length grow together."""
    text = SET.format(base="S", range='["S", "M", "L"]', chest=f"{chest}\nlength = {length}")
    made = setfile.of(parse_toml(text, "set file"))
    notes = review(read_drawings(setfile.check_growth(made), lambda *_: None).in_size("")).notes
    found = [note for note in notes if "is its sign right" in note]
    assert len(found) == bool(says)
    assert all(note.startswith(says) for note in found)


@pytest.mark.parametrize(
    ("chest", "waist", "hip", "told"),
    [
        ("4", "4", "4.5", True),  # cm, as a table of measurements has them
        ("[-4, 0, 4.5]", "4", "0.4", True),
        ("40", "40", "4", False),
        ("6.7", "5", "3", False),  # a foot: a Paris point is two thirds of a cm
        ("4", "4", "0", False),  # two may be small
    ],
)
def test_measurements_that_hardly_grow_are_asked_about(chest, waist, hip, told):
    """Common practice: a chest grows by 20 to 60 mm from one size to the next."""
    more = f"{chest}\nwaist = {waist}\nhip = {hip}"
    text = SET.format(base="S", range='["S", "M", "L"]', chest=more)
    made = setfile.of(parse_toml(text, "set file"))
    notes = review(read_drawings(setfile.check_growth(made), lambda *_: None).in_size("")).notes
    assert any("is their unit right" in note for note in notes) is told
