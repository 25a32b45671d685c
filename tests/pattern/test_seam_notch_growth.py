"""Seams' notches as grade points: sums by hand on straight pieces, and what the walk then finds."""

import pytest

from plotout import UserError
from plotout.pattern import setfile
from plotout.pattern.assemble import read_drawings
from plotout.pattern.walk import walk
from plotout.review.whole_set import review
from plotout.tables import parse_toml

SET = """[set]
name = "Apron"
style = "AP-1"
[defaults]
tolerance = "1 mm"
[sizes]
base = "M"
range = ["S", "M", "L", "XL"]
[[piece]]
name = "Front"
rectangle = [200, 300]
cut = [{ cloth = "self" }]
[[piece.grade]]
notch = "hip"
y = "4 mm"
[[piece]]
name = "Back"
rectangle = [200, 300]
cut = [{ cloth = "self" }]
[[seam]]
name = "side"
first = { piece = "Front", edges = ["right"] }
second = { piece = "Back", edges = ["-left"] }
[[seam.notch]]
name = "hip"
at = "120 mm"
[[seam.notch]]
at = "50 %"
"""


def read(text=SET):
    made = setfile.of(parse_toml(text, "set file"))
    return read_drawings(setfile.check_growth(made), lambda *_: None)


def places(whole, size):
    """How far up both sides the seam's first notch lies; on the back the edge runs down."""
    front, back = whole.in_size(size).pieces[:2]
    return front.notches[0].along, 300 - back.notches[0].along


@pytest.mark.parametrize("size", ["S", "M", "L", "XL"])
@pytest.mark.parametrize(
    "notch",
    ['at = "120 mm"', 'at = "40 %"', 'at = "180 mm"\nfrom = "end"', 'at = "60 %"\nfrom = "end"'],
)
def test_the_other_side_follows_a_notch_that_grows_on_one(size, notch):
    whole = read(SET.replace('at = "120 mm"', notch))
    steps = whole.sizes.index(size) - 1
    assert places(whole, size) == pytest.approx((120 + 4 * steps,) * 2)
    (seam,) = walk(whole.in_size(size))
    assert not seam.faults
    assert [found.first for found in seam.notches] == pytest.approx([120 + 4 * steps, 150])


def test_its_ease_stays_between_the_sides():
    text = SET.replace('at = "120 mm"', 'at = "120 mm"\nease = "3 mm"').replace(
        "[[seam.notch]]\nname", 'ease = [0, "5 mm"]\n[[seam.notch]]\nname'
    )
    assert places(read(text), "L") == pytest.approx((127, 124))
    on_back = text.replace('[[piece.grade]]\nnotch = "hip"\ny = "4 mm"\n', "").replace(
        'cut = [{ cloth = "self" }]\n[[seam]]',
        'cut = [{ cloth = "self" }]\ngrade = [{ notch = "hip", y = 4 }]\n[[seam]]',
    )
    assert places(read(on_back), "L") == pytest.approx((127, 124))


def test_notches_that_grow_apart_are_named_with_the_size_where_they_begin_to():
    """4 mm a step in front, 3.4 behind: 0.6 apart in L, 1.2 in XL, of 1 mm that are allowed."""
    text = SET.replace(
        'cut = [{ cloth = "self" }]\n[[seam]]',
        'cut = [{ cloth = "self" }]\ngrade = [{ notch = "hip", y = 3.4 }]\n[[seam]]',
    )
    whole = read(text)
    assert places(whole, "XL") == pytest.approx((128, 126.8))
    faults = {size: review(whole.in_size(size)).faults for size in whole.sizes}
    assert [size for size, found in faults.items() if found] == ["XL"]
    assert "notch 1.2 mm off" in faults["XL"][0]


FOLDED = """[set]
name = "Shirt"
style = "SH-1"
[sizes]
base = "M"
range = ["M", "L"]
[[piece]]
name = "Sleeve"
rectangle = [150, 60]
fold = "left"
cut = [{ cloth = "self", count = 2, on-fold = true }]
[[piece]]
name = "Body"
rectangle = [300, 90]
cut = [{ cloth = "self", count = 2 }]
[[piece.grade]]
notch = "back"
x = 5
[[seam]]
name = "armhole"
first = { piece = "Sleeve", edges = ["-top"] }
second = { piece = "Body", edges = ["top"] }
[[seam.notch]]
name = "back"
at = "200 mm"
"""


def test_a_side_on_the_fold_follows_too():
    """The top of the body runs from its right to its left: moved 5 mm right, the notch is at 195,
    which is 45 mm past the fold; the sleeve's own top begins 150 mm from its fold."""
    whole = read(FOLDED)
    for size, on_body in (("M", 200), ("L", 195)):
        sleeve, body = whole.in_size(size).pieces
        assert body.notches[0].along == pytest.approx(on_body)
        assert sleeve.notches[0].along == pytest.approx(150 - (on_body - 150))


def test_a_notch_of_both_edges_of_one_piece_is_told_apart_by_its_edge():
    text = SET.replace('piece = "Back", edges = ["-left"]', 'piece = "Front", edges = ["-left"]')
    with pytest.raises(UserError, match="2 notches of the piece are called 'hip'") as refused:
        read(text).in_size("M")
    assert refused.value.fix == "Add the edge of the one that is meant: edge = 'right'."
    whole = read(text.replace('notch = "hip"', 'notch = "hip"\nedge = "right"'))
    front = whole.in_size("L").pieces[0]
    alongs = {notch.edge: notch.along for notch in front.notches if notch.along not in (150,)}
    assert alongs == pytest.approx({"right": 124, "left": 300 - 124})


def test_one_that_leaves_its_seam_or_has_another_name_is_refused():
    with pytest.raises(UserError, match="no notch 'hop'") as refused:
        read(SET.replace('notch = "hip"', 'notch = "hop"')).in_size("M")
    assert refused.value.fix == "Did you mean 'hip'?"
    short = SET.replace('second = { piece = "Back"', 'second = { piece = "Back", times = 1')
    short = short.replace(
        'rectangle = [200, 300]\ncut = [{ cloth = "self" }]\n[[seam]]',
        'rectangle = [200, 126]\ncut = [{ cloth = "self" }]\n[[seam]]',
    )
    assert not any(piece.faults for piece in read(short).in_size("M").pieces)
    (fault,) = read(short).in_size("XL").piece("Back").faults
    assert fault.problem.startswith("the notch lies beyond the seam: 'Back'")
