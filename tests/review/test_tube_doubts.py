"""The grain of pieces that seams join to tubes, and of strips. What is cut so on purpose is common
practice, from memory: sleeves in one with their body, circular skirts, strips of hoods and legs.
"""

import numpy as np
import pytest

from plotout.pattern import setfile
from plotout.pattern.assemble import read_drawings
from plotout.review.grain_doubts import grain_doubts
from plotout.tables import parse_toml

HEAD = '[set]\nname = "Smock"\nstyle = "SM-1"\n'
FOLD = 'fold = "fold"'


def piece(name, points, edges, degrees=90.0, more="", cut="pair = true"):
    """The grain runs through the middle of the piece, at these degrees."""
    low, high = np.min(points, axis=0), np.max(points, axis=0)
    step = np.array([np.cos(np.radians(degrees)), np.sin(np.radians(degrees))]) * 20.0
    tail, head = ((low + high) / 2.0 - step).tolist(), ((low + high) / 2.0 + step).tolist()
    named = ", ".join(f'"{edge}"' for edge in edges.split())
    if "fold" in more:
        cut = "on-fold = true"
    return (
        f'[[piece]]\nname = "{name}"\npoints = {[list(map(float, at)) for at in points]}\n'
        f"edges = [{named}]\ngrain = {{ from = {tail}, to = {head} }}\n"
        f'cut = [{{ cloth = "self", {cut} }}]\n{more}\n'
    )


def seam(first, second):
    def side(text):
        whole, *edges = text.split()
        return f'{{ piece = "{whole}", edges = [{", ".join(repr(edge) for edge in edges)}] }}'

    return f'[[seam]]\nname = "{first}"\nfirst = {side(first)}\nsecond = {side(second)}\n'


def read(*parts):
    made = setfile.of(parse_toml(HEAD + "".join(parts), "set file"))
    return read_drawings(made, lambda *_: None).in_size()


def asked(*parts):
    whole = read(*parts)
    return list(grain_doubts(whole.seams, whole))


def sleeve(upper, under):
    over = (0, 0), (200, 0), (240, 420), (120, 500), (-40, 420)
    low = (0, 0), (130, 0), (170, 420), (60, 390), (-40, 420)
    edges = "back cap_back cap_front front"
    return (
        piece("Upper", over, f"cuff {edges}", upper),
        piece("Under", low, f"wrist {edges}", under),
        seam("Upper back", "Under back"),
        seam("Upper front", "Under front"),
    )


@pytest.mark.parametrize(
    ("upper", "under", "told"),
    [(90, 90, ""), (0, 0, "'Upper' and 'Under' runs"), (90, 0, "'Under' runs"), (80, 97, "")],
)
def test_a_sleeve_in_two_whose_grain_runs_round_the_arm_is_asked_about(upper, under, told):
    found = asked(*sleeve(upper, under))
    assert len(found) == bool(told)
    for note in found:
        assert note.startswith("seam 'Upper back': it and 'Upper front' join 'Upper' and 'Under'")
        assert f"the grain of {told} round that" in note


def halves(front, back):
    points = (0, 0), (240, 0), (220, 300), (160, 520), (60, 540), (0, 500)
    edges = "foot side armhole shoulder neck fold"
    return (
        piece("Front", points, edges, front, FOLD),
        piece("Back", points, edges, back, FOLD),
        seam("Front side", "Back side"),
        seam("Front shoulder", "Back shoulder"),
    )


def test_a_body_between_two_folds_is_a_tube():
    assert asked(*halves(90, 90)) == []
    assert "join" in asked(*halves(0, 0))[0]
    assert len(asked(*halves(0, 0))) == 1
    (note,) = asked(*halves(90, 0))  # its hem shows it, and it is asked about once
    assert "the grain of 'Back' runs along its 'foot'" in note


def a_tunic(yoke=False):
    """Sleeves in one with the body: their seams run along the arm, square to the grain."""
    top = 540.0
    points = (0, 0), (270, 0), (270, 400), (520, 400), (520, top), (80, top), (0, 500)
    edges = "foot side underarm wrist overarm neck fold"
    parts = [piece(name, points, edges, 90.0, FOLD) for name in ("Front", "Back")]
    parts += [seam(f"Front {edge}", f"Back {edge}") for edge in ("side", "underarm")]
    if not yoke:
        return [*parts, seam("Front overarm", "Back overarm")]
    strip = piece("Yoke", [(80, 0), (520, 0), (520, 120), (80, 120)], "front wrist back neck")
    return [*parts, strip, seam("Yoke front", "Front overarm"), seam("Yoke back", "Back overarm")]


ROBE = (0, 0), (270, 0), (270, 400), (520, 380), (520, 540), (80, 560), (0, 500)
GUSSETED = (*ROBE[:2], (270, 320), (240, 400), (330, 395), *ROBE[3:])


def open_in_front(points, edges, front=90.0, back=90.0):
    """A tunic as `a_tunic`, but its front is not on the fold: no tube is made of the body."""
    more = ("Front", front, ""), ("Back", back, FOLD)
    parts = [piece(name, points, edges, degrees, how) for name, degrees, how in more]
    joined = ("side", "underarm", "overarm")
    return [*parts, *(seam(f"Front {edge}", f"Back {edge}") for edge in joined)]


def in_one_with_front_and_back(degrees=90.0):
    """A quarter of a tunic without a seam over the arm, folded open: one piece with its back."""
    points = (
        (0, 0),
        (270, 0),
        (270, 400),
        (520, 400),
        (520, 720),
        (270, 720),
        (270, 1120),
        (0, 1120),
    )
    edges = "foot side underarm wrist back_underarm back_side back_foot fold"
    joined = [seam(f"Robe {edge}", f"Robe -back_{edge}") for edge in ("side", "underarm")]
    return [piece("Robe", points, edges, degrees, FOLD), *joined]


def wedge(name):
    """A quarter of a circular skirt: the grain lies along its fold and square to its side."""
    turn = np.radians(np.arange(0.0, 91.0, 10.0))
    circle = np.column_stack([np.cos(turn), np.sin(turn)])
    outer, inner = circle * 700.0, circle[::-1] * 150.0
    names = [*(f"hem{k}" for k in range(9)), "fold", *(f"waist{k}" for k in range(9)), "side"]
    return piece(name, [*outer, *inner], " ".join(names), 90.0, FOLD)


STRIPE = (0, 0), (60, 0), (60, 700), (0, 700)
LEG = (0, 0), (300, 0), (300, 700), (0, 700)


@pytest.mark.parametrize(
    "parts",
    [
        a_tunic(),
        a_tunic(yoke=True),
        open_in_front(ROBE, "foot side underarm wrist overarm neck fold"),
        open_in_front(GUSSETED, "foot side low high underarm wrist overarm neck fold"),
        in_one_with_front_and_back(),
        [wedge("Front"), wedge("Back"), seam("Front side", "Back -side")],
        # a narrow stripe down the leg, cut across
        [
            piece("Leg", LEG, "foot front waist back"),
            piece("Stripe", STRIPE, "foot one waist two", 0.0),
            seam("Leg front", "Stripe -one"),
            seam("Leg back", "Stripe -two"),
        ],
        # a belt in two parts
        [
            piece("Right", [(0, 0), (400, 0), (400, 90), (0, 90)], "a front b back", 0.0),
            piece("Left", [(0, 0), (400, 0), (400, 90), (0, 90)], "a front b back", 0.0),
            seam("Right front", "Left front"),
            seam("Right back", "Left back"),
        ],
    ],
)
def test_grain_that_runs_so_on_purpose_is_not_asked_about(parts):
    assert [note for note in asked(*parts) if "tube" in note] == []


@pytest.mark.parametrize("reach", [0, 40, 90])
def test_a_body_with_short_sleeves_in_one_may_be_turned(reach):
    """What reaches past its side by less than a sleeve doesn't hide that the body's grain is."""
    top = (240, 0), (240, 300), (240 + reach, 320), (240 + reach, 480), (90, 540), (0, 500)
    edges = "foot side underarm wrist overarm neck fold"
    parts = [piece(name, [(0, 0), *top], edges, 0.0, FOLD) for name in ("Front", "Back")]
    joined = [seam(f"Front {edge}", f"Back {edge}") for edge in ("side", "overarm")]
    assert any("to a tube, but the grain" in note for note in asked(*parts, *joined))


@pytest.mark.parametrize(("palm", "told"), [(90, 0), (0, 1)])
def test_a_mitten_whose_seam_goes_over_its_tip_may_be_turned(palm, told):
    """What its long seam goes round is no body beside it."""
    points = (0, 0), (90, 0), (98, 80), (98, 130), (49, 190), (0, 130), (-6, 80)
    edges = "wrist out_low out_high tip_out tip_in thumb in_low"
    over = "out_low out_high tip_out tip_in"
    found = asked(
        piece("Palm", points, edges, palm),
        piece("Hand", points, edges),
        seam(f"Palm {over}", f"Hand {over}"),
        seam("Palm in_low", "Hand in_low"),
    )
    assert len([note for note in found if "'Palm' runs" in note]) == told


def hood(strip, side):
    """The strip goes from the face over the crown to the neck: along the sides' grain, and across
    it.
    """
    points = (0, 0), (220, 0), (260, 200), (200, 330), (0, 350)
    long = sum(np.hypot(*np.subtract(points[k + 1], points[k])) for k in (1, 2, 3))
    return (
        piece("Hood", points, "neck low back top front", side),
        piece("Strip", [(0, 0), (100, 0), (100, long), (0, long)], "neck one front two", strip),
        seam("Strip one", "Hood low back top"),
        seam("Strip -two", "Hood low back top"),
    )


@pytest.mark.parametrize("strip", [0, 90])
@pytest.mark.parametrize("side", [0, 90])
def test_the_strip_of_a_hood_may_lie_either_way(strip, side):
    assert asked(*hood(strip, side)) == []


@pytest.mark.parametrize(("strip", "told"), [(90, 0), (0, 1)])
def test_a_strip_that_runs_straight_along_its_neighbour_may_not(strip, told):
    """A side panel: its hem goes on into that of the front, and it lies as the front does."""
    found = asked(
        piece("Front", LEG, "hem side waist front"),
        piece("Panel", [(0, 0), (120, 0), (120, 700), (0, 700)], "hem one waist two", strip),
        seam("Front side", "Panel -two"),
    )
    assert [note for note in found if "is one turned?" in note][1:] == []
    assert len(found) == told


VEST = "hem side armhole shoulder neck centre"
OVER = (0, 0), (240, 0), (240, 300), (200, 480), (90, 500)


@pytest.mark.parametrize(
    ("front", "back", "degrees", "told"),
    [
        ((0, 480), (0, 480), 90, 0),
        ((0, 300), (0, 480), 90, 0),  # a V-neck: 24 degrees off the grain, the back's 12 across it
        ((0, 100), (0, 480), 90, 0),
        ((70, 390), (70, 390), 90, 0),  # square to the shoulder, so that one goes on into the other
        ((70, 390), (70, 390), 0, 1),  # and the front is turned
    ],
)
def test_the_edges_of_a_v_neck_are_no_hem(front, back, degrees, told):
    found = asked(
        piece("Front", [*OVER, front], VEST.replace("hem", "foot"), degrees),
        piece("Back", [*OVER, back], VEST),
        seam("Front side", "Back side"),
        seam("Front shoulder", "Back shoulder"),
    )
    assert len(found) == told
    assert all("runs along its 'neck'" in note for note in found)


def test_the_neck_of_a_waistcoat_may_go_straight_down_from_the_shoulder():
    """The shoulders fall by 29 degrees. From there the front's neck goes down 22 degrees off the
    grain, and the back's across it, 24 degrees down: they make up 210 degrees.
    """
    over = (*OVER[:3], (200, 440), (90, 500))
    found = asked(
        piece("Front", [*over, (-10, 250)], VEST.replace("hem", "foot")),
        piece("Back", [*over, (0, 460)], VEST),
        seam("Front side", "Back side"),
        seam("Front shoulder", "Back shoulder"),
    )
    assert found == []


def sewn_by(name, first, second):
    return f'[[seam]]\nname = "{name}"\nfirst = {first}\nsecond = {second}\n'


def to_a_whole_back(*, panel=0.0, back=90.0, deep=600):
    """A skirt of a front on the fold, 500 mm wide in all, side panels of 100 and a back of 440."""
    to_front, front = (
        '{ piece = "Panel", edges = ["one"] }',
        '{ piece = "Front", edges = ["side"] }',
    )
    at_back = [f'{{ piece = "Back", edges = ["{edge}"] }}' for edge in ("right", "-left")]
    parts = (
        piece("Front", [(0, 0), (250, 0), (250, deep), (0, deep)], "a side b fold", 90.0, FOLD),
        piece(
            "Back",
            [(0, 0), (440, 0), (440, deep), (0, deep)],
            "c right d left",
            back,
            cut="count = 1",
        ),
    )
    if not panel:
        front = '{ piece = "Front", edges = ["side"], times = 1 }'
        return (*parts, sewn_by("r", front, at_back[0]), sewn_by("l", front, at_back[1]))
    strip = [(0, 0), (100, 0), (100, deep), (0, deep)]
    more = piece("Panel", strip, "e two f one", panel)
    to_back = '{ piece = "Panel", edges = ["two"], times = 1 }'
    sides = [sewn_by(name, to_back, edge) for name, edge in zip("rl", at_back, strict=True)]
    return (*parts, more, sewn_by("s", front, to_front), *sides)


@pytest.mark.parametrize(
    ("panel", "back", "deep", "told"),
    [
        (0.0, 90.0, 600, False),
        (0.0, 0.0, 600, True),
        (0.0, 0.0, 340, True),  # 340 > 0.35 x (2 x 250 + 440) = 329
        (0.0, 0.0, 320, False),
        (90.0, 90.0, 600, False),
        (90.0, 0.0, 600, True),
        (90.0, 0.0, 410, True),  # 410 > 0.35 x (2 x 250 + 2 x 100 + 440) = 399
        (90.0, 0.0, 390, False),
    ],
)
def test_a_whole_back_closes_a_tube_with_both_halves_of_a_front(panel, back, deep, told):
    found = asked(*to_a_whole_back(panel=panel, back=back, deep=deep))
    assert [note for note in found if "to a tube" in note] == found
    assert len(found) == told
    assert all("the grain of 'Back' runs round that" in note for note in found)


def gathered(waist, front=90.0, back=0.0):
    """A skirt, 1800 mm round and 550 deep, with a band of `waist` mm in all."""
    half = [(0, 0), (450, 0), (450, 550), (0, 550)]
    chain = '[{ piece = "Front", edges = ["-b"] }, { piece = "Back", edges = ["d"] }]'
    return (
        piece("Front", half, "a side b fold", front, FOLD),
        piece("Back", half, "c side d centre", back),
        piece("Band", [(0, 0), (waist, 0), (waist, 60), (0, 60)], "foot e f fold", 0.0, FOLD),
        seam("Front side", "Back side"),
        seam("Back centre", "Back centre"),
        sewn_by("waist", chain, '{ piece = "Band", edges = ["foot"] }\nease = ["0 mm", "1260 mm"]'),
    )


@pytest.mark.parametrize(
    ("waist", "front", "told"),
    [
        (540, 90.0, True),
        (780, 90.0, True),  # 550 > 0.35 x 2 x 780 = 546
        (790, 90.0, False),  # it is too wide to be more than a band
        (540, 0.0, False),  # all of it lies across, as a skirt with a border does on purpose
    ],
)
def test_a_gathered_skirt_is_as_wide_as_its_waist(waist, front, told):
    found = [note for note in asked(*gathered(waist, front)) if "to a tube" in note]
    assert len(found) == told
    assert all("the grain of 'Back' runs round that" in note for note in found)


@pytest.mark.parametrize("ends", [True, False])
def test_a_cushion_closed_all_round_is_as_good_a_tube_the_other_way(ends):
    """450 mm square, with a zip across the back; without the seams of its ends it is a tube."""
    top = piece(
        "Top", [(0, 0), (450, 0), (450, 450), (0, 450)], "foot right head left", cut="count = 1"
    )
    high = piece(
        "High", [(0, 0), (450, 0), (450, 150), (0, 150)], "zip right head left", cut="count = 1"
    )
    low = piece(
        "Low", [(0, 0), (450, 0), (450, 300), (0, 300)], "foot right zip left", cut="count = 1"
    )
    along = seam("High zip", "Low zip"), seam("High head", "Top head"), seam("Low foot", "Top foot")
    over = "".join(
        f'[[seam]]\nname = "{side}"\nsecond = [{{ piece = "Top", edges = ["{side}"] }}]\n'
        f'first = [{{ piece = "High", edges = ["{side}"] }}, '
        f'{{ piece = "Low", edges = ["{side}"] }}]\n'
        for side in ("left", "right")
    )
    found = asked(top, high, low, *along, over if ends else "")
    assert len([note for note in found if "to a tube" in note]) == (not ends)


@pytest.mark.parametrize(
    ("deep", "far", "grain", "told"),
    [
        (120, "edge", 90, False),  # folded in half it is 60 mm deep
        (220, "edge", 90, True),  # deeper than it is wide
        (120, "hem", 90, True),  # the lower half of a sleeve
        (120, "edge", 0, True),  # a short sleeve on a body whose grain runs along its armhole
    ],
)
def test_a_cuff_that_is_folded_in_half_lies_round_its_sleeve(deep, far, grain, told):
    found = asked(
        piece("Sleeve", [(0, 0), (200, 0), (200, 400), (0, 400)], "wrist a cap b", grain),
        piece("Cuff", [(0, 0), (200, 0), (200, deep), (0, deep)], f"low a {far} b", 0.0),
        seam("Sleeve wrist", "Cuff -low"),
        seam("Cuff a", "Cuff -b"),
    )
    assert bool([note for note in found if "closes 'Cuff' to a tube" in note]) == told
