"""Derived pieces whose figures contradict their parents: common practice, from memory."""

import pytest

from plotout.pattern import setfile
from plotout.pattern.assemble import read_drawings
from plotout.review.whole_set import review
from plotout.tables import parse_toml

COAT = """[set]
name = "Chore coat"
style = "CC-1"
[defaults]
allowance = 12

[[piece]]
name = "Back"
rectangle = ["240 mm", "400 mm"]
grain = { along = "left" }
cut = [{ cloth = "self" }]
[piece.edge.bottom]
allowance = "40 mm"
corner = "turned back"

[[piece]]
name = "Side"
rectangle = ["80 mm", "400 mm"]
grain = { along = "left" }
cut = [{ cloth = "self", count = 2 }]
[piece.edge.bottom]
allowance = "40 mm"
corner = "turned back"

[[seam]]
name = "panel"
first = { piece = "Back", edges = ["right"] }
second = { piece = "Side", edges = ["-left"] }

[[piece]]
name = "Inner"
"""
LINING = """[piece.derive]
from = "Back"
how = "lining"
hem = {{ edge = "{edge}", shorter = {by} }}
[[piece.cut]]
cloth = "{cloth}"
"""
FACING = """derive = {{ from = "Back", how = "facing", along = ["top"], width = {wide} }}
cut = [{{ cloth = "self" }}]
"""


def reviewed(text):
    made = setfile.of(parse_toml(text, "set file"))
    return review(read_drawings(made, lambda *_: None).in_size())


def notes(text):
    return reviewed(COAT + text).notes


@pytest.mark.parametrize(
    ("edge", "by", "cloth", "words"),
    [
        ("right", 20, "lining", "Inner: it is shortened at 'right', which is sewn"),
        ("bottom", 20, "linning", "'linning' is nearly 'lining'"),
        ("bottom", 20, "lning", "'lning' is nearly 'lining'"),
    ],
)
def test_a_lining_that_contradicts_its_parent_is_asked_about(edge, by, cloth, words):
    assert any(
        note.startswith(words) for note in notes(LINING.format(edge=edge, by=by, cloth=cloth))
    )


@pytest.mark.parametrize(
    ("by", "cloth"),
    [(20, "lining"), (20, "linen"), (20, "satin"), (20, "Leinen"), (200, "lining")],
)
def test_a_lining_that_is_right_is_not(by, cloth):
    """Coats are half lined too, and trousers are lined to the knee."""
    found = notes(LINING.format(edge="bottom", by=by, cloth=cloth))
    assert not [note for note in found if "shorte" in note or "spelt" in note]


@pytest.mark.parametrize(("wide", "asked"), [(7, True), (45, False)])
def test_a_facing_too_narrow_to_be_one_is_asked_about(wide, asked):
    found = notes(FACING.format(wide=wide))
    assert any("as a facing it is only 7 mm wide" in note for note in found) is asked


SEWN = """derive = {{ from = "Back", how = "{how}" }}
cut = [{{ cloth = "other" }}]

[[seam]]
name = "inner"
first = {{ piece = "Back", edges = ["top"] }}
second = {{ piece = "Inner", edges = ["{edge}"] }}
"""


@pytest.mark.parametrize(
    ("how", "more"),
    [
        ("lining", ""),
        ("copy", ', smaller = "1 mm"'),
        ("facing", ', along = ["top"], width = "60 mm"'),
    ],
)
def test_a_seam_with_an_edge_that_a_derived_piece_lacks_is_one_fault(how, more):
    text = COAT + SEWN.format(how=how, edge="tops").replace(f'"{how}"', f'"{how}"{more}')
    found = reviewed(text)
    line = text.splitlines().index('name = "inner"')  # of the [[seam]] above it
    (fault,) = found.refused
    assert "there is no edge 'tops'" in fault.problem
    assert "Did you mean 'top'?" in fault.fix
    assert (fault.place.piece, fault.place.line) == ("Inner", line)
    assert [seam.name for seam in found.seams] == ["panel"]  # the rest is walked all the same


def test_the_edge_that_a_facing_has_within_is_named_as_it_is():
    more = ', along = ["top"], width = "60 mm"'
    text = COAT + SEWN.format(how="facing", edge="bottom").replace('"facing"', f'"facing"{more}')
    (fault,) = reviewed(text).refused
    assert "there is no edge 'bottom'" in fault.problem
    assert "inner edge" in fault.fix
