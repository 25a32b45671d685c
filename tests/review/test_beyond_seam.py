"""A seam's notch that can't be drawn is a fault among the others: lengths are those typed here."""

import pytest

from plotout.errors import UserError
from plotout.finish.prepare import ready
from plotout.pattern import setfile
from plotout.pattern.assemble import read_drawings
from plotout.review.whole_set import review
from plotout.tables import parse_toml

SET = """[set]
name = "Vest"
style = "V-1"
[defaults]
allowance = 10

[[piece]]
name = "Front"
points = [[0, 0], [200, 0], [200, 300], [0, 300]]
edges = ["hem", "side", "top", "centre"]
cut = [{{ cloth = "self", pair = true }}]

[[piece]]
name = "Back"
points = [[0, 0], [150, 0], [150, 300], [0, 300]]
edges = ["hem", "side", "top", "centre"]
fold = "centre"
cut = [{{ cloth = "self", on-fold = true }}]

[[seam]]
name = "side"
first = {{ piece = "Front", edges = ["side"] }}
second = {{ piece = "Back", edges = ["{edge}"] }}
[[seam.notch]]
at = "{at} mm"

[[seam]]
name = "top"
first = [{{ piece = "Front", edges = ["{top}"] }}, {{ piece = "Back", edges = ["{back}"] }}]
second = {{ piece = "Band", edges = ["bottom"] }}
{more}
[[piece]]
name = "Band"
rectangle = [690, 40]
cut = [{{ cloth = "self" }}]
"""


def reviewed(**words):
    usual = {"edge": "side", "at": 120, "top": "-top", "back": "top", "more": ""}
    made = setfile.of(parse_toml(SET.format(**usual | words), "set file"))
    return review(read_drawings(made, lambda *_: None).in_size())


@pytest.mark.parametrize(
    ("edge", "at", "lengths", "fix"),
    [
        (
            "top",
            170,
            "'Back' is 150.0 mm long there, but the other side, of 'Front', 300.0 mm",
            "names the right edges",
        ),
        ("side", 310, "'Front' is 300.0 mm long there", "Place it within the seam"),
    ],
)
def test_a_notch_beyond_one_seam_leaves_the_others_walked(edge, at, lengths, fix):
    """The band is 10 mm short of twice 200 and 150 mm, which is found beside the notch."""
    found = reviewed(edge=edge, at=at)
    fault = found.refused[0]
    assert fault.problem == f"the notch lies beyond the seam: {lengths}"
    assert fix in fault.fix
    assert fault.place.line == 1 + SET.splitlines().index("[[seam.notch]]")
    assert any("seam 'top': 10.0 mm too long: 700.0 mm of" in text for text in found.mismatches)
    piece = next(piece for piece in found.pieces if piece.name == fault.place.piece)
    assert not piece.notches
    with pytest.raises(UserError, match="lies beyond the seam"):
        ready(piece)


def test_a_notched_seam_over_a_fold_is_one_fault_among_others():
    found = reviewed(top="top", back="-top", more='[[seam.notch]]\nat = "50 mm"\n')
    (fault,) = [one for one in found.refused if "runs over" in one.problem]
    assert "seam 'top' runs over the fold of 'Back', 'centre'" in fault.problem
    assert [seam.name for seam in found.seams] == ["side"]
