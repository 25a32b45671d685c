"""Strips narrower than their allowances, which lie inside them: by a sum. That piping on the bias,
loops and linings are made so is common practice, from memory.
"""

import pytest

from plotout.review.whole_set import review

from .test_tube_doubts import piece, read, seam

DEFAULTS = '[defaults]\nallowance = "10 mm"\n'
BODY = piece(
    "Body", ((0, 0), (400, 0), (400, 300), (0, 300)), "foot right top left", cut="count = 2"
)
ON_FOLD = 'fold = "far"\n'


def asked(wide, *seams, more=""):
    strip = piece("Strip", ((0, 0), (400, 0), (400, wide), (0, wide)), "near end far start", 0.0,
                  more, "on-fold = true" if "fold" in more else "count = 1")  # fmt: skip
    notes = review(read(DEFAULTS, BODY, strip, *seams)).notes
    return [note for note in notes if note.startswith("Strip: ") and "unit" in note]


BETWEEN = seam("Strip near", "Body foot"), seam("Strip -far", "Body top")


@pytest.mark.parametrize("wide", [7, 12, 19])
def test_a_gusset_narrower_than_its_two_allowances_is_asked_about(wide):
    (note,) = asked(wide, *BETWEEN)
    told = (
        f"it is {wide} mm wide, less than its allowance of 10 mm"
        if wide < 10
        else f"the seams along it lie {wide} mm apart, and their allowances, 10 and 10 mm wide, "
        "over each other"
    )
    assert note == f"Strip: {told}: is its unit right?"


@pytest.mark.parametrize("wide", [7, 12])
def test_a_belt_narrower_than_its_one_sewn_allowance_is_asked_about(wide):
    assert len(asked(wide, BETWEEN[0])) == (wide < 10)


@pytest.mark.parametrize(
    ("wide", "more", "seams"),
    [
        (20, "", BETWEEN),
        (12, "bias = true\n", BETWEEN),  # piping
        (12, 'allowance = "6 mm"\n', BETWEEN),
        (7, "", ()),  # a loop
        (6, ON_FOLD, BETWEEN[:1]),  # 12 mm when it is opened
    ],
)
def test_strips_with_room_for_their_allowances_or_none_sewn_are_not(wide, more, seams):
    assert asked(wide, *seams, more=more) == []
