"""A front that meets none, where the other side of a seam has its own: common practice.

Where a collar, a hood or a band ends at its front, so does the front of the piece that it is on.
"""

from dataclasses import replace

import pytest
from garments import rectangle

from plotout.job import read_set
from plotout.pattern.meetings import sewn_of
from plotout.review.front_doubts import front_doubts, misnamed_fronts
from plotout.review.joined_ways import wrong_ways_joined
from plotout.review.whole_set import review

from .test_joined_ways import RIGHT, a_set, wrong

SHIRT = """Front pair front=cf: hem side armhole shoulder neck cf;
    Back fold cb: hem side armhole yoke cb; Yoke fold cb: foot armhole shoulder neck cb;
    Sleeve pair: hem front cap back; Stand fold fold front=end: neck end top fold;
    Collar fold fold front=end: stand end outer fold |
    side: Front side = Back side; shoulder: Front shoulder = Yoke shoulder;
    yoke: Yoke foot = Back -yoke; under: Sleeve front = Sleeve -back;
    armhole: Sleeve cap = Front armhole, Yoke -armhole, Back -armhole;
    neck: Stand neck = Yoke -neck, Front neck; collar: Collar stand = Stand -top;
    turned: Collar end, Collar outer = Collar end, Collar outer"""
WRAP = """Front pair front=cf: hem side waist cf; Back fold cb: hem side waist cb;
    Band fold fold front=end: foot end top fold; Tie x2: foot end top on |
    side: Front side = Back side; waist: Band foot = Back -waist, Front waist;
    tie: Tie on = Band -end"""
PAIRED = {**RIGHT, "yoke shirt": SHIRT, "wrap skirt": WRAP}


def asked(text):
    made = a_set(text)
    return list(front_doubts(made.seams, sewn_of(made.seams, made.piece), made.pieces))


@pytest.mark.parametrize("name", PAIRED)
def test_sets_that_are_right_are_not_asked(name):
    assert asked(PAIRED[name]) == []


SIDE_ONLY = "meets its own, '{}', at neither end"
ALONG = "is sewn along its own, '{}'"


@pytest.mark.parametrize(
    ("base", "old", "edge", "seam", "whose", "how"),
    [
        *((SHIRT, "Front pair front=cf", edge, "neck", "Front", SIDE_ONLY)
          for edge in ("hem", "side", "shoulder", "armhole")),
        (SHIRT, "Front pair front=cf", "neck", "neck", "Front", ALONG),
        (SHIRT, "Collar fold fold front=end", "outer", "collar", "Collar", SIDE_ONLY),
        (SHIRT, "Stand fold fold front=end", "neck", "neck", "Stand", ALONG),
        *((WRAP, "Front pair front=cf", edge, "waist", "Front", SIDE_ONLY)
          for edge in ("hem", "side")),
        (WRAP, "Band fold fold front=end", "top", "waist", "Band", SIDE_ONLY),
        (WRAP, "Band fold fold front=end", "foot", "waist", "Band", ALONG),
    ],
)  # fmt: skip
def test_a_front_that_the_wrong_edge_is_given_as_is_asked_about(base, old, edge, seam, whose, how):
    text = wrong(old, old.rpartition("=")[0] + f"={edge}", base)
    notes = asked(text)
    (note,) = [one for one in notes if one.startswith(f"seam '{seam}': ")]
    assert f"but '{whose}' {how.format(edge)}: is another edge the front of one of them?" in note
    found = review(a_set(text))
    assert note in found.notes
    made = a_set(text)
    assert not wrong_ways_joined(sewn_of(made.seams, made.piece)).seams


def test_a_sleeve_has_a_front_of_its_own():
    """By the words of the trade a sleeve has a front seam; no centre front meets it."""
    text = """Front pair front=cf: hem side armhole shoulder neck cf;
        Back fold cb: hem side armhole shoulder neck cb;
        Sleeve pair front=front: hem front cap back | side: Front side = Back side;
        shoulder: Front shoulder = Back shoulder; under: Sleeve front = Sleeve -back;
        armhole: Sleeve cap = Front armhole, Back -armhole"""
    assert asked(text) == []


def test_a_lapel_lies_between_collar_and_front():
    """The collar of a jacket ends at the lapel; the facing meets the front edge."""
    text = """Front pair front=edge: hem side armhole shoulder neck lapel edge;
        Back fold cb: hem side armhole shoulder neck cb; Collar fold f front=end: neck end top f;
        Facing pair front=edge: foot in shoulder neck lapel edge |
        side: Front side = Back side; shoulder: Front shoulder = Back shoulder;
        neck: Collar neck = Back -neck, Front neck;
        facing: Facing lapel, Facing edge = Front lapel, Front edge"""
    assert asked(text) == []


LAPELLED = """[set]
name = "Jacket"
style = "J-1"

[[piece]]
name = "Front"
points = [[0, 0], [260, 0], [250, 420], [230, 640], [110, 690], [70, 600], [0, 600]]
edges = ["hem", "side", "armhole", "shoulder", "neck", "lapel top", "front edge"]
front = "FRONT"
cut = { cloth = "self", pair = true }

[[piece]]
name = "Collar"
points = [[0, 0], [98.49, 0], [110, 80], [0, 80]]
edges = ["neck", "front end", "outer", "centre back"]
front = "front end"
fold = "centre back"
cut = { cloth = "self", on-fold = true, count = 2 }

[[seam]]
name = "collar"
first = { piece = "Collar", edges = "neck" }
second = { piece = "Front", edges = "neck" }
"""


@pytest.mark.parametrize(
    ("front", "asked"), [("front edge", False), ("lapel top", False), ("hem", True), ("side", True)]
)
def test_a_collar_ends_at_the_lapel_above_the_front(front, asked, tmp_path):
    """A notched collar ends where the lapel begins, which is cut on with the front."""
    (tmp_path / "jacket.toml").write_text(LAPELLED.replace("FRONT", front))
    notes = review(read_set(tmp_path / "jacket.toml")).notes
    assert any("has its front at the start" in note or "has its front at the end" in note
               for note in notes) is asked  # fmt: skip


@pytest.mark.parametrize(
    ("front", "names", "told"),
    [
        ("side", "hem side top centre_front", "'side', but 'centre front' is called a front"),
        ("centre back", "hem centre_back top front_edge", "'centre back', which is called a back"),
        ("hem", "hem side top front_edge", "'hem', but 'front edge' is called a front"),
        ("bas", "bas côté haut bord_devant", "'bas', but 'bord devant' is called a front"),
        ("Saum", "Saum Seite Hals Vorderkante", "'Saum', but 'Vorderkante' is called a front"),
        ("side", "hem side top other", ""),
        ("front edge", "hem side top front_edge", ""),
        ("lapel", "hem side lapel front_edge", ""),
        ("underarm", "hem underarm cap front_seam", ""),
        ("face", "neck face top back", ""),
    ],
)
def test_a_front_that_is_called_otherwise_is_asked_about(front, names, told):
    """Names as patternmakers give them, from memory."""
    made = rectangle("Part", 200.0, 300.0)
    called = [name.replace("_", " ") for name in names.split()]
    edges = tuple(replace(one, name=name) for one, name in zip(made.edges, called, strict=True))
    found = list(misnamed_fronts([replace(made, edges=edges, front=front)], []))
    assert found == [f'Part: its front is {told}: is front = "{front}" right?'] * bool(told)


def test_a_front_across_from_the_edge_called_so_is_asked_about():
    made = rectangle("Part", 200.0, 300.0)
    called = "side", "hem", "front edge", "neck"
    edges = tuple(replace(one, name=name) for one, name in zip(made.edges, called, strict=True))
    (note,) = misnamed_fronts([replace(made, edges=edges, front="side")], [])
    assert note.startswith("Part: its front is 'side', but 'front edge' is called a front")
    half = replace(made, edges=edges, front="side", fold="front edge")
    assert list(misnamed_fronts([half], [])) == []


@pytest.mark.parametrize(
    ("own", "other", "told"),
    [
        ("front end", "front edge", ""),
        ("front end", "lapel top", ""),  # where the collar ends
        ("outer", "front edge", "Collar: its front is 'outer', but 'front end' is called a front"),
    ],
)
def test_the_outer_edge_of_a_lapelled_collar_is_no_front(own, other, told, tmp_path):
    """The seam of its neck ends at the front end; of the body at the lapel."""
    text = LAPELLED.replace('front = "front end"', f'front = "{own}"').replace("FRONT", other)
    (tmp_path / "jacket.toml").write_text(text)
    notes = review(read_set(tmp_path / "jacket.toml")).notes
    found = [note for note in notes if "its front is" in note]
    assert found == [f'{told}: is front = "{own}" right?'] * bool(told)
