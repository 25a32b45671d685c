"""A side of a seam that goes on from a left to its right over an opening.

By topology: left and right are sewn together there, or the side goes over a fold. That different
pieces lap, or lie on a pocket bag side by side, is common practice, from memory.
"""

import pytest

from plotout.review.whole_set import review

from .test_tube_doubts import FOLD, piece, read, seam

BODY = (0, 0), (250, 0), (250, 320), (200, 520), (80, 550), (0, 480)
NAMES = "foot side armhole shoulder neck centre"
BAND = (0, 0), (600, 0), (600, 60), (0, 60)


def side(*steps):
    return "[" + ", ".join(f'{{ piece = "{p}", edges = ["{e}"] }}' for p, e in steps) + "]"


def along(name, first, *second):
    return f'[[seam]]\nname = "{name}"\nfirst = {first}\nsecond = {side(*second)}\n'


def asked(*parts):
    return [note for note in review(read(*parts)).notes if "it goes on" in note]


def shirt(*walked, left_out=(), more=()):
    cap = (0, 0), (300, 0), (330, 400), (165, 520), (0, 400)
    seams = {
        "side": seam("Front side", "Back side"),
        "shoulder": seam("Front shoulder", "Back shoulder"),
        "centre": seam("Back centre", "Back centre"),
    }
    return asked(
        piece("Front", BODY, NAMES),
        piece("Back", BODY, NAMES),
        piece("Sleeve", cap, "wrist right cap-front cap-back left"),
        piece("Band", BAND, "neck end top start", 0.0, cut="count = 1"),
        *(text for name, text in seams.items() if name not in left_out),
        along("walked", *walked),
        *more,
    )


CAP = '{ piece = "Sleeve", edges = ["cap-front", "cap-back"] }'
NECK = '{ piece = "Band", edges = ["neck"] }'
ROUND_NECK = ("Front", "-neck"), ("Back", "neck"), ("Back", "-neck"), ("Front", "neck")


@pytest.mark.parametrize(
    ("walked", "told"),
    [
        ((CAP, ("Front", "armhole"), ("Back", "-armhole")), ""),
        (
            (CAP, ("Front", "armhole"), ("Front", "-armhole")),
            "from left to right past 'shoulder' of 'Front', and no seam joins these two there",
        ),
        ((NECK, *ROUND_NECK), ""),
        (
            (NECK, ("Back", "-neck"), ("Front", "neck"), ("Front", "-neck"), ("Back", "neck")),
            "from left to right past 'centre' of 'Front', and no seam joins these two there",
        ),
    ],
)
def test_a_side_goes_on_only_where_its_pieces_are_joined(walked, told):
    found = shirt(*walked)
    assert found == [
        f"seam 'walked': it goes on {told}: is one of its pieces wrong, or their order?"
    ] * bool(told)


def test_an_opening_that_is_sewn_to_something_else_is_told():
    """The fronts are open: their edges go to a facing. The backs are joined: there it ends."""
    facing = piece("Facing", ((0, 0), (60, 0), (60, 480), (0, 480)), "foot front top inner")
    (note,) = shirt(
        NECK, *ROUND_NECK[2:], *ROUND_NECK[:2], more=(facing, seam("Front centre", "Facing -front"))
    )
    assert "from left to right past 'centre' of 'Front'" in note


def test_a_ring_with_a_gap_is_told_though_both_edges_there_are_free():
    """It begins and ends at the shoulder, which is closed upon itself: so it goes all round."""
    backs = seam("Back centre", "Back centre")
    waist = along("walked", NECK, ("Back", "neck"), ("Back", "-neck"))
    body = piece("Back", BODY, NAMES), piece("Band", BAND, "neck end top start", cut="count = 1")
    other = seam("Back side", "Back side")
    assert asked(*body, backs, waist) == []
    (note,) = asked(*body, backs.replace("centre", "shoulder"), waist)
    assert "from left to right past 'centre' of 'Back'" in note
    assert asked(*body, other, waist) == []


@pytest.mark.parametrize(
    ("walked", "nape", "told"),
    [
        (("-strap -lower", "lower strap"), False, 0),
        (("lower strap", "-strap -lower"), False, 1),
        (("lower strap", "-strap -lower"), True, 0),  # its straps are sewn together at the nape
    ],
)
def test_a_binding_round_a_bib_does_not_jump_over_its_neck(walked, nape, told):
    """The sum by hand: it is bound along 180 + 240 mm of each half, from strap to strap."""
    bib = piece("Bib", ((0, 0), (180, 0), (180, 240), (60, 240), (0, 60)),
                "lower strap end neck fold", 90.0, FOLD)  # fmt: skip
    sides = ", ".join(f'{{ piece = "Bib", edges = {edges.split()} }}' for edges in walked)
    band = piece("Binding", ((0, 0), (840, 0), (840, 36), (0, 36)), "neck end free start", 0.0,
                 cut="count = 1")  # fmt: skip
    text = (
        f'[[seam]]\nname = "edge"\nfirst = {NECK.replace("Band", "Binding")}\nsecond = [{sides}]\n'
    )
    found = asked(bib, band, text, *[seam("Bib end", "Bib end")] * nape)
    assert len(found) == told
    assert all("from left to right past 'end' of 'Bib'" in note for note in found)


def test_a_joint_of_which_no_seam_says_anything_may_be_left_out():
    assert shirt(NECK, *ROUND_NECK, left_out=("shoulder",)) == []
    assert shirt(NECK, *ROUND_NECK, left_out=("centre",)) == []


def test_a_gusset_lies_between_what_it_is_sewn_to():
    """Its point: front and sleeve go on into each other past it. So do both legs at a wedge."""
    body = (0, 0), (250, 0), (250, 200), (230, 300), (0, 500)
    corners = (0, 0), (60, 100), (0, 200), (-60, 100)
    parts = [
        piece("Front", body, "foot side under top centre"),
        piece("Back", body, "foot side under top centre"),
        piece("Wedge", corners, "a b c d", cut="count = 2"),
        along(
            "flat", side(("Front", "under"), ("Front", "top")), ("Back", "under"), ("Back", "top")
        ),
    ]
    assert asked(*parts) == []
    leg = piece("Leg", ((0, 0), (200, 0), (200, 300), (150, 500), (0, 500)), "foot in fork top out")
    diamond = seam("Leg fork", "Wedge a"), '[[seam]]\nname = "other"\nfirst = { piece = "Leg", '
    other = diamond[1] + 'edges = ["fork"] }\nsecond = { piece = "Wedge", edges = ["-b"] }\n'
    inner = along("inner", NECK, ("Leg", "in"), ("Leg", "-in"))
    band = piece("Band", BAND, "neck end top start", cut="count = 1")
    assert asked(leg, parts[2], band, diamond[0], other, inner) == []
    (note,) = asked(leg, parts[2], band, diamond[0], inner)
    assert "from left to right past 'fork' of 'Leg'" in note


def test_over_a_fold_and_over_a_dart_a_side_goes_on():
    dart = (0, 0), (250, 0), (250, 500), (140, 500), (125, 400), (110, 500), (0, 500)
    body = piece("Front", dart, "foot side waist-a leg-a leg-b waist-b fold", 90.0, FOLD)
    band = piece("Band", BAND, "neck end top start", cut="count = 1")
    walked = along("waist", NECK, ("Front", "waist-a"), ("Front", "waist-b"))
    assert asked(body, band, walked) == []
    assert asked(body, band, walked, seam("Front leg-a", "Front -leg-b")) == []


def test_a_front_and_the_piece_in_its_pocket_are_both_sewn_to_the_bag():
    """Not to each other: the side seam and the waist go on over the pocket's mouth."""
    front = (0, 0), (250, 0), (250, 300), (180, 500), (0, 500)
    back = (0, 0), (250, 0), (250, 360), (250, 500), (0, 500)
    corner = (0, 0), (120, 0), (120, 140), (120, 200), (50, 200), (0, 200)
    bag = (0, 0), (120, 0), (120, 140), (50, 340), (0, 340)
    found = asked(
        piece("Front", front, "hem side mouth waist rise"),
        piece("Back", back, "hem side upper waist seat"),
        piece("Hip", corner, "bag under side upper waist inner"),
        piece("Bag", bag, "bag side mouth top inner"),
        piece("Band", BAND, "waist end top start", 0.0, cut="count = 1"),
        along("side", side(("Front", "side"), ("Hip", "upper")), ("Back", "side"),
              ("Back", "upper")),
        seam("Front mouth", "Bag -mouth"),
        seam("Hip bag", "Bag bag"),
        seam("Back seat", "Back seat"),
        seam("Front rise", "Front rise"),
        along("waist", NECK.replace("neck", "waist"), ("Front", "-waist"), ("Hip", "-waist"),
              ("Back", "waist"), ("Back", "-waist"), ("Hip", "waist"), ("Front", "waist")),
    )  # fmt: skip
    assert found == []


def test_shoulders_that_lap_are_bound_each_by_itself():
    found = shirt(
        (CAP), ("Front", "armhole"), ("Back", "-armhole"), left_out=("shoulder",),
        more=(piece("Tape", BAND, "edge end top start"), seam("Front shoulder", "Tape edge"),
              piece("Other", BAND, "edge end top start"), seam("Back shoulder", "Other edge")),
    )  # fmt: skip
    assert found == []


@pytest.mark.parametrize(
    ("wrist", "bound", "told"),
    [
        (("b", "a"), True, False),
        (("a", "b"), True, True),
        (("a", "b"), False, False),  # a pleat or a dart, of which the set lists no seam
    ],
)
def test_a_cuff_begins_and_ends_at_the_slit_of_a_sleeve(wrist, bound, told):
    """And not at the seam under the arm, past which it goes on."""
    outline = (0, 0), (90, 0), (90, 90), (91, 90), (91, 0), (240, 0), (240, 400), (0, 400)
    seams = [seam("Sleeve right", "Sleeve -left")]
    if bound:
        seams += [seam("Sleeve in up out", "Binding edge")]
    cuff = "{ piece = 'Cuff', edges = ['neck'] }"
    found = asked(
        piece("Sleeve", outline, "a in up out b right cap left"),
        piece("Cuff", ((0, 0), (239, 0), (239, 60), (0, 60)), "neck end top start"),
        piece("Binding", ((0, 0), (181, 0), (181, 30), (0, 30)), "edge end top start"),
        *seams,
        along("cuff", cuff, *(("Sleeve", edge) for edge in wrist)),
    )
    assert found == told * [
        "seam 'cuff': it goes on past 'in' and 'out' of 'Sleeve', which no seam joins, and begins "
        "and ends at edges that one does join: is its order right?"
    ]
