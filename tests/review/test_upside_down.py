"""Arrows of cloth that lies one way, turned round by hand on one piece of a right garment.

That nap runs the same way on all pieces of a garment is common practice, from memory.
"""

import pytest

from plotout.review.unsaid import unsaid
from plotout.review.upside_down import upside_down

from .test_tube_doubts import FOLD, piece, read, seam

UP, DOWN = 90.0, -90.0
ONE_WAY = "one-way = true\n"
BOX = (0, 0), (200, 0), (200, 500), (0, 500)
SLEEVE = (0, 0), (300, 0), (340, 400), (150, 520), (-40, 400)
BODY = (0, 0), (250, 0), (250, 400), (190, 560), (70, 600), (0, 580)
HOOD = (0, 0), (230, 0), (240, 330), (120, 360), (0, 250)
STAND = (0, 0), (300, 0), (300, 60), (0, 60)


def dress(turned, feet="a b c", more=ONE_WAY, cloth="self"):
    """A front on the fold, sides of a cloth, and backs; feet: the edges at their lower ends."""
    lie = {name: DOWN if name == turned else UP for name in ("Front", "Side", "Back")}
    front, side, back = feet.split()
    return read(
        piece("Front", BOX, f"{front} one top fold", lie["Front"], FOLD + "\n" + more),
        piece("Side", BOX, f"{side} two sky one", lie["Side"], more).replace("self", cloth),
        piece("Back", BOX, f"{back} open end two", lie["Back"], more),
        seam("Front one", "Side -one"),
        seam("Side two", "Back -two"),
    )


def asked(made):
    return list(upside_down(made.seams, made))


@pytest.mark.parametrize("turned", ["", "Front", "Side", "Back"])
@pytest.mark.parametrize("feet", ["a b c", "hem hem hem", "a hem hem", "おもて うら そで"])
def test_a_panel_upside_down_beside_others_is_asked_about_once(turned, feet):
    """Whatever the edges at its lower end are called. The middle one differs from both others."""
    found = asked(dress(turned, feet))
    assert len(found) == bool(turned), found
    assert all(f"'{turned}'" in note and "upside down?" in note for note in found)


@pytest.mark.parametrize("turned", ["Front", "Side", "Back"])
def test_cloth_that_may_lie_either_way_and_another_cloth_are_not_compared(turned):
    assert asked(dress(turned, "a b c", "")) == []
    assert asked(dress(turned, "a b c", cloth="net")) == []  # of the side alone


@pytest.mark.parametrize(
    ("words", "lie", "told"),
    [
        ("wrist back cap front end", UP, 0),
        ("wrist back cap front end", DOWN, 1),
        ("Saum hinten Kugel Armkugel vorn", DOWN, 1),
        ("foo back cap front end", DOWN, 0),  # nothing shows which end of it is down
        ("cap back bar front end", DOWN, 0),  # nor which is up: a cap alone may be anything
        ("cap back wrist hem end", DOWN, 0),  # its hem lies at its top too
    ],
)
def test_a_sleeve_is_compared_with_the_body_by_its_edges_names(words, lie, told):
    made = read(
        piece("Front", BOX, "hem side shoulder fold", UP, FOLD + "\n" + ONE_WAY),
        piece("Sleeve", SLEEVE, words, lie, ONE_WAY),
    )
    found = asked(made)
    assert len(found) == told, found
    assert all(
        note.startswith("the grain line of 'Front' points to its 'shoulder', but that of 'Sleeve'")
        for note in found
    )


def test_a_strip_that_goes_down_one_side_and_up_the_other_is_not_asked_about():
    """Half of a bag's strip hangs unlike the panel, whichever way it lies."""
    strip = (0, 0), (500, 0), (900, 0), (900, 80), (0, 80)
    made = [
        read(
            piece("Panel", BOX, "base right mouth left", UP, ONE_WAY, "count = 2"),
            piece("Strip", strip, "one two end back start", lie, ONE_WAY, "count = 1"),
            seam("Strip one", "Panel left"),
            seam("Strip two", "Panel right"),
        )
        for lie in (0.0, 180.0)
    ]
    assert [asked(one) for one in made] == [[], []]


@pytest.mark.parametrize("lie", [0.0, 180.0])
def test_a_strip_on_the_fold_at_its_middle_has_no_upper_end(lie):
    strip = (0, 0), (500, 0), (500, 80), (0, 80)
    made = read(
        piece("Panel", BOX, "base right mouth left", UP, ONE_WAY, "count = 2"),
        piece("Strip", strip, "one fold back start", lie, FOLD + "\n" + ONE_WAY),
        seam("Strip one", "Panel left"),
    )
    assert asked(made) == []


@pytest.mark.parametrize(
    ("hood", "body", "told"), [(UP, UP, 0), (DOWN, UP, 1), (UP, DOWN, 1), (DOWN, DOWN, 0)]
)
@pytest.mark.parametrize("strip", [False, True])
@pytest.mark.parametrize("names", ["neck face top crown back", "a b c d e"])
def test_a_hood_upside_down_on_its_neck_is_asked_about(hood, body, told, strip, names):
    """Its neck is at its foot, whatever its edges are called; the body's is at its top."""
    first, _, top, round_, back = names.split()
    row = ((0, 0), (90, 0), (90, 750), (0, 750)), "low one high two"
    crown = f"Hood {top} {round_} {back}"
    made = read(
        piece("Back", BODY, "foot side armhole shoulder neck fold", body, FOLD + "\n" + ONE_WAY),
        piece("Hood", HOOD, names, hood, ONE_WAY),
        *([piece("Strip", *row, UP, cut="count = 1")] if strip else []),
        seam(f"Hood {first}", "Back -neck"),
        *([seam(f"Strip {edge}", crown) for edge in ("one", "-two")] if strip else []),
        *([] if strip else [seam(crown, crown)]),
    )
    found = asked(made)
    assert len(found) == told, found
    assert all("'Hood' and 'Back' point in opposite directions across it" in note for note in found)
    unknown = [line for line in unsaid(made) if "nothing shows their top" in line]
    assert not unknown or unknown[0].endswith(": Strip")


@pytest.mark.parametrize("lie", [UP, DOWN])
@pytest.mark.parametrize("of", ["collar", "hood in cloth that lies either way", "hood by itself"])
def test_what_shows_nothing_of_a_hoods_lie_is_not_asked_about(lie, of):
    """A collar may be cut either way up, as it is turned over."""
    points = [(x, y / 6.0 if of == "collar" else y) for x, y in HOOD]
    more = "" if "either way" in of else ONE_WAY
    made = read(
        piece("Back", BODY, "foot side armhole shoulder neck fold", UP, FOLD + "\n" + ONE_WAY),
        piece("Cowl", points, "a b c d e", lie, more),
        seam("Cowl c d e", "Cowl c d e"),
        *([] if "itself" in of else [seam("Cowl a", "Back -neck")]),
    )
    assert asked(made) == []


def test_what_cannot_be_compared_is_stated():
    made = dress("", "a b c")
    stand = piece("Stand", STAND, "joined end free start", UP, ONE_WAY, "count = 2")
    whole = read(
        piece("Front", BOX, "a one top fold", UP, FOLD + "\n" + ONE_WAY),
        piece("Side", BOX, "b two sky one", UP, ONE_WAY),
        stand,
        seam("Front one", "Side -one"),
    )
    words = "one way, their arrows taken as right, since nothing shows their top: "
    assert not any(line.startswith(words) for line in unsaid(made))
    assert f"{words}Stand" in unsaid(whole)
