"""A fold where a pair is sewn to another pair, instead of to its own left or right: by topology.

A bib on the fold comes between a left and a right front, whose centre it covers: not their sides.
"""

from dataclasses import replace

import pytest

from plotout.pattern.meetings import sewn_of
from plotout.review.folds_met import folds_met
from plotout.review.whole_set import review

from .test_joined_ways import RIGHT, a_set, wrong

DUNGAREES = """Front pair: hem side waist cf; Back pair: hem side waist cb;
    Bib fold mid: foot slope top mid; Yoke fold cb: foot slope top cb |
    side: Front side = Back side; front: Front cf = Front cf; back: Back cb = Back cb;
    bib: Bib -foot = Front waist; yoke: Yoke foot = Back -waist"""
OPEN = DUNGAREES.replace("front: Front cf = Front cf;", "")
SLEEVED = """Front pair: hem side armhole shoulder neck cf;
    Back pair: hem side armhole shoulder cb; Sleeve fold mid: hem under cap mid |
    side: Front side = Back side; shoulder: Front shoulder = Back shoulder;
    one: Sleeve cap = Front armhole"""
GORES = """Front fold cf: hem line waist cf; Side pair: hem back waist line;
    Back pair: hem line waist cb; Band fold fold: foot end top fold |
    one: Front line = Side -line; two: Side back = Back line; centre: Back cb = Back cb;
    waist: Band foot = Front -waist, Side -waist, Back waist"""
FLY = """Front pair: hem side waist fly crotch inner; Back pair: hem inner seat waist side;
    Band fold mid: foot end top mid; Facing: one two three four |
    side: Front side = Back -side; inner: Front inner = Back -inner;
    crotch: Front crotch = Front crotch; seat: Back seat = Back seat; fly: Facing one = Front fly;
    waist: Band -foot = Front -waist, Back -waist"""
RIGHTS = {
    "trousers with a fly": FLY,
    **RIGHT,
    "dungarees": DUNGAREES,
    "open dungarees": OPEN,
    "sleeves on the fold": f"{SLEEVED}; other: Sleeve cap = Back armhole",
    "gores": GORES,
}


def asked(text, **counts):
    """Return what is asked. counts: how many are cut of the pieces of which it isn't one."""
    made = a_set(text)
    pieces = (
        replace(piece, cuts=(replace(piece.cuts[0], count=counts.get(piece.name, 1)),))
        if piece.name in counts
        else piece
        for piece in made.pieces
    )
    made = made.with_pieces(tuple(pieces))
    return list(folds_met(made.seams, sewn_of(made.seams, made.piece), made))


@pytest.mark.parametrize("name", RIGHTS)
def test_sets_that_are_right_are_not_asked(name):
    assert asked(RIGHTS[name]) == []


@pytest.mark.parametrize("base", [DUNGAREES, OPEN])
@pytest.mark.parametrize(
    ("old", "new", "seam", "fold", "met", "other"),
    [
        ("Bib -foot", "Bib foot", "bib", "'mid'", "'Front' is sewn to 'Back' by its 'side'", "cf"),
        ("Front waist", "Front -waist", "bib", "'mid'", "'Front' is sewn to 'Back'", "cf"),
        ("Bib fold mid", "Bib fold slope", "bib", "'slope'", "'Front' is sewn to 'Back'", "cf"),
        (
            "Yoke foot",
            "Yoke -foot",
            "yoke",
            "'cb'",
            "'Back' is sewn to 'Front' by its 'side'",
            "cb",
        ),
        ("Yoke fold cb", "Yoke fold slope", "yoke", "'slope'", "'Back' is sewn to 'Front'", "cb"),
    ],
)
def test_a_fold_at_the_sides_is_asked_about(base, old, new, seam, fold, met, other):
    (found,) = asked(wrong(old, new, base))
    assert found.startswith(f"seam '{seam}': ")
    assert f"has its fold, {fold}, where {met}" in found
    assert f"while '{other}' of " in found


def test_two_on_the_fold_may_be_a_left_and_a_right_unless_the_fronts_are_joined():
    """Of a sleeve's front half, the fold is at the shoulder."""
    assert asked(SLEEVED, Sleeve=2) == []
    facing = wrong("Bib -foot", "Bib foot", DUNGAREES)
    assert len(asked(facing, Bib=2)) == 1


def test_the_review_asks_once():
    turned = wrong("Bib -foot", "Bib foot", DUNGAREES)
    notes = review(a_set(turned)).notes
    assert [note for note in notes if note.startswith("seam 'bib'")] == asked(turned)


def test_a_band_whose_fold_is_at_an_open_fly_is_asked_about():
    """Its fold lies at the closed seat: walked so, it would be closed in front and open behind."""
    (note,) = asked(FLY.replace("Band -foot", "Band foot"))
    assert "'Band' has its fold, 'mid', at 'fly' of 'Front', which does not meet" in note
    assert "while 'seat' of 'Back', at the other end, does" in note
