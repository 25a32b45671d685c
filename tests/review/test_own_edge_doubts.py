"""Seams that sew a piece to itself by a slip, made here on purpose in sets that are right.

What is sewn to itself in sound garments is common practice, from memory.
"""

import pytest

from plotout.pattern import setfile
from plotout.pattern.assemble import read_drawings
from plotout.review.own_edge_doubts import own_edge_doubts
from plotout.tables import parse_toml

HEAD = '[set]\nname = "Smock"\nstyle = "SM-1"\n'
PAIR, FOLD, ONE = "pair = true", "on-fold = true", "count = 1"


def piece(name, points, edges, cut=ONE, more="", cloth="self", grain="[[100, 60], [100, 160]]"):
    named = ", ".join(f'"{edge}"' for edge in edges.split())
    tail, head = grain[1:-1].split("], [")
    return (
        f'[[piece]]\nname = "{name}"\npoints = {points}\nedges = [{named}]\n'
        f"grain = {{ from = {tail}], to = [{head} }}\n"
        f'cut = [{{ cloth = "{cloth}", {cut} }}]\n{more}\n'
    )


def seam(name, first, second, ease="0 mm"):
    def side(text):
        whole, *edges = text.split()
        named = ", ".join(f'"{edge}"' for edge in edges)
        return f'{{ piece = "{whole}", edges = [{named}] }}'

    return (
        f'[[seam]]\nname = "{name}"\nfirst = {side(first)}\nsecond = {side(second)}\n'
        f'ease = ["0 mm", "{ease}"]\n'
    )


def made_of(*parts):
    made = setfile.of(parse_toml(HEAD + "".join(parts), "set file"))
    return read_drawings(made, lambda *_: None).in_size()


def asked(*parts):
    read = made_of(*parts)
    return list(own_edge_doubts(read.seams, read))


def body(name, neck, cut, centre, more=""):
    points = f"[[0, 0], [260, 0], [250, 220], [180, 400], [70, 420], [0, {neck}]]"
    return piece(name, points, f"hem side armhole shoulder neck {centre}", cut, more)


def bodice(*seams):
    return (
        body("Front", 340, PAIR, "opening"),
        body("Back", 400, FOLD, "fold", 'fold = "fold"'),
        seam("shoulder", "Front shoulder", "Back shoulder"),
        *seams,
    )


def test_a_side_that_is_sewn_to_itself_is_asked_about_if_its_partner_is_free():
    assert asked(*bodice(seam("side", "Front side", "Back side"))) == []
    assert asked(*bodice(seam("side", "Front side", "Front side"))) == [
        "seam 'side': it sews 'side' of 'Front' to itself, but 'side' of 'Back', as long, is in no "
        "seam: is one of its sides wrong?"
    ]
    assert len(asked(*bodice(seam("side", "Back side", "Back side")))) == 1  # on the fold


def test_an_edge_with_another_name_is_known_by_those_beside_it():
    """Sleeves are sewn to both armholes, so that both side seams end there."""
    pieces = [part.replace('"side"', '"side front"') if '"Front"' in part else part
              for part in bodice()]  # fmt: skip
    sleeve = piece("Sleeve", "[[0, 0], [386.2, 0], [386.2, 300], [0, 300]]", "hem a cap b", PAIR)
    armhole = (
        '[[seam]]\nname = "armhole"\nfirst = { piece = "Sleeve", edges = ["cap"] }\nsecond = '
        '[{ piece = "Front", edges = ["armhole"] }, { piece = "Back", edges = ["-armhole"] }]\n'
    )
    slip = seam("side", "Front side_front", "Front side_front").replace("_", " ")
    assert len(asked(*pieces, sleeve, armhole, slip)) == 1
    assert asked(*pieces, sleeve, slip) == []  # nothing says that the two belong together


@pytest.mark.parametrize(
    ("side", "told"),
    [
        ('{ piece = "Sleeve", edges = ["cap"] }', "'armhole' of 'Front' and 'armhole' of 'Back'"),
        ("", "'cap' of 'Sleeve'"),
    ],
)
def test_a_cap_and_armholes_that_are_sewn_to_themselves(side, told):
    """Front and back are joined at the shoulder, so that their armholes are as one."""
    holes = '[{ piece = "Front", edges = ["armhole"] }, { piece = "Back", edges = ["-armhole"] }]'
    sleeve = piece("Sleeve", "[[0, 0], [386.2, 0], [386.2, 300], [0, 300]]", "hem a cap b", PAIR)
    parts = *bodice(seam("side", "Front side", "Back side")), sleeve
    slip = f'[[seam]]\nname = "armhole"\nfirst = {side or holes}\nsecond = {side or holes}\n'
    (note,) = asked(*parts, slip)
    assert told in note


@pytest.mark.parametrize(("first", "second"), [("right", "-left"), ("left", "-right")])
def test_two_edges_of_one_piece_are_asked_about_if_another_has_the_same_free(first, second):
    """Front and back are whole: the right side is sewn, and the left one was to be."""
    square = "[[0, 0], [500, 0], [500, 400], [0, 400]]"
    names = "hem right neck left"
    pieces = piece("Front", square, names), piece("Back", square, names)
    sound = seam("right side", "Front right", "Back -left")
    assert asked(*pieces, sound, seam("left side", "Front left", "Back -right")) == []
    found = asked(*pieces, sound, seam("left side", f"Front {first}", f"Front {second}"))
    assert found == [
        f"seam 'left side': it sews '{first}' of 'Front' to its '{second[1:]}', but 'right' of "
        "'Back', as long, is in no seam: is one of its sides wrong?"
    ]


SLEEVE = "[[0, 0], [200, 0], [240, 420], [120, 500], [-40, 420]]"
UNDER = "[[0, 0], [130, 0], [170, 420], [60, 390], [-40, 420]]"


def test_one_half_of_a_sleeve_in_two_pieces_is_not_sewn_to_itself():
    names = "hem back cap_back cap_front front"
    pieces = (
        piece("Sleeve", SLEEVE, names, PAIR),
        piece("Under", UNDER, names, PAIR, grain="[[60, 60], [60, 160]]"),
    )
    back = seam("back", "Sleeve back", "Under back")
    assert asked(*pieces, back, seam("front", "Sleeve front", "Under front")) == []
    assert len(asked(*pieces, back, seam("front", "Sleeve front", "Sleeve front"))) == 1
    assert len(asked(*pieces, back, seam("front", "Sleeve front", "Sleeve -back"))) == 1


def test_a_bag_of_two_panels_each_in_no_other_seam():
    square = "[[0, 0], [300, 0], [300, 400], [0, 400]]"
    pieces = (
        piece("Front", square, "foot b c d", FOLD, 'fold = "d"'),
        piece("Back", square, "foot b c d", FOLD, 'fold = "d"'),
    )
    assert len(asked(*pieces, seam("foot", "Front foot", "Front foot"))) == 1
    assert asked(*pieces, seam("foot", "Front foot", "Back foot")) == []


@pytest.mark.parametrize(
    ("sews", "told"),
    [
        (("Inner back", "Inner back"), 1),
        (("Outer back", "Inner back"), 0),
        (("Inner back", "Inner back", "Inner button", "Flap button"), 0),
    ],
)
def test_a_part_of_a_spat_that_is_sewn_to_itself_alone_is_asked_about(sews, told):
    """The seam to the outer part names the inner one twice; that is sewn to its front otherwise."""
    shape = "[[0, 0], [200, 0], [200, 150], [0, 150]]"
    pieces = (
        piece("Outer", shape, "foot back top front", PAIR),
        piece("Inner", shape, "foot back top button", PAIR),
        piece("Other", shape, "foot button top front", PAIR),
        piece("Flap", shape, "foot button top end", PAIR),
    )
    pairs = zip(sews[::2], sews[1::2], strict=True)
    seams = [seam(f"{first} {second}", first, second) for first, second in pairs]
    found = asked(*pieces, *seams, seam("front", "Outer front", "Other front"))
    assert found == told * [
        "seam 'Inner back Inner back': it sews 'back' of 'Inner' to itself, but 'back' of 'Outer', "
        "as long, is in no seam: is one of its sides wrong?"
    ]


ENDS, ALONG = "sewn end free start", "[[20, 30], [90, 30]]"
SKIRT = "[[0, 0], [300, 0], [260, 600], [0, 600]]"


@pytest.mark.parametrize(
    "parts",
    [
        # open at its centre front, sewn at its centre back
        (
            piece("Front", SKIRT, "hem side waist front", PAIR),
            piece("Back", SKIRT, "hem side waist back", PAIR),
            seam("side", "Front side", "Back side"),
            seam("centre back", "Back back", "Back back"),
        ),
        # the same, of one name, slanting
        (
            piece("Front", SKIRT, "hem centre waist side", PAIR),
            piece("Back", SKIRT, "hem centre waist side", PAIR),
            seam("side", "Front side", "Back side"),
            seam("centre back", "Back centre", "Back centre"),
        ),
        # a lining of which the seams are not listed
        (
            *bodice(seam("side", "Front side", "Back side")),
            piece("Lining", SKIRT, "hem side waist back", PAIR, cloth="silk"),
            piece("Tail", SKIRT, "hem side waist back", PAIR),
            seam("tail", "Tail side", "Tail side"),
        ),
        # the ends of a cuff, as wide as a waistband whose ends are free
        (
            *bodice(seam("side", "Front side", "Back side")),
            piece(
                "Cuff",
                "[[0, 0], [240, 0], [240, 60], [0, 60]]",
                "sewn end free start",
                grain="[[20, 30], [90, 30]]",
            ),
            piece(
                "Band",
                "[[0, 0], [520, 0], [520, 60], [0, 60]]",
                "sewn end free start",
                grain="[[20, 30], [90, 30]]",
            ),
            seam("cuff", "Cuff end", "Cuff -start"),
            seam("waist", "Front hem", "Band sewn", "20 mm"),
        ),
        # two layers of a band along its end and its edge, and a binding on the bias as long as both
        (
            piece("Band", "[[0, 0], [260, 0], [260, 40], [0, 40]]", ENDS, "count = 2", grain=ALONG),
            piece(
                "Binding",
                "[[0, 0], [300, 0], [300, 40], [0, 40]]",
                "lower right upper left",
                "count = 2",
                "bias = true\n",
                grain=ALONG,
            ),
            seam("band edge", "Band end free", "Band end free"),
        ),
        # a sleeve's own seam, and a hem as long as it
        (
            *bodice(seam("side", "Front side", "Back side")),
            piece("Sleeve", "[[0, 0], [386, 0], [386, 260], [0, 260]]", "foot a cap b", PAIR),
            seam("under arm", "Sleeve a", "Sleeve -b"),
        ),
    ],
)
def test_what_is_sewn_to_itself_on_purpose_is_not_asked_about(parts):
    assert asked(*parts) == []


def test_a_dart_with_a_flat_end_is_no_slip():
    """Its legs are two edges of one piece; those of the back are in no seam."""
    legs = "[230, 500], [203, 380], [197, 380], [170, 500]"
    darted = f"[[0, 0], [400, 0], [400, 500], {legs}, [0, 500]]"
    names = "hem right waist_right leg_right end leg_left waist_left left"
    pieces = piece("Front", darted, names), piece("Back", darted, names)
    dart = seam("dart", "Front leg_right", "Front -leg_left")
    side = seam("side", "Front right", "Back -left"), seam("other", "Front left", "Back -right")
    assert asked(*pieces, *side, dart) == []
