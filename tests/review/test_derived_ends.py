"""Linings and facings that don't meet where their parents are sewn together.

The lengths are read off the drawings. That linings of one side are shortened alike, and that the
facings of a front and a back are equally deep at the shoulder, is common practice, from memory.
"""

import pytest

from plotout.review.whole_set import review

from .test_tube_doubts import FOLD, piece, read, seam

FRONT = (0, 0), (250, 0), (250, 320), (205, 360), (205, 560), (80, 560), (0, 480)
BACK = (0, 0), (240, 0), (240, 320), (195, 360), (195, 560), (80, 560), (0, 485)
NAMES = "hem side armhole-low armhole shoulder neck fold"


def derived(parent, how, rest="", cut="on-fold = true"):
    return (
        f'[[piece]]\nname = "{parent} {how}"\nderive = {{ from = "{parent}", how = "{how}"{rest} }}'
        f'\ncut = [{{ cloth = "silk", {cut} }}]\n'
    )


def shorter(by, edge="hem"):
    return f', hem = {{ edge = "{edge}", shorter = "{by} mm" }}'


def along(edges, width):
    return f", along = [{edges}], width = '{width} mm'"


def dress(*more):
    whole = read(
        piece("Front", FRONT, NAMES, 90.0, FOLD),
        piece("Back", BACK, NAMES, 90.0, FOLD),
        seam("Front side", "Back side"),
        seam("Front shoulder", "Back shoulder"),
        *more,
    )
    return [note for note in review(whole).notes if "are both right" in note]


def test_linings_shortened_unlike_at_one_side_are_asked_about_once():
    found = dress(derived("Front", "lining", shorter(20)), derived("Back", "lining", shorter(35)))
    assert found == [
        "Front lining: at seam 'Front side' it ends 20 mm before 'Front', but 'Back lining' 35 mm "
        "before 'Back': are both right?"
    ]


def test_so_is_one_of_them_with_a_slip_in_its_unit():
    """Shortened alike, both are lined to the hip."""
    found = dress(derived("Front", "lining", shorter(20)), derived("Back", "lining", shorter(200)))
    assert len(found) == 1
    assert not dress(*(derived(name, "lining", shorter(200)) for name in ("Front", "Back")))


def test_so_is_a_lining_that_is_not_shortened_beside_one_that_is():
    (note,) = dress(derived("Front", "lining", shorter(20)), derived("Back", "lining"))
    assert "ends 20 mm before 'Front', but 'Back lining' 0 mm before 'Back'" in note


@pytest.mark.parametrize(
    "parts",
    [
        (derived("Front", "lining", shorter(20)), derived("Back", "lining", shorter(20))),
        (derived("Front", "lining"), derived("Back", "lining", ', ease = "8 mm"')),
        (derived("Front", "lining", shorter(20)),),
        (
            derived("Front", "lining", shorter(20)),
            derived("Back", "lining", shorter(35)).replace("silk", "twill"),
        ),
        (
            derived("Front", "facing", along('"neck"', 50), "count = 2"),
            derived("Back", "facing", along('"hem"', 70), "count = 2"),
        ),
    ],
)
def test_what_meets_or_has_nothing_beside_it_is_not(parts):
    assert dress(*parts) == []


def test_linings_sewn_by_a_seam_of_their_own_are_walked_instead():
    parts = derived("Front", "lining", shorter(20)), derived("Back", "lining", shorter(35))
    own = '[[seam]]\nname = "lining side"\nfirst = { piece = "Front lining", edges = ["side"] }\n'
    own += 'second = { piece = "Back lining", edges = ["side"] }\n'
    assert dress(*parts, own) == []


@pytest.mark.parametrize(
    ("edge", "told"),
    [
        ('"hem"', "it is 60 mm deep at seam 'Front side', but 'Back facing', which meets it there, "
         "45 mm"),
        ('"neck"', "it is 85 mm deep at seam 'Front shoulder', but 'Back facing', which meets it "
         "there, 66 mm"),
    ],
)  # fmt: skip
def test_facings_of_two_depths_where_they_meet_are_asked_about(edge, told):
    """Along the hem, square to the sides; along necks at 45.0 and 43.2 degrees: 60 / sin 45.0 and
    45 / sin 43.2.
    """
    front, back = (
        derived(name, "facing", along(edge, width)) for name, width in (("Front", 60), ("Back", 45))
    )
    assert dress(front, back) == [f"Front facing: {told}: are both right?"]
    assert dress(front, back.replace("45 mm", "60 mm")) == []
