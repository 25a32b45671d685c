"""The grain of panels with a free side, and of fronts to their backs. Angles as pieces are made.

What may be cut either way is common practice, from memory: bands, yokes, waistbands, cuffs.
"""

import pytest

from .test_tube_doubts import FOLD, asked, piece, seam


def box(wide, tall, foot=0):
    return (0, foot), (wide, foot), (wide, foot + tall), (0, foot + tall)


def bustier(turned):
    """Four panels: the back is laced, so that nothing is sewn to its other side."""
    edges = {"Front": "foot a top fold", "Side": "foot b top a", "Rear": "foot c top b",
             "Back": "foot lacing top c"}  # fmt: skip
    wides = {"Front": 80, "Side": 110, "Rear": 100, "Back": 90}
    return asked(
        *(piece(name, box(wides[name], 300), words, 0.0 if name == turned else 90.0,
                FOLD * (name == "Front")) for name, words in edges.items()),
        seam("Front a", "Side -a"),
        seam("Side b", "Rear -b"),
        seam("Rear c", "Back -c"),
    )  # fmt: skip


@pytest.mark.parametrize("turned", ["", "Front", "Side", "Rear", "Back"])
def test_a_bustier_with_one_panel_turned_is_asked_about(turned):
    found = bustier(turned)
    assert len(found) == bool(turned), found
    assert all(f"'{turned}'" in note or note.startswith(f"{turned}: ") for note in found)
    if turned == "Back":
        assert found == ["Back: its grain line lies across seam 'Rear c', but that of 'Rear' "
                         "along it: is it turned?"]  # fmt: skip


def waistcoat(front=90.0, back=90.0, slope=25.0, side=8.0):
    """A pair of fronts that nothing is sewn to at their front, and a pair of backs. slope: mm that
    the shoulder falls; side: mm that its side leans.
    """
    points = (
        (0, 0),
        (250 - side, 0),
        (250, 350),
        (190, 400),
        (180, 560 - slope),
        (70, 560),
        (0, 300),
    )
    words = "foot side armhole-low armhole shoulder neck"
    return asked(
        piece("Front", points, f"{words} opening", front),
        piece("Back", points, f"{words} centre", back),
        seam("Front side", "Back side"),
        seam("Front shoulder", "Back shoulder"),
        seam("Back centre", "Back centre"),
    )


@pytest.mark.parametrize(
    ("front", "back", "told"),
    [(90, 90, 0), (0, 90, 1), (90, 0, 1), (0, 0, 0), (82, 98, 0), (45, 90, 0), (10, 85, 1)],
)
@pytest.mark.parametrize("slope", [10.0, 50.0])
def test_a_front_open_at_its_front_lies_as_its_back_does(front, back, told, slope):
    found = waistcoat(front, back, slope)
    assert len(found) == told, found
    assert all("is one turned?" in note for note in found)


SKIRT = box(350, 600)


@pytest.mark.parametrize(
    ("own", "wide", "tall", "degrees"),
    [
        ("a band of the front, across", 60, 500, 0.0),
        ("a wide band, across", 90, 500, 0.0),
        ("a flounce, wider than long", 500, 450, 0.0),
        ("a panel on the bias", 250, 500, 45.0),
        ("a panel", 250, 500, 90.0),
    ],
)
def test_what_may_lie_either_way_along_a_side_is_not_asked_about(own, wide, tall, degrees):
    found = asked(
        piece("Front", box(250, 500), "foot side top edge"),
        piece("It", box(wide, tall), "foot free top sewn", degrees),
        seam("Front side", "It -sewn"),
    )
    assert found == [], own


@pytest.mark.parametrize("skirt", [(700, 450), (700, 250), (300, 600)])
@pytest.mark.parametrize(("band", "tall"), [(0.0, 60), (0.0, 120), (90.0, 120)])
def test_a_waistband_or_a_yoke_across_a_skirts_grain_is_not(skirt, band, tall):
    found = asked(
        piece("Skirt", box(*skirt), "foot right waist left"),
        piece("Band", box(skirt[0], tall), "skirt end top start", band),
        seam("Skirt waist", "Band -skirt"),
    )
    assert found == []


@pytest.mark.parametrize("grain", [0.0, 90.0])
def test_a_yoke_of_a_body_in_one_piece_is_not(grain):
    """A body from front to back over the sides; its yoke lies between both."""
    body = (0, 0), (500, 0), (500, 300), (300, 300), (250, 200), (200, 300), (0, 300)
    found = asked(
        piece("Body", body, "foot front front-yoke hole-front hole-back back-yoke back"),
        piece("Yoke", box(200, 120), "own-front armhole own-back neck", grain),
        seam("Body front-yoke", "Yoke own-front"),
        seam("Body back-yoke", "Yoke own-back"),
    )
    assert found == []


@pytest.mark.parametrize("deep", [180, 450])
def test_a_straight_sleeve_whose_grain_runs_along_the_arm_is_not(deep):
    """Its head is sewn to the body along the body's grain."""
    body = (0, 0), (300, 0), (300, 450), (300, 950), (300, 1400), (0, 1400)
    found = asked(
        piece("Body", body, "foot side armhole side-back foot-back centre"),
        piece("Sleeve", box(500, deep), "wrist right head left"),
        seam("Body armhole", "Sleeve -head"),
        seam("Sleeve right", "Sleeve -left"),
    )
    assert found == []


@pytest.mark.parametrize(("sleeve", "told"), [(90.0, 0), (0.0, 1)])
def test_a_sleeve_sewn_in_flat_is_a_tube_by_the_seam_that_goes_on_from_the_side(sleeve, told):
    side = '{{ piece = "{}", edges = ["{}"] }}'
    found = asked(
        piece("Front", box(250, 500), "foot side top fold", 90.0, FOLD),
        piece("Back", box(250, 500), "foot side top fold", 90.0, FOLD),
        piece("Sleeve", box(340, 250), "wrist right head left", sleeve),
        '[[seam]]\nname = "side and arm"\n'
        f"first = [{side.format('Front', 'side')}, {side.format('Sleeve', '-right')}]\n"
        f"second = [{side.format('Back', 'side')}, {side.format('Sleeve', 'left')}]\n",
    )
    assert len(found) == told, found
    assert all("closes 'Sleeve' to a tube, but the grain runs round" in note for note in found)


@pytest.mark.parametrize(("lengths", "told"), [(5, 0), (1, 1)])
def test_lengths_of_a_tier_may_be_cut_either_way(lengths, told):
    """Five of 450 by 250 mm make a band of 2250 mm; one is a tube, a short sleeve."""
    found = asked(
        piece("Tier", box(450, 250), "foot right head left", 0.0),
        piece("Band", box(900, 60), "sewn end free start", 0.0),
        seam("Tier right", "Tier -left"),
        seam("Tier head", "Band -sewn").replace("'head']", f"'head'], times = {lengths}"),
    )
    assert len(found) == told, found


SHORT = (0, 0), (280, 0), (425, 158), (140, 290), (-145, 158)
SHORTS = (40, 0), (550, 0), (590, 200), (500, 450), (90, 450), (0, 200)


@pytest.mark.parametrize(("turned", "told"), [(90.0, 0), (0.0, 1)])
@pytest.mark.parametrize(
    ("points", "edges", "low", "high"),
    [
        (SHORT, "wrist right front-cap back-cap left", "right", "left"),
        (SHORTS, "foot right front waist back left", "right", "left"),
    ],
)
def test_a_short_tube_is_as_deep_as_its_piece(points, edges, low, high, turned, told):
    """A short sleeve is as deep as its underarm and its cap, shorts as their leg and crotch."""
    found = asked(piece("It", points, edges, turned), seam(f"It {low}", f"It -{high}"))
    assert len(found) == told, found
