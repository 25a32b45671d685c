"""Seams on a wrong edge while the right one is in no seam: counted by hand, or by their names."""

from dataclasses import replace

import numpy as np
import pytest

from plotout.review.edge_lengths import as_long
from plotout.review.whole_set import review

from .test_tube_doubts import FOLD, piece, read, seam


def box(wide, tall):
    return (0, 0), (wide, 0), (wide, tall), (0, tall)


def asked(*parts):
    notes = review(read(*parts)).notes
    return [note for note in notes if "belong there" in note or "called after" in note]


def dress(front="Front", back="Back", more=()):
    """A yoke and a skirt of equal widths, in front and at the back; cut once, on the fold."""
    half = {"cut": "on-fold = true", "more": FOLD}
    return asked(
        piece("Front", box(250, 600), "rim side gathers fold", **half),
        piece("Back", box(250, 600), "rim side gathers fold", **half),
        piece("Yoke", box(200, 120), "lower side upper fold", **half),
        piece("Nape", box(200, 120), "lower side upper fold", **half),
        seam("Front side", "Back side"),
        seam("Yoke side", "Nape side"),
        seam(f"{front} gathers", "Yoke -lower").replace('name = "', 'name = "1 '),
        seam(f"{back} gathers", "Nape -lower").replace('name = "', 'name = "2 '),
        *more,
    )


def test_an_edge_that_two_seams_take_is_asked_about_while_one_like_it_is_free():
    assert dress() == []
    (note,) = dress(back="Front")
    assert note == (
        "Front: seams '1 Front gathers' and '2 Front gathers' take more of its 'gathers' than are "
        "cut, but 'gathers' of 'Back', as long, is in no seam: does one of them belong there?"
    )


@pytest.mark.parametrize(
    ("known_to", "alike"),
    [((0.0, 0.0), False), ((3.0, 0.0), False), ((3.0, 2.7), True), ((9.0, 9.0), False)],
)
def test_pricked_edges_are_as_long_if_their_pricks_do_not_show_otherwise(front, known_to, alike):
    """5 mm apart: that is 4 beyond the tolerance, and sqrt(9 + 7.3) is 4.04; 12.7 shows nothing."""
    (shorter, longer) = (
        replace(front.edges[0], points=np.array([[0.0, 0.0], [size, 0.0]])) for size in (200, 205)
    )
    pricked = [
        replace(edge, known_to=known)
        for edge, known in zip((shorter, longer), known_to, strict=True)
    ]
    assert as_long(*pricked, 1.0) == as_long(*pricked[::-1], 1.0) == alike
    assert as_long(shorter, longer, 5.0)


def test_layers_sewn_to_one_edge_are_not():
    """A facing and a lace lie on the gathers with the yoke."""
    strip = piece("Lace", box(250, 40), "sewn end free fold", 0.0, FOLD)
    assert dress(more=[strip, seam("Front gathers", "Lace -sewn")]) == []


@pytest.mark.parametrize(
    ("name", "edge", "told"),
    [
        ("centre back", "neck", 1),
        ("centre back", "centre_back", 0),
        ("below the centre back", "neck", 0),
        ("closing", "neck", 0),
        ("neck", "neck", 0),
    ],
)
def test_a_seam_called_after_an_edge_that_it_does_not_sew_is_asked_about(name, edge, told):
    back = piece("Back", box(250, 600), "rim side neck centre_back").replace("_", " ")
    sewn = seam(f"Back {edge}", f"Back {edge}").replace("_", " ")
    found = asked(back, sewn.replace(f'name = "Back {edge.replace("_", " ")}"', f'name = "{name}"'))
    assert len(found) == told, found
    assert all(
        note == "seam 'centre back': it is called after 'centre back' of 'Back', which is in no "
        "seam, but it sews 'neck': is one of its sides wrong?"
        for note in found
    )


@pytest.mark.parametrize(("strip", "told"), [("Zip strip", 0), ("Gusset", 1)])
def test_a_seam_may_be_called_after_a_piece_that_has_an_edge_called_so(strip, told):
    """The zip itself lies at the strip's other edge, and is no piece of the set."""
    zipped = piece("Strip", box(250, 40), "edge end zip start").replace("Strip", strip)
    sewn = seam("Strip edge", "Panel foot").replace('"Strip edge"', '"zip"').replace("Strip", strip)
    assert len(asked(zipped, piece("Panel", box(250, 600), "foot a b c"), sewn)) == told


@pytest.mark.parametrize(("centre", "told"), [("crotch", 0), ("inseam", 1)])
def test_a_front_sewn_to_itself_at_its_inseam_has_its_crotch_in_no_seam(centre, told):
    """Shorts: the back is sewn to itself at its crotch; the inseam is sewn to the back's."""
    edges = "hem side waist crotch inseam"
    shape = (0, 0), (250, 0), (230, 400), (40, 400), (0, 90)
    found = asked(
        piece("Front", shape, edges),
        piece("Back", shape, edges),
        seam("Front side", "Back side"),
        seam("Front inseam", "Back inseam"),
        seam("Back crotch", "Back crotch"),
        seam(f"Front {centre}", f"Front {centre}").replace('name = "', 'name = "centre '),
    )
    expected = (
        "Front: seams 'Front inseam' and 'centre Front inseam' take more of its 'inseam' than are "
        "cut, but 'crotch' of 'Front', which is sewn to itself on 'Back', is in no seam: does one "
        "of them belong there?"
    )
    assert found == [expected][:told]


@pytest.mark.parametrize("cloths", [("canvas",), ("canvas", "lining")])
@pytest.mark.parametrize(("side", "told"), [("left_beside", 0), ("right_beside", 1)])
def test_a_corner_boxed_with_the_other_corners_edge_is_asked_about(cloths, side, told):
    """A bag: each corner's two edges are sewn to each other, in the shell and in its lining."""
    corners = (70, 0), (370, 0), (370, 70), (440, 70), (440, 500), (0, 500), (0, 70), (70, 70)
    names = "foot right_below right_beside right top left left_beside left_below"
    orders = ", ".join(f'{{ cloth = "{cloth}" }}' for cloth in cloths)
    body = piece("Body", corners, names).replace('{ cloth = "self", pair = true }', orders)
    found = asked(
        body.replace("_", " "),
        seam("Body right_below", "Body -right_beside").replace("_", " "),
        seam("Body left_below", f"Body -{side}").replace("_", " "),
    )
    assert found == told * [
        "Body: seams 'Body right below' and 'Body left below' take more of its 'right beside' than "
        "are cut, but 'left beside' of 'Body', as long, is in no seam: does one of them belong "
        "there?"
    ]
