"""What a set leaves unsaid of its seams: counted by hand; what bands and gussets are is common."""

from dataclasses import replace

import numpy as np
import pytest
from garments import a_set, rectangle

from plotout.pattern.model import Cut, Seam, Side
from plotout.pattern.settings import Corner
from plotout.review.whole_set import review

UP = np.array([[50.0, 10.0], [50.0, 40.0]])
ONE, TWO = (Cut("self"),), (Cut("self", 2),)


def piece(name, cuts=ONE):
    return rectangle(name, 100, 60, 10, grain=UP, cuts=cuts)


def seam(name, first, second):
    sides = []
    for text in (first, second):
        piece_name, edge = text.split()
        sides.append(Side(((piece_name, edge.lstrip("-"), edge.startswith("-")),)))
    return Seam(name, *sides)


def found(pieces, *seams):
    made = review(a_set(*pieces, seams=seams))
    return made.unsaid, [note for note in made.notes if "does each seam need its own" in note]


OUT, IN = seam("outside", "Band foot", "Panel top"), seam("inside", "Band -top", "Panel top")


def test_a_band_to_one_panel_is_understood_as_folded_over_it():
    unsaid, asked = found((piece("Panel"), piece("Band")), OUT, IN)
    assert (
        "folded: Band, since 'foot' and 'top' go to 'top' of Panel, of which 1 is cut; "
        "to join two, cut more of it"
    ) in unsaid
    assert asked == []


def test_a_gusset_between_two_panels_is_not_folded():
    unsaid, asked = found((piece("Panel", TWO), piece("Band")), OUT, IN)
    assert not any(line.startswith("folded") for line in unsaid)
    assert asked == []


@pytest.mark.parametrize(
    ("cuts", "other", "walls", "told"),
    [
        ((Cut("self", pair=True),), "right", 3, 0),
        ((Cut("self", pair=True),), "-right", 3, 1),  # both seams need the door as it is drawn
        ((Cut("self", pair=True),), "right", 0, 1),  # two walls, each with a door at both edges
        (TWO, "right", 3, 1),  # two doors alike: to one edge, one of them is upside down
    ],
)
def test_of_a_pair_one_goes_to_each_edge_of_a_piece_that_is_not_mirrored(cuts, other, walls, told):
    """A tent of three walls and two doors, round which the seams lead once."""
    seams = [seam("one", "Door left", "Wall -left"), seam("two", "Door left", f"Wall {other}")]
    if walls:
        seams = [seam("walls", "Wall right", "Wall -left"), *seams]
    pieces = piece("Door", cuts), piece("Wall", (Cut("self", walls or 2),))
    unsaid, asked = found(pieces, *seams)
    assert len([line for line in unsaid if line.startswith("folded")] + asked) == told


def test_a_strip_whose_ends_are_sewn_to_other_than_bands_is_no_band():
    """The bottom of a bag, its ends in the bag's ends, can't be folded: it needs two panels."""
    ends = seam("end", "End foot", "Band left"), seam("other end", "End foot", "Band right")
    pieces = piece("Panel"), piece("Band"), piece("End", TWO)
    unsaid, asked = found(pieces, OUT, IN, *ends)
    assert not any(line.startswith("folded") for line in unsaid)
    assert asked == [
        "seam 'inside': 'top' of 'Panel' is in seam 'outside' too, and only 1 is cut: does each "
        "seam need its own?"
    ]
    assert found((piece("Panel", TWO), *pieces[1:]), OUT, IN, *ends)[1] == []


@pytest.mark.parametrize(
    ("panel", "band", "folded", "lacking"),
    [
        ((2, 2), (1, 1), 0, 0),
        ((2, 1), (1, 1), 0, 1),  # one lining short
        ((1, 1), (1, 1), 1, 0),  # both are folded over it
        ((2, 1), (1, 0), 0, 0),  # the gusset isn't lined
    ],
)
def test_each_cloth_of_a_lined_bag_is_counted_by_itself(panel, band, folded, lacking):
    """A gusset of each cloth takes two panels of it, or is a band folded over one. By hand."""
    pieces = [
        piece(
            name,
            tuple(Cut(cloth, n) for cloth, n in zip(("self", "silk"), counts, strict=True) if n),
        )
        for name, counts in (("Panel", panel), ("Band", band))
    ]
    unsaid, asked = found(pieces, OUT, IN)
    assert len([line for line in unsaid if line.startswith("folded")]) == folded
    assert len(asked) == lacking
    assert all("too, and only 1 is cut of silk: does" in note for note in asked)


def test_what_two_seams_need_along_several_edges_is_asked_about_once():
    """A bag's bottom round three edges of a body, of whose lining one is cut instead of two."""
    edges = [("Panel", edge, False) for edge in ("foot", "right", "top")]
    sides = [Side(tuple(edges)), Side((("Band", "foot", False),)), Side((("Band", "top", True),))]
    seams = Seam("outside", *sides[:2]), Seam("inside", sides[0], sides[2])
    pieces = piece("Panel", (*TWO, Cut("silk"))), piece("Band", (*ONE, Cut("silk")))
    (asked,) = found(pieces, *seams)[1]
    assert "'foot' and 'right' and 'top' of 'Panel' are in seam 'outside' too" in asked


def test_a_waistband_in_two_parts_is_folded():
    """Its ends are sewn to each other: bands to bands."""
    pieces = [piece(name) for name in ("Front", "Back", "FrontBand", "BackBand")]
    seams = [
        seam(f"{name} {where}", f"{name}Band {edge}", f"{name} top")
        for name in ("Front", "Back")
        for where, edge in (("outside", "foot"), ("inside", "-top"))
    ]
    unsaid, asked = found(pieces, *seams, seam("side", "FrontBand right", "BackBand -left"))
    assert [line.split(",")[0] for line in unsaid if line.startswith("folded")] == [
        "folded: FrontBand",
        "folded: BackBand",
    ]
    assert asked == []


def test_an_edge_between_two_other_pieces_is_not_asked_about():
    """A neck between collar and facing is one edge in two seams, and cut once."""
    pieces = piece("Body"), piece("Collar"), piece("Facing")
    seams = seam("collar", "Collar foot", "Body top"), seam("facing", "Facing top", "Body top")
    unsaid, asked = found(pieces, *seams)
    assert asked == []
    assert not any(line.startswith("folded") for line in unsaid)


def test_what_is_in_no_seam_in_layers_and_left_over_is_stated():
    """Of two yokes one body takes one. A sleeve's top is taken twice, its foot once by one cuff."""
    hem = piece("Body")
    turned = (replace(hem.edges[0], corner=Corner.TURNED), *hem.edges[1:])
    pieces = (
        replace(hem, edges=turned),
        piece("Yoke", TWO),
        piece("Sleeve", TWO),
        piece("Cuff"),
        piece("Loop"),
    )
    seams = (
        seam("yoke", "Body top", "Yoke -foot"),
        seam("left", "Sleeve top", "Body left"),
        seam("right", "Sleeve top", "Body right"),
        seam("cuff", "Sleeve foot", "Cuff -top"),
    )
    assert found(pieces, *seams)[0] == (
        "in no seam: 'right' and 'top' and 'left' of Yoke, 'right' and 'left' of Sleeve, "
        "'foot' and 'right' and 'left' of Cuff, Loop",
        "in layers, each with its own seams: 2 of Yoke",
        "not all sewn: 'foot' of Sleeve (2 cut, 1 sewn)",
    )


def test_a_set_without_seams_leaves_nothing_to_understand():
    assert found((piece("Panel"),))[0] == ()


@pytest.mark.parametrize(
    ("grain", "one_way", "wanted"),
    [
        ([[50.0, 10.0], [50.0, 50.0]], False, ""),
        ([[10.0, 30.0], [90.0, 30.0]], False, "the grain of 'Back' runs along its 'foot', but"),
        ([[20.0, 10.0], [60.0, 50.0]], False, ""),  # at 45 degrees: neither
        ([[50.0, 50.0], [50.0, 10.0]], False, ""),  # upside down, where that makes no difference
        ([[50.0, 50.0], [50.0, 10.0]], True, "the grain lines of 'Front' and 'Back' point one to"),
        ([[50.0, 10.0], [50.0, 50.0]], True, ""),
    ],
)
def test_a_grain_line_that_is_turned_between_two_hems_is_asked_about(grain, one_way, wanted):
    """The feet, in no seam, meet at the side's end. Common practice: one grain round a hem."""
    front = replace(piece("Front"), one_way=one_way)
    back = replace(piece("Back"), grain=np.array(grain), one_way=one_way)
    sides = seam("side", "Front right", "Back -left"), seam("other", "Front left", "Back -right")
    asked = [n for n in review(a_set(front, back, seams=sides)).notes if "grain" in n]
    assert len(asked) == bool(wanted)
    assert all(note.startswith(f"seam 'side': {wanted}") for note in asked)


@pytest.mark.parametrize(
    ("one_way", "cloth", "told"),
    [((True, False), "self", 1), ((True, True), "self", 0), ((True, False), "lining", 0)],
)
def test_a_piece_that_alone_lies_one_way_between_two_hems_is_asked_about(one_way, cloth, told):
    """A nap is the whole cloth's (common practice); another cloth may have none."""
    front = replace(piece("Front"), one_way=one_way[0], cuts=(Cut("self"),))
    back = replace(piece("Back"), one_way=one_way[1], cuts=(Cut(cloth),))
    sides = seam("side", "Front right", "Back -left"), seam("other", "Front left", "Back -right")
    asked = [n for n in review(a_set(front, back, seams=sides)).notes if "lies one way" in n]
    assert len(asked) == told


@pytest.mark.parametrize("folded", [True, False])
def test_a_band_may_run_along_what_it_is_sewn_to(folded):
    """Its free ends are called as the sides that they meet, whether it is folded or not."""
    band = replace(piece("Band"), grain=np.array([[10.0, 30.0], [90.0, 30.0]]))
    seams = (OUT, IN) if folded else (OUT,)
    assert not [n for n in review(a_set(piece("Panel"), band, seams=seams)).notes if "grain" in n]


@pytest.mark.parametrize(("long", "asked"), [(500, 0), (100, 1)])
def test_ties_between_two_layers_of_a_band_are_one_to_each_end(long, asked):
    """Common practice. Each lies between both layers, so that a seam takes one of it."""
    tie = rectangle("Tie", long, 60, 10, grain=UP, cuts=TWO)
    pieces = piece("Band", TWO), piece("Skirt"), tie
    waist = seam("waist", "Skirt top", "Band foot")
    one, other = seam("one", "Tie left", "Band right"), seam("other", "Tie left", "Band -left")
    assert len(found(pieces, waist, one, other)[1]) == asked
