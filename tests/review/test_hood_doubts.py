"""The grain of hoods, which runs up from the neck as the body's does: common practice, from memory.

So is it that collars, flaps and straps are cut either way, and a hood folded at its top along that.
"""

import numpy as np
import pytest

from plotout.review.grain_doubts import grain_doubts

from .test_tube_doubts import FOLD, piece, read, seam

BODY = (0, 0), (250, 0), (250, 400), (190, 560), (70, 600), (0, 530)
NAMES = "foot side armhole shoulder neck edge"
HOOD = (0, 0), (230, 0), (240, 330), (120, 360), (0, 250)
ON = "neck face top crown back"


def asked(*parts):
    whole = read(
        piece("Front", BODY, NAMES),
        piece("Back", (*BODY[:-1], (0, 580)), NAMES.replace("edge", "fold"), 90.0, FOLD),
        seam("Front side", "Back side"),
        seam("Front shoulder", "Back shoulder"),
        *parts,
    )  # fmt: skip
    return [note for note in grain_doubts(whole.seams, whole) if "runs along seam 'neck'" in note]


def neck(name, edge="neck"):
    return (
        f'[[seam]]\nname = "neck"\nfirst = {{ piece = "{name}", edges = ["{edge}"] }}\n'
        'second = [{ piece = "Back", edges = ["-neck"] }, { piece = "Front", edges = ["neck"] }]\n'
    )


def crown(name, *edges):
    side = f'{{ piece = "{name}", edges = {list(edges)} }}'
    return f'[[seam]]\nname = "crown"\nfirst = {side}\nsecond = {side}\n'


@pytest.mark.parametrize(
    ("degrees", "told"), [(90.0, 0), (60.0, 0), (45.0, 0), (20.0, 1), (0.0, 1)]
)
def test_a_hood_with_its_grain_along_the_neck_is_asked_about(degrees, told):
    found = asked(
        piece("Hood", HOOD, ON, degrees), neck("Hood"), crown("Hood", "top", "crown", "back")
    )
    assert found == told * [
        "Hood: its grain line runs along seam 'neck', but that of 'Back' and 'Front' doesn't: is "
        "it turned?"
    ]


@pytest.mark.parametrize(("degrees", "told"), [(90.0, 0), (0.0, 1)])
def test_so_is_one_with_a_strip_between_its_sides(degrees, told):
    strip = piece("Strip", ((0, 0), (90, 0), (90, 500), (0, 500)), "low a high b", cut="count = 1")
    found = asked(
        piece("Hood", HOOD, ON, degrees), strip, neck("Hood"),
        seam("Hood crown", "Strip -a"),
        seam("Hood crown", "Strip b").replace('name = "Hood', 'name = "2'),
    )  # fmt: skip
    assert len(found) == told


@pytest.mark.parametrize(("degrees", "told"), [(90.0, 0), (45.0, 0), (0.0, 1)])
def test_so_is_the_narrow_side_of_one_with_a_strip_on_a_circular_cape(degrees, told):
    """A quarter of a ring: its grain lies at 45 degrees to the chord of its neck."""
    turn = np.radians(np.linspace(0.0, 90.0, 7))
    rings = [
        np.column_stack([np.sin(turn), -np.cos(turn)])[::step] * radius
        for step, radius in ((1, 700.0), (-1, 66.0))
    ]
    hems, necks = ([f"{name}{k}" for k in range(6)] for name in ("hem", "neck"))
    cape = piece("Cape", np.vstack(rings), " ".join([*hems, "front", *necks, "back"]), 90.0)
    side = piece("Side", ((0, 0), (104, -15), (117, 300), (40, 300)), ON[:-5], degrees)
    strip = piece("Strip", ((0, 0), (60, 0), (60, 383), (0, 383)), "low a high b", cut="count = 1")
    whole = read(
        cape, side, strip, seam("Cape back", "Cape back"),
        seam("Side crown", "Strip -a"),
        seam("Side crown", "Strip b").replace('name = "Side', 'name = "2'),
        seam("Side neck", f"Cape {' '.join(necks)}").replace('name = "Side neck"', 'name = "neck"'),
    )  # fmt: skip
    assert len([note for note in grain_doubts(whole.seams, whole) if "seam 'neck'" in note]) == told


@pytest.mark.parametrize(
    ("name", "told"),
    [("Hood", 1), ("Kapuze", 1), ("Side hood", 1), ("Collar", 0), ("Neighbourhood", 0)],
)
def test_a_shallow_piece_is_a_hood_if_it_is_called_so(name, told):
    """Of a sleeping bag: less deep than its neck, as a collar is."""
    shape = (0, 0), (230, 0), (230, 150), (120, 160), (0, 110)
    found = asked(piece(name, shape, ON, 0.0), neck(name), crown(name, "top", "crown", "back"))
    assert len(found) == told


@pytest.mark.parametrize(
    "shape",
    [
        ((0, 0), (230, 0), (240, 80), (120, 90), (0, 80)),  # a collar
        ((0, 0), (60, 0), (60, 400), (30, 420), (0, 400)),  # a strap
        ((0, 0), (80, 0), (80, 100), (40, 110), (0, 100)),  # a flap
    ],
)
def test_what_may_be_cut_either_way_is_not(shape):
    found = asked(
        piece("Part", shape, ON, 0.0), neck("Part"), crown("Part", "top", "crown", "back")
    )
    assert found == []


def test_a_hood_folded_at_its_top_lies_along_its_fold():
    hood = piece("Hood", ((0, 0), (230, 0), (230, 330), (0, 330)), "neck face fold back", 0.0, FOLD)
    assert asked(hood, neck("Hood"), crown("Hood", "back")) == []


def test_a_front_sewn_to_its_back_and_to_a_sleeve_is_no_hood():
    sleeve = piece("Sleeve", ((0, 0), (400, 0), (400, 500), (0, 500)), "wrist right cap left", 90.0)
    cap = '[[seam]]\nname = "neck"\nfirst = { piece = "Sleeve", edges = ["cap"] }\nsecond = '
    cap += '[{ piece = "Front", edges = ["armhole"] }, { piece = "Back", edges = ["-armhole"] }]\n'
    assert asked(sleeve, cap, seam("Sleeve right", "Sleeve -left")) == []
