"""The grain of what is sewn in between others: godets, panels. Angles as the pieces are made.

What is cut across on purpose is common practice, from memory: strips, gussets, sleeves.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from plotout.opening import read_set
from plotout.review.grain_doubts import grain_doubts

from .test_tube_doubts import FOLD, asked, piece, read, seam

TALL = (0, 0), (200, 0), (190, 300), (150, 700), (0, 700)


def godet(degrees, tip=56.0, gore=90.0, more="", hem="rim"):
    """Gores 700 mm long of which the lowest 300 mm go to a godet with this angle at its tip.

    Its hem is an arc about its tip.
    """
    turns = np.radians(np.linspace(-tip / 2.0, tip / 2.0, 61))
    arc = np.hypot(10.0, 300.0) * np.column_stack([np.sin(turns), -np.cos(turns)])
    whole = read(
        piece("Gore", TALL, f"{hem} low side waist centre".replace("rim", "foot"), gore),
        piece("Godet", [*arc[[0, -1]], (0.0, 0.0)], f"{hem} right left", degrees, more),
        seam("Gore low", "Godet -left"),
        seam("Gore -low", "Godet right").replace('name = "Gore -low"', 'name = "other"'),
    )
    gored, flared = whole.pieces
    edges = [replace(edge, points=arc) if edge.name == hem else edge for edge in flared.edges]
    whole = whole.with_pieces([gored, replace(flared, edges=tuple(edges))])
    return list(grain_doubts(whole.seams, whole))


@pytest.mark.parametrize("tip", [20.0, 40.0, 56.0])
def test_a_godet_with_its_grain_across_is_asked_about(tip):
    (note,) = godet(0.0, tip)
    off = f"{90 - tip / 2:.0f} degrees off"
    assert note == (
        f"Godet: its grain line lies {off} 'left' and {off} 'right', at both its sides, though "
        "that of 'Gore' runs along the seams there: is it turned?"
    )


@pytest.mark.parametrize(
    ("degrees", "gore", "more"),
    [
        (90.0, 90.0, ""),
        (75.0, 90.0, ""),  # along one of its sides, or in between
        (62.0, 90.0, ""),
        (0.0, 0.0, ""),  # the whole skirt lies across
        (0.0, 90.0, "bias = true"),
        (45.0 + 28.0, 90.0, ""),  # drawn on the bias to one side
    ],
)
def test_a_godet_with_the_grain_of_its_gores_or_on_the_bias_is_not(degrees, gore, more):
    assert godet(degrees, gore=gore, more=more) == []


@pytest.mark.parametrize("tip", [30.0, 56.0, 90.0, 120.0, 150.0])
def test_the_hem_of_a_godet_is_compared_as_a_whole_though_it_turns_up_to_the_seam(tip):
    """At 150 degrees it runs up to the seam within 15 degrees of a grain line that is right."""
    assert godet(90.0, tip, hem="hem") == []
    found = godet(0.0, tip, hem="hem")
    assert len(found) == (tip < 150.0)
    assert all("the grain of 'Godet' runs along its 'hem'" in note for note in found)


def back(degrees, name="Back", fold=True):
    """A back panel between a centre back, on the fold or with a seam, and its side panel.

    Its shoulder slopes by 22 degrees.
    """
    slope = 60.0 * np.tan(np.radians(22.0))
    points = (0, 0), (160, 0), (120, 850), (130, 1000), (70, 1000 + slope), (0, 1030)
    parts = [
        piece(name, points, "foot princess armhole shoulder neck fold", degrees, FOLD * fold),
        piece("Side", [(0, 0), (150, 0), (130, 850), (40, 850)], "hem side arm princess"),
        seam(f"{name} princess", "Side -princess"),
    ]
    return asked(*parts, *([] if fold else [seam(f"{name} fold", f"{name} fold")]))


@pytest.mark.parametrize("fold", [True, False])
def test_a_back_panel_with_its_grain_along_its_shoulder_is_asked_about(fold):
    (note,) = back(180.0 - 22.0, fold=fold)
    assert note.startswith("Back: its grain line lies ")
    assert "68 degrees off 'fold'" in note
    assert "though that of 'Side' runs along" in note
    assert len(back(90.0 + 20.0, fold=fold)) == 1
    assert back(90.0 + 14.0, fold=fold) == back(90.0, fold=fold) == back(135.0, fold=fold) == []


def trousers(degrees):
    """A pair of legs of which the crotch hooks out from the centre front.

    Its side leans by 2.1 degrees one way, its inseam by 4.2 the other way, and the chord of the
    crotch and centre front together by 16.4 as the side does.
    """
    points = (75, 20), (335, 20), (365, 820), (345, 1020), (95, 1020), (95, 800), (20, 765)
    words = "hem side hip waist centre crotch inseam"
    return asked(
        piece("Front", points, words, degrees),
        piece("Back", points, words, 90.0),
        seam("Front side", "Back side"),
        seam("Front inseam", "Back inseam"),
        seam("Front centre crotch", "Front centre crotch"),
    )


@pytest.mark.parametrize(
    ("degrees", "side", "inseam"),
    [(70.0, 18, 24), (65.0, 23, 29), (110.0, 22, 16), (115.0, 27, 21)],
)
def test_no_crotch_shows_that_a_leg_may_lean_to_its_centre(degrees, side, inseam):
    (note,) = trousers(degrees)
    off = f"{side} degrees off 'side' and {inseam} degrees off 'inseam'"
    assert note.startswith(f"Front: its grain line lies {off}, at both its sides")


@pytest.mark.parametrize("degrees", [74.0, 85.0, 90.0, 95.0, 105.0, 135.0])
def test_a_leg_along_either_side_or_on_the_bias_is_not_asked_about(degrees):
    assert trousers(degrees) == []


def between(points, edges, sides, degrees=0.0, more="", beside=90.0):
    """A piece sewn at two sides, or more, to cloth with its grain along the seams."""
    parts = [piece("It", points, edges, degrees, more)]
    for number, name in enumerate(sides.split()):
        at = edges.split().index(name)
        long = float(np.hypot(*np.subtract(points[at], points[(at + 1) % len(points)])))
        panel = [(0, 0), (400, 0), (400, long), (0, long)]
        other = f"P{number}"
        parts += [piece(other, panel, f"f{number} a b c", beside), seam(f"{other} a", f"It {name}")]
    return asked(*parts)


PANEL = (0, 0), (120, 0), (120, 600), (0, 600)
DIAMOND = (0, -70), (35, 0), (0, 70), (-35, 0)


@pytest.mark.parametrize(
    ("points", "edges", "sides", "told"),
    [
        (PANEL, "a right c left", "right left", 1),
        (PANEL, "a right c left", "right", 0),  # a band: nothing holds its other side
        ([(0, 0), (50, 0), (50, 600), (0, 600)], "a right c left", "right left", 0),  # a stripe
        ([(0, 0), (120, 0), (120, 100), (0, 100)], "a right c left", "right left", 0),  # a yoke
        (PANEL, "low right top left", "right left low top", 0),  # its grain runs along two of them
        (DIAMOND, "a b c d", "a b c d", 0),  # a gusset
    ],
)
def test_panels_are_asked_about_and_what_lies_either_way_is_not(points, edges, sides, told):
    assert len(between(points, edges, sides)) == told
    assert between(points, edges, sides, 90.0) == []
    assert between(points, edges, sides, beside=45.0) == []


@pytest.mark.parametrize("degrees", [0.0, 90.0])
def test_a_neck_band_folded_at_its_centre_between_a_body_and_a_collar_is_not(degrees):
    """Half a strip of 462 by 64 mm, which may be cut either way."""
    band = (0, 0), (231, 0), (231, 64), (0, 64)
    edges, more = "neck front collar end", 'fold = "end"'
    assert between(band, edges, "neck collar", degrees, more) == []


def test_a_sleeve_between_a_body_and_its_cuff_is_not():
    """A dropped shoulder: the grain runs along the arm, across both its seams with other pieces."""
    sleeve = (0, 0), (240, 0), (240, 440), (0, 440)
    found = asked(
        piece("Body", [(0, 0), (500, 0), (500, 440), (0, 440)], "hem arm top side"),
        piece("Cuff", [(0, 0), (80, 0), (80, 440), (0, 440)], "a sewn c free"),
        piece("Sleeve", sleeve, "under cuff over arm", 0.0),
        seam("Sleeve arm", "Body -arm"),
        seam("Sleeve cuff", "Cuff -sewn"),
        seam("Sleeve under", "Sleeve -over"),
    )
    assert found == []


def test_nothing_is_asked_about_the_grain_of_the_sample():
    sample = Path(__file__).parents[2] / "samples" / "beekeepers-smock" / "set.toml"
    whole = read_set(sample)
    assert list(grain_doubts(whole.seams, whole)) == []


def test_a_pocket_bag_sewn_round_a_corner_follows_its_straight_side():
    """Its slanted mouth lies 24 degrees off its grain; the other seam goes down it and along."""
    front = (0, 0), (220, 0), (220, 700), (165, 820), (0, 820)
    bag = (0, 0), (130, 0), (130, 220), (75, 340), (0, 340)
    whole = read(
        piece("Front", front, "hem side mouth top rise"),
        piece("Hip", bag, "foot side mouth top inner"),
        piece("Bag", bag, "foot side mouth top inner"),
        seam("Front mouth", "Bag -mouth"),
        seam("Hip inner foot", "Bag inner foot"),
    )  # fmt: skip
    assert list(grain_doubts(whole.seams, whole)) == []
