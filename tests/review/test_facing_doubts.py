"""Facings along a side, a shoulder or a sleeve's armhole, while the front edge is left open.

What is faced although something is sewn to it is common practice, from memory: a neck below a
collar or a hood, a waist beside a band, the mouth of a pocket.
"""

import pytest

from plotout.review.whole_set import review

from .test_tube_doubts import FOLD, piece, read, seam

BODY = (0, 0), (250, 0), (250, 320), (215, 330), (205, 560), (80, 590), (65, 520), (0, 500)
NAMES = "foot side armhole-low armhole shoulder neck-side neck"


def facing(parent, *along, more=""):
    edges = ", ".join(f'"{edge}"' for edge in along)
    return (
        f'[[piece]]\nname = "Facing"\nderive = {{ from = "{parent}", how = "facing", '
        f'along = [{edges}], width = "60 mm" }}\ncut = [{{ cloth = "self", pair = true }}]\n{more}'
    )


def jacket(*along, more="", sleeve=True):
    parts = [
        piece("Front", BODY, f"{NAMES} opening"),
        piece("Back", BODY, f"{NAMES} centre"),
        facing("Front", *along),
        seam("Front side", "Back side"),
        seam("Front shoulder", "Back shoulder"),
        seam("Back centre", "Back centre"),
        more,
    ]
    if sleeve:
        arms = 'second = [{ piece = "Front", edges = ["armhole-low", "armhole"] }, '
        arms += '{ piece = "Back", edges = ["-armhole", "-armhole-low"] }]\n'
        box = (0, 0), (300, 0), (330, 400), (165, 520), (0, 400)
        parts += [
            piece("Sleeve", box, "wrist right front-cap back-cap left"),
            seam("Sleeve right", "Sleeve -left"),
            '[[seam]]\nname = "arm"\n'
            'first = { piece = "Sleeve", edges = ["front-cap", "back-cap"] }\n' + arms,
        ]
    return asked(*parts)


def asked(*parts):
    return [note for note in review(read(*parts)).notes if "is along right" in note]


@pytest.mark.parametrize(
    ("along", "at", "other"),
    [
        (("side",), "Front side", "Back"),
        (("shoulder",), "Front shoulder", "Back"),
        (("armhole-low", "armhole"), "arm", "Sleeve"),
    ],
)
def test_a_facing_along_what_goes_on_is_asked_about_while_the_front_is_open(along, at, other):
    (note,) = jacket(*along)
    named = " and ".join(f"'{edge}'" for edge in along)
    assert note == (
        f"Facing: it faces {named} of 'Front', which seam '{at}' sews to '{other}', but 'foot' "
        "and 'neck-side' and 'neck' and 'opening' are in no seam: is along right?"
    )


@pytest.mark.parametrize(
    ("along", "sleeve"),
    [
        (("opening",), True),
        (("neck-side", "neck"), True),
        (("neck", "opening"), True),
        (("foot",), True),
        (("armhole-low", "armhole"), False),
        (("armhole-low", "armhole", "shoulder", "neck-side", "neck"), False),  # all in one
    ],
)
def test_what_ends_the_garment_may_be_faced(along, sleeve):
    assert jacket(*along, sleeve=sleeve) == []


@pytest.mark.parametrize("high", [80, 300])
def test_a_neck_below_a_collar_or_a_hood_may_be_faced(high):
    sewn = piece(
        "Collar", ((0, 0), (150, 0), (150, high), (0, high)), "neck end top fold", 90.0, FOLD
    )
    assert jacket("neck", more=sewn + seam("Collar -neck", "Back neck")) == []
    assert jacket("neck", more=sewn + seam("Collar -neck", "Front neck")) == []


def test_a_facing_along_a_shoulder_and_a_shawl_collars_neck_is_asked_about():
    """The collar is in one with the front: its edge is sewn to the back's neck."""
    shawl = (0, 0), (250, 0), (250, 320), (215, 330), (205, 560), (80, 590), (70, 690), (0, 680)
    found = asked(
        piece("Front", shawl, f"{NAMES.replace('neck-side neck', 'neck head')} opening"),
        piece("Back", BODY, f"{NAMES} centre"),
        facing("Front", "shoulder", "neck"),
        seam("Front side", "Back side"),
        seam("Front shoulder", "Back shoulder"),
        seam("Front neck", "Back -neck-side"),
    )
    assert len(found) == 1
    assert "'foot' and 'armhole-low' and 'armhole' and 'head' and 'opening' are" in found[0]


@pytest.mark.parametrize("low", [330, 345])  # an armhole that begins level, or at 126 degrees
@pytest.mark.parametrize(
    ("along", "told"),
    [(("neck", "end"), 1), (("end", "opening"), 0), (("end",), 0), (("neck", "end", "opening"), 0)],
)
def test_a_facing_along_a_shawl_collars_neck_and_centre_back_is_asked_about(along, told, low):
    """The collar's other edge, on which it turns over, is open: its facing lies along that."""
    shawl = (0, 0), (250, 0), (250, 320), (215, low), (205, 560), (80, 590), (70, 690), (0, 680)
    back = (*BODY[:3], (215, low), *BODY[4:])
    found = asked(
        piece("Front", shawl, f"{NAMES.replace('neck-side neck', 'neck end')} opening"),
        piece("Back", back, f"{NAMES} centre"),
        facing("Front", *along),
        seam("Front side", "Back side"),
        seam("Front shoulder", "Back shoulder"),
        seam("Front neck", "Back -neck-side"),
        seam("Front end", "Front end"),
    )
    assert len(found) == told
    assert all("'opening' are in no seam" in note for note in found)


def test_a_front_edge_that_is_sewn_to_a_lining_may_be_faced():
    """Both are sewn to each other at the foot and the front, and turned."""
    lining = piece("Lining", BODY, f"{NAMES} opening").replace('"self"', '"silk"')
    bagged = lining + seam("Front foot", "Lining foot") + seam("Front opening", "Lining opening")
    assert jacket("opening", more=bagged) == []


def test_a_facing_that_is_called_after_its_edge_is_meant_so():
    called = facing("Front", "side").replace('"Facing"', '"Side facing"')
    assert jacket("opening", more=called) == []


def test_a_facing_that_is_sewn_to_the_edge_itself_is_not_asked_about():
    assert jacket("side", more=seam("Facing side", "Front side")) == []


def test_a_waist_with_a_band_and_a_pockets_mouth_may_be_faced():
    skirt = (0, 0), (250, 0), (250, 400), (180, 600), (0, 600)
    bag = (0, 0), (150, 0), (150, 120), (80, 320), (0, 320)
    for edge in ("waist", "mouth"):
        assert asked(
            piece("Front", skirt, "foot side mouth waist opening"),
            piece("Back", skirt, "foot side hip waist centre"),
            piece("Bag", bag, "foot side mouth waist inner"),
            piece("Band", ((0, 0), (180, 0), (180, 60), (0, 60)), "waist end top other", 0.0),
            facing("Front", edge),
            seam("Front side", "Back side"),
            seam("Front mouth", "Bag mouth"),
            seam("Front waist", "Band -waist"),
        ) == []  # fmt: skip


@pytest.mark.parametrize(("along", "told"), [("side", 1), ("shoulder", 1), ("opening", 0)])
def test_a_waistcoats_back_of_lining_goes_on_from_its_lined_front(along, told):
    lining = '[[piece]]\nname = "Front lining"\nderive = { from = "Front", how = "lining" }\n'
    lining += 'cut = [{ cloth = "lining", pair = true }]\n'
    found = asked(
        piece("Front", BODY, f"{NAMES} opening"),
        piece("Back", BODY, f"{NAMES} centre").replace('cloth = "self"', 'cloth = "lining"'),
        facing("Front", along),
        lining,
        seam("Front side", "Back side"),
        seam("Front shoulder", "Back shoulder"),
        seam("Back centre", "Back centre"),
    )
    assert len(found) == told, found


@pytest.mark.parametrize(("edge", "told"), [("end", 1), ("opening", 0), ("neck", 0)])
def test_a_facing_wider_than_its_edge_is_long_is_asked_about(edge, told):
    """The short end of a front's neck, 50 mm, where a facing of 60 mm is meant for its opening."""
    points = (0, 0), (250, 0), (250, 560), (80, 590), (50, 500), (0, 500)
    made = read(
        piece("Front", points, "foot side shoulder neck end opening"), facing("Front", edge)
    )
    found = [note for note in review(made).notes if "mm wide: is along right" in note]
    assert found == told * [
        "Facing: it runs along 'end' of 'Front', 50 mm long, but is 60 mm wide: is along right?"
    ]
