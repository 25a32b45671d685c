"""Hems in other languages, known by names that are alike: of a part beside a dart, of a cape.

That front and back of a garment lie with their grain alike is common practice, from memory.
"""

import pytest

from plotout.review.whole_set import review

from .test_tube_doubts import asked, piece, read, seam


def spaced(*parts):
    return [part.replace("~", " ") for part in parts]


def vest(front, back, part="Saum~Mitte"):
    """A front whose hem is in parts, beside a dart, sewn to its back at side and shoulder."""
    points = (0, 0), (120, 0), (240, 0), (240, 350), (220, 560), (110, 600), (0, 330)
    edges = f"Saum~Naht {part} Seite Armloch Schulter Hals Kante"
    plain = (0, 0), (240, 0), (240, 350), (220, 560), (110, 600), (0, 590)
    return spaced(
        piece("Vorne", points, edges, front),
        piece("Hinten", plain, "Saum Seite Armloch Schulter Hals Bruch", back),
        seam("Vorne Seite", "Hinten Seite"),
        seam("Vorne Schulter", "Hinten Schulter"),
    )


@pytest.mark.parametrize(("front", "back", "told"), [(90, 90, 0), (0, 90, 1), (90, 0, 1)])
def test_a_part_of_a_hem_is_known_by_the_name_of_the_other_hem(front, back, told):
    found = [note for note in asked(*vest(front, back)) if "is one turned?" in note]
    assert len(found) == told
    assert all("'Saum Mitte'" in note and "its 'Saum'" in note for note in found)


def test_edges_that_share_no_name_are_no_hems():
    """The seams show that the front is turned; nothing is said of where they end."""
    (note,) = asked(*vest(0, 90, "Unten"))
    assert "is one turned?" in note
    assert "Unten" not in note


@pytest.mark.parametrize(("front", "back", "told"), [(90, 90, 0), (0, 90, 1), (90, 0, 1)])
def test_the_grain_of_a_cape_is_compared_though_its_shoulders_are_round(front, back, told):
    """One seam goes from the hem over the shoulder to the neck, and both its sides turn alike."""
    points = (0, 0), (420, 0), (230, 560), (200, 600), (80, 640), (0, 600)
    edges = "alj oldal kint fent nyak eleje"
    parts = [piece(name, points, edges, at) for name, at in (("Front", front), ("Back", back))]
    found = asked(*parts, seam("Front oldal kint fent", "Back oldal kint fent"))
    assert len([note for note in found if "its 'alj'" in note]) == told


def test_the_free_end_of_a_band_called_as_the_open_side_that_it_meets_is_no_hem():
    skirt = [(0, 0), (240, 0), (240, 600), (0, 600)]
    found = asked(
        piece("Skirt", skirt, "foot side waist fold", 90, 'fold = "fold"'),
        piece(
            "Band",
            [(0, 0), (240, 0), (240, 70), (0, 70)],
            "waist side top fold",
            0,
            'fold = "fold"',
        ),
        seam("Skirt -waist", "Band waist"),
    )
    assert found == []


HEMS = [
    ("hem~front", "hem~back"),
    ("Saum~vorn", "Saum~hinten"),
    ("Vordersaum", "Hintersaum"),
    ("bas~devant", "bas~dos"),
    ("bajo~delantero", "bajo~espalda"),
    ("orlo~davanti", "orlo~dietro"),
    ("etuhelma", "takahelma"),
    ("fåll~fram", "fåll~bak"),
]


@pytest.mark.parametrize(("front", "back", "told"), [(90, 90, 0), (0, 90, 1), (90, 0, 1)])
@pytest.mark.parametrize("hems", HEMS)
def test_the_hems_of_a_cape_are_alike_but_for_front_and_back(hems, front, back, told):
    points = (0, 0), (420, 0), (230, 560), (200, 600), (80, 640), (0, 600)
    parts = [
        piece(name, points, f"{hem} oldal kint fent nyak eleje", at)
        for name, hem, at in (("One", hems[0], front), ("Two", hems[1], back))
    ]
    found = asked(*spaced(*parts), seam("One oldal kint fent", "Two oldal kint fent"))
    named = [hem.replace("~", " ") for hem in hems]
    assert len([note for note in found if all(f"its '{hem}'" in note for hem in named)]) == told


@pytest.mark.parametrize(
    ("front", "back", "strip", "told"),
    [(90, 90, False, 0), (0, 0, False, 0), (0, 90, False, 1), (90, 0, False, 1), (0, 90, True, 0)],
)
def test_two_pieces_on_the_fold_lie_alike_to_it_where_they_have_no_hem(front, back, strip, told):
    """A baby suit's legs end in cuffs. A bag's strip, folded at its bottom, goes round its side."""
    points, cuff = [(0, 0), (200, 0), (200, 500), (0, 500)], [(0, 0), (400, 0), (400, 60), (0, 60)]
    fold = 'fold = "middle"'
    parts = [
        piece("Front", points, "leg side shoulder middle", front, fold),
        piece("Back", points, "foot side shoulder middle", back, fold),
        piece("Cuff", cuff, "top end low start", 90),
    ]
    joins = [
        seam("Front side", "Back side"),
        seam("Front shoulder", "Back shoulder"),
        seam("Front leg", "Cuff top"),
    ]
    if strip:
        long = [(0, 0), (700, 0), (700, 80), (0, 80)]
        parts[0] = piece("Front", long, "leg side shoulder middle", front, fold)
        joins = [seam("Front leg", "Back foot side")]
    found = [note for note in asked(*parts, *joins) if "across its fold" in note]
    assert len(found) == told


@pytest.mark.parametrize(
    ("front", "back"),
    [("Ärmelsaum", "Saum"), ("ourlet", "bas"), ("bajo", "dobladillo"), ("裾", "前裾")],
)
def test_hems_are_known_by_their_words_in_other_languages(front, back):
    """Common practice, from memory. The pieces are sewn at one side only, and of one width."""
    box = (0, 0), (400, 0), (400, 350), (0, 350)
    parts = [
        piece("Eins", box, f"{front} a b c", 0.0),
        piece("Zwei", box, f"{back} a b c", 90.0),
        seam("Eins a", "Zwei a"),
    ]
    (note,) = asked(*parts)
    assert f"its '{front}'" in note
    assert asked(*(part.replace(front, "vorn~1").replace("~", "") for part in parts)) == []


@pytest.mark.parametrize(("faced", "told"), [(True, 0), (False, 2)])
def test_a_cowl_that_is_faced_by_itself_needs_no_neck_like_it_on_a_back_with_a_facing(faced, told):
    facing = """[[piece]]
name = "Back facing"
derive = { from = "Back", how = "facing", along = ["neck"], width = "50 mm" }
cut = [{ cloth = "self" }]
"""
    cowl = 'edge.neck = { allowance = "60 mm", facing = true }'
    square = (0, 0), (240, 0), (240, 500), (0, 500)
    found = review(
        read(
            piece("Front", square, "hem side neck centre", more=cowl),
            piece("Back", square, "hem side neck centre"),
            seam("Front side", "Back side"),
            facing if faced else "",
        )
    ).notes
    assert len([note for note in found if "at its end" in note]) == told
