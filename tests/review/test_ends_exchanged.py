"""Sides that run the wrong way by what lies beside their ends, where no other seam shows it.

That a hem meets a hem over a side seam, and an armhole an armhole, is common practice. That two
opposite edges of a strip, sewn together walked alike round it, make a Moebius band is topology.
"""

from dataclasses import replace

import numpy as np
import pytest
from garments import a_set as a_set_of

from plotout.pattern.meetings import sewn_of
from plotout.pattern.model import Cut, Edge, Piece, Seam, Side
from plotout.review.ends_exchanged import ends_exchanged
from plotout.review.whole_set import review

from .test_joined_ways import SHIRT, a_set, wrong
from .test_open_rings import PAIRED, TUNIC

MORE = (
    """Front pair: hem side gusset_body gusset_sleeve under cuff over neck front;
    Back fold cb: hem side gusset_body gusset_sleeve under cuff over neck cb;
    Gusset x2: front_body back_body back_sleeve front_sleeve | side: Front side = Back side;
    a: Gusset front_body = Front gusset_body; b: Gusset -back_body = Back gusset_body;
    c: Gusset front_sleeve = Front gusset_sleeve; d: Gusset -back_sleeve = Back gusset_sleeve""",
    """Left: hem side waist front; Right: hem front waist side; Back: hem right waist left;
    Band: foot end top start | left: Left side = Back -left; right: Right -side = Back right;
    waist: Band foot = Right -waist, Back -waist, Left -waist""",
    """Front pair: hem side armhole shoulder neck gorge lapel front;
    Back fold cb: hem side armhole shoulder neck cb; Collar fold cb: neck gorge end outer cb |
    gorge: Front gorge = Collar -gorge; neck: Collar neck = Back -neck, Front neck""",
    """Sleeve pair: cuff_front slit_front slit_back cuff_back back cap front;
    Cuff x2: sleeve front_end outer back_end |
    cuff: Cuff -sleeve = Sleeve -cuff_front, Sleeve -cuff_back""",
    """Front: bottom right top left; Side x2: bottom back top front; Base: front right back left |
    side: Front right = Side -front; foot: Side bottom = Base right""",
)
EVERY = {**PAIRED, "tunic": TUNIC}
VEST = """Front pair: hem side armhole shoulder neck edge;
    Back fold centre: hem side armhole shoulder neck centre |
    side: Front side = Back side; shoulder: Front shoulder = Back shoulder"""
SKIRT = """Front fold cf: hem side waist cf; Back fold cb: hem side waist cb |
    side: Front side = Back side"""
WAISTCOAT = """Front pair: point hem_front dart leg hem_side side armhole_low armhole_high;
    Back pair: hem side armhole_low armhole_high | side: Front side = Back side"""
WAIST = """Front fold centre_front: hem side waist centre_front;
    Back fold centre_back: hem side waist centre_back;
    Band fold centre_back: foot end free centre_back |
    side: Front side = Back side; waist: Band -foot = Front -waist, Back waist"""
FOLDED = WAIST.replace("centre_front", "fold").replace("centre_back", "fold")
NAMED = FOLDED.replace(
    "Band fold fold: foot end free fold", "Band fold back_fold: foot end free back_fold"
)
CUFF = "Cuff x2: hand end inside start | end: Cuff end = Cuff -start"
OVERLAP = """Top pair: wrist back head front; Under pair: wrist front head back;
    Cuff x2: sleeve under_end free top_end |
    cuff: Top wrist, Under wrist = Cuff -sleeve"""  # its top end goes over the under sleeve
BAG = """Body x2: bottom right casing_right top casing_left left; Base: front back |
    sides: Body right = Body -left"""


def asked_of(made):
    return dict(ends_exchanged(sewn_of(made.seams, made.piece), made))


def asked(text):
    return list(asked_of(a_set(text)))


@pytest.mark.parametrize("name", EVERY)
def test_right_sets_and_each_of_their_seams_alone_are_not_asked(name):
    made = a_set(EVERY[name])
    assert asked_of(made) == {}
    for seam in made.seams:
        assert asked_of(replace(made, seams=(seam,))) == {}


@pytest.mark.parametrize("text", [VEST, SKIRT, WAIST, FOLDED, WAISTCOAT, CUFF, BAG, OVERLAP, *MORE])
def test_sets_of_few_seams_that_are_right_are_not_asked(text):
    assert asked(text) == []


@pytest.mark.parametrize(
    ("base", "old", "new", "seam", "words"),
    [
        (SKIRT, "Back side", "Back -side", "side", "walk 'Back' as edges = [\"side\"]"),
        (VEST, "Front side", "Front -side", "side", "walk 'Front' as edges = [\"side\"]"),
        (VEST, "Front shoulder", "Front -shoulder", "shoulder", "beside 'armhole' and 'neck'"),
        (WAISTCOAT, "Front side", "Front -side", "side", "'hem_side' and 'armhole_low'"),
        (SHIRT, "Front armhole, Back -armhole", "Back armhole, Front -armhole", "armhole", "alike"),
        (CUFF, "Cuff -start", "Cuff start", "end", "walk 'Cuff' as edges = [\"-start\"]"),
        (WAIST, "Band -foot", "Band foot", "waist", "walk 'Band' as edges = [\"-foot\"]"),
        (NAMED, "Band -foot", "Band foot", "waist", "walk 'Band' as edges = [\"-foot\"]"),
        (BAG, "Body -left", "Body left", "sides", "it twists that piece"),
    ],
)
def test_a_side_that_runs_the_wrong_way_is_asked_about(base, old, new, seam, words):
    found = asked_of(a_set(wrong(old, new, base)))
    assert list(found) == [seam]
    assert words in found[seam]


def test_a_cap_whose_edges_are_in_the_wrong_order_is_not_told_to_be_turned():
    """Its back first, each part still from the underarm: turned over, its parts would not join."""
    cap = SHIRT.replace(
        "Sleeve pair: hem front cap back", "Sleeve pair: hem front cap_front cap_back back"
    )
    swapped = wrong("Sleeve cap", "Sleeve cap_back, Sleeve cap_front", cap)
    assert "or in the wrong order" in asked_of(a_set(swapped))["armhole"]


def test_both_seams_of_a_vest_are_asked_about_and_the_review_says_so():
    both = wrong("Front side", "Front -side", wrong("Back shoulder", "Back -shoulder", VEST))
    assert asked(both) == ["side", "shoulder"]
    notes = [
        note for note in review(a_set(both)).notes if "what is called alike would meet" in note
    ]
    assert [note.split(":")[0] for note in notes] == ["seam 'side'", "seam 'shoulder'"]


@pytest.mark.parametrize(
    "names",
    [
        "hem side armhole; Back pair: neck side scye",  # nothing is called alike
        "hem side armhole; Back pair: scye side hem",  # only one end
        "a side b; Back pair: b side a",
        "1 side 2; Back pair: 2 side 1",
        "left side right; Back pair: right side left",  # from the other side of the cloth
        "hem_1 side hem_2; Back pair: hem_2 side hem_1",
    ],
)
def test_names_that_do_not_tell_the_ends_are_no_reason_to_ask(names):
    assert asked(f"Front pair: {names} | side: Front side = Back side") == []


@pytest.mark.parametrize(
    ("first", "old", "new", "found"),
    [
        ("-side", "", "", ["side"]),  # hem meets waist, and top meets hem
        ("side", "", "", []),
        ("-side", "Band foot = Front top, Back -waist", "Band foot = Front hem", []),  # a hem sewn
    ],
)
def test_a_hem_that_meets_what_is_sewn_is_asked_about_though_that_is_called_otherwise(
    first, old, new, found
):
    text = f"""Front fold cf: hem side top cf; Back fold cb: hem side waist cb;
        Band: foot end free start |
        side: Front {first} = Back side; waist: Band foot = Front top, Back -waist"""
    assert asked(text.replace(old, new)) == found


def triangle(name, **cut):
    """Half a rectangle of 300 x 200 mm, which can't be turned over onto itself."""
    corners = np.array([[0.0, 0.0], [300.0, 0.0], [0.0, 200.0], [0.0, 0.0]])
    edges = (Edge(n, corners[k : k + 2], (10.0, 10.0)) for k, n in enumerate(("low", "up", "left")))
    grain = np.array([[40.0, 30.0], [40.0, 120.0]])
    return Piece(name, tuple(edges), cuts=(Cut("self", **cut),), grain=grain)


@pytest.mark.parametrize(("back", "cut", "count"), [(True, {}, 0), (True, {"pair": True}, 1)])
def test_two_triangles_of_one_hand_make_a_rectangle_the_one_turned_round(back, cut, count):
    pieces = tuple(triangle(name, **cut) for name in ("Dark", "Light"))
    pieces = tuple(
        replace(p, edges=(*p.edges[:2], replace(p.edges[2], name="tall"))) for p in pieces
    )
    seam = Seam("slant", Side((("Dark", "up", False),)), Side((("Light", "up", back),)))
    assert len(asked_of(a_set_of(*pieces, seams=(seam,)))) == count


FACES = {  # as patternmakers of each language call them: from memory
    "en": ("Front", "Back", "fore", "hind"),
    "de": ("Vorderteil", "Rücken", "vorn", "hinten"),
    "de again": ("Vorderteil", "Rückenteil", "vordere", "hintere"),
    "fr": ("Devant", "Dos", "avant", "arrière"),
    "es": ("Delantero", "Trasero", "delantera", "trasera"),
    "es again": ("Frente", "Espalda", "frente", "espalda"),
    "it": ("Davanti", "Dietro", "davanti", "dietro"),
    "pt": ("Frente", "Costas", "frente", "costas"),
    "nl": ("Voorpand", "Rugpand", "voor", "achter"),
    "sv": ("Framstycke", "Bakstycke", "fram", "bak"),
    "da": ("Forstykke", "Ryg", "for", "bag"),
    "fi": ("Etukappale", "Takakappale", "etu", "taka"),
    "pl": ("Przód", "Tył", "przód", "tył"),
    "cs": ("Přední_díl", "Zadní_díl", "přední", "zadní"),
    "hu": ("Eleje", "Háta", "elöl", "hátul"),
}
SLEEVED = """F pair: h s arm shoulder n c; B fold d: h s arm shoulder n d;
    Sleeve pair: h f_under f_cap b_cap b_under | side: F s = B s; shoulder: F shoulder = B shoulder;
    under: Sleeve f_under = Sleeve -b_under; armhole: Sleeve f_cap, Sleeve b_cap = F arm, B -arm"""


@pytest.mark.parametrize("language", FACES)
def test_a_sleeve_set_in_back_to_front_is_asked_about_in_its_own_language(language):
    front, back, fore, hind = FACES[language]
    right = SLEEVED.replace("f_", f"{fore}_").replace("b_", f"{hind}_")
    right = right.replace("F ", f"{front} ").replace("B ", f"{back} ")
    assert asked(right) == []
    turned = wrong(f"{front} arm, {back} -arm", f"{back} arm, {front} -arm", right)
    assert asked(turned) == ["armhole"]


def test_a_word_of_another_language_shows_no_face():
    """A 'bag' is a back in Danish only, and 'for' a front."""
    text = SLEEVED.replace("f_", "for_").replace("b_", "bag_")
    text = text.replace("F ", "Front ").replace("B ", "Back ")
    assert asked(wrong("Front arm, Back -arm", "Back arm, Front -arm", text)) == []
