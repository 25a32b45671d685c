"""Sides that run the wrong way, found by what a set's seams say together.

The reference is topology: pieces cut out of a plane, a tube or a ring fit together by making, and
the garments below by common practice. Only the order of edges matters, not their shape.
"""

import random
from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest

from plotout.pattern.meetings import cost, sewn_of
from plotout.pattern.model import Cut, Edge, PatternSet, Piece, Seam, Side
from plotout.review.joined_ways import wrong_ways_joined
from plotout.review.whole_set import review

HALF = (
    "Front pair: hem side armhole shoulder neck cf; Back fold cb: hem side armhole shoulder neck cb"
)
BODY = "side: Front side = Back side; shoulder: Front shoulder = Back shoulder"
SLEEVE = "Sleeve pair: hem front cap back"
ARM = "armhole: Sleeve cap = Front armhole, Back -armhole; under: Sleeve front = Sleeve -back"
COLLAR = "Collar fold fold: neck end top fold"
NECK = "neck: Collar neck = Back -neck, Front neck"
SHIRT = f"{HALF}; {SLEEVE}; {COLLAR} | {BODY}; {ARM}; {NECK}"

RIGHT = {
    "shirt": SHIRT,
    "shirt, its armhole walked from the back": SHIRT.replace(
        "Sleeve cap = Front armhole, Back -armhole", "Sleeve -cap = Back armhole, Front -armhole"
    ),
    "shirt, its collar walked to the fold": SHIRT.replace(
        "Collar neck = Back -neck, Front neck", "Collar -neck = Front -neck, Back neck"
    ),
    "waistcoat": f"{HALF} | {BODY}",
    "shirt with a yoke": f"""Front pair: hem side armhole shoulder neck cf; {SLEEVE};
        Back fold cb: hem side armhole yoke cb; Yoke fold cb: foot armhole shoulder neck cb |
        side: Front side = Back side; shoulder: Front shoulder = Yoke shoulder;
        yoke: Yoke foot = Back -yoke; under: Sleeve front = Sleeve -back;
        armhole: Sleeve cap = Front armhole, Yoke -armhole, Back -armhole""",
    "raglan": f"""Front pair: hem side raglan neck cf; Back fold cb: hem side raglan neck cb;
        Sleeve pair: hem back top neck down front; {COLLAR} |
        side: Front side = Back side; front: Front raglan = Sleeve -down;
        back: Back raglan = Sleeve top; under: Sleeve back = Sleeve -front;
        neck: Collar neck = Back -neck, Sleeve neck, Front neck""",
    "jumper, walked from the front": f"""Front fold cf: hem side armhole shoulder neck cf;
        Back fold cb: hem side armhole shoulder neck cb; Neckband fold f: neck end top f |
        {BODY}; neck: Neckband -neck = Front -neck, Back neck""",
    "hood": f"""{HALF}; Hood pair: neck front centre | {BODY};
        hood: Hood centre = Hood centre; neck: Hood neck = Back -neck, Front neck""",
    "facings": f"""{HALF}; F pair: shoulder neck cf outer; B fold cb: shoulder neck cb outer |
        {BODY}; facing: F shoulder = B shoulder; neck: B -neck, F neck = Back -neck, Front neck""",
    "princess line": """Centre fold cf: hem line armhole shoulder neck cf;
        Panel pair: hem side armhole line; Back fold cb: hem side armhole shoulder neck cb;
        Sleeve pair: hem front cap back | princess: Centre line = Panel -line;
        side: Panel side = Back side; shoulder: Centre shoulder = Back shoulder;
        armhole: Sleeve cap = Panel armhole, Centre armhole, Back -armhole;
        under: Sleeve front = Sleeve -back""",
    "trousers": """Front pair: hem in crotch waist side; Back pair: hem in crotch waist side;
        Band fold fold: foot end top fold | in: Front in = Back in; side: Front side = Back side;
        front: Front crotch = Front crotch; back: Back crotch = Back crotch;
        band: Band foot = Back waist, Front -waist""",
    "skirt of whole pieces": """Front: hem right waist left; Back: hem right waist left;
        Band: foot right top left | a: Front right = Back -left; b: Front left = Back -right;
        end: Band left = Band -right; waist: Band foot = Front -waist, Back -waist""",
    "skirt open at one side": """Front: hem right waist left; Back: hem right waist left;
        Band: foot right top left |
        a: Front right = Back -left; waist: Band foot = Back -waist, Front -waist""",
    "skirt with darts": """Front fold cf: hem side outer down up inner cf;
        Back fold cb: hem side waist cb; Band fold f: foot end top f |
        dart: Front down = Front -up; side: Front side = Back side;
        waist: Band foot = Front -inner, Front -outer""",
    "godet": """Skirt: hem slit slot foot side waist left; Godet: hem right left |
        one: Skirt slit = Godet -left; two: Skirt slot = Godet -right;
        side: Skirt side = Skirt -left""",
    "bag with a gusset": """Panel x2: foot right top left; Gusset: long end other start |
        bag: Gusset long = Panel left, Panel foot, Panel right""",
    "box": """Base: a b c d; Wall: long end top start; Lid: a b c d |
        wall: Wall long = Base a, Base b, Base c, Base d; end: Wall end = Wall -start;
        lid: Wall top = Lid -d, Lid -c, Lid -b, Lid -a""",
    "cushion": """Top: a b c d; Left: a zip c d; Right: a b c zip |
        zip: Left zip = Right -zip; a: Top a = Right -a, Left -a; b: Top b = Left -d;
        c: Top c = Left -c, Right -c; d: Top d = Right -b""",
    "cap of six": """Wedge x6: foot right left; Brim x2: inner end outer start |
        wedge: Wedge right = Wedge -left; end: Brim end = Brim -start""",
    "two-piece sleeve": """Top pair: hem back cap front; Under pair: hem back cap front;
        Cuff pair: top end foot start | back: Top back = Under back; front: Top front = Under front;
        cuff: Cuff top = Top hem, Under -hem; end: Cuff end = Cuff -start""",
    "tote": """A: foot right top left; B: foot left top right |
        foot: A foot = B -foot; right: A right = B -right; left: A left = B -left""",
    "pleated": """Front: hem right waist fold belt left; Band: foot right top left |
        band: Band foot = Front -belt, Front -waist; tube: Front right = Front -left""",
    "whole back, paired front": f"""Front pair: hem side armhole shoulder neck cf;
        Back: hem ri ra rs neck ls la li; {SLEEVE}; Collar x2: neck end top start |
        right: Front side = Back ri; left: Front side = Back -li;
        shoulder: Front shoulder = Back rs; over: Front shoulder = Back -ls;
        armhole: Sleeve cap = Front armhole, Back -ra;
        under: Sleeve front = Sleeve -back;
        neck: Collar neck = Front -neck, Back neck, Front neck""",
}


RIGHT["trousers with two bands"] = TROUSERS = """
    Front pair front=crotch: hem side waist crotch inseam; Back pair: hem inseam crotch waist side;
    FB pair front=end: top side sewn end; BB pair: top end sewn side |
    outseam: Front side = Back -side; inseam: Front -inseam = Back inseam;
    front: Front waist = FB sewn; back: Back -waist = BB -sewn; band: FB side = BB -side"""
RIGHT["hooded cape with a front"] = CAPE = """Front pair front=cf: hem side neck cf;
    Back fold cb: hem side neck cb; Hood pair front=face: neck face crown back |
    side: Front side = Back side; hood: Hood neck = Back -neck, Front neck"""
RIGHT["shirt with fronts"] = (
    SHIRT.replace("Front pair", "Front pair front=cf")
    .replace("Sleeve pair", "Sleeve pair front=front")
    .replace("Collar fold fold", "Collar fold fold front=end")
)
RIGHT["facings with fronts"] = (
    RIGHT["facings"]
    .replace("F pair", "F pair front=cf")
    .replace("Front pair", "Front pair front=cf")
)


RIGHT["trousers with one gusset"] = GUSSET = """
    Front pair: hem in gusset rise waist side; Back pair: hem in gusset rise waist side;
    G: fr br bl fl | side: Front side = Back side; in: Front in = Back in;
    front: Front rise = Front rise; back: Back rise = Back rise;
    fore: Front gusset x2 = G fl, G fr; aft: Back gusset x2 = G br, G bl"""
RIGHT["trousers with one gusset, walked round it the other way"] = GUSSET.replace(
    "G br, G bl", "G -bl, G -br"
)
RIGHT["apron with a gore on the fold"] = GORED = """Left: hem inner waist outer;
    Gore fold centre: hem side waist centre; Right: hem outer waist inner; Band: sewn end top start
    | left: Gore side = Left inner; right: Gore side = Right -inner;
    waist: Band sewn = Left -waist, Gore waist, Gore -waist, Right -waist"""
RIGHT["skirt of two gores and a pair"] = """Gore fold centre x2: hem side waist centre;
    Side pair: hem inner waist outer; Band fold fold: sewn end top fold |
    front: Gore side = Side inner;
    waist: Band sewn = Gore waist, Gore -waist, Side waist, Side -waist"""


def piece(text):
    head, names = text.split(":")
    name, *more = head.split()
    front = next((word.partition("=")[2] for word in more if word.startswith("front=")), None)
    names = names.split()
    turn = np.linspace(0.0, 2.0 * np.pi, len(names) + 1)
    points = 100.0 * np.column_stack([np.cos(turn), np.sin(turn)])
    points[-1] = points[0]
    edges = tuple(Edge(n, points[k : k + 2], (10.0, 10.0)) for k, n in enumerate(names))
    fold = more[1] if more[:1] == ["fold"] else None
    count = int(more[0][1:]) if more and more[0].startswith("x") else 1
    return Piece(
        name, edges, cuts=(Cut("self", count, pair="pair" in more),), fold=fold, front=front
    )


def side(text):
    steps = [item.split() for item in text.split(",")]
    times = next((int(more[0][1:]) for _, _, *more in steps if more), None)
    edges = ((of, edge.lstrip("-"), edge.startswith("-")) for of, edge, *_ in steps)
    return Side(tuple(edges), times)


def a_set(text):
    pieces, seams = text.split("|")
    sewn = []
    for line in seams.split(";"):
        name, sides = line.split(":")
        sewn.append(Seam(name.strip(), *(side(one) for one in sides.split("="))))
    made = tuple(piece(one.strip()) for one in pieces.split(";"))
    return PatternSet("Smock", "S-1", "M", "", made, seams=tuple(sewn))


def found_in(made):
    return wrong_ways_joined(sewn_of(made.seams, made.piece))


def said(text):
    found = found_in(a_set(text))
    return found.seams, found.pieces, found.asked


@pytest.mark.parametrize("name", RIGHT)
def test_sets_that_are_right_are_silent(name):
    assert said(RIGHT[name]) == ({}, {}, {})


def wrong(old, new, base=SHIRT):
    assert old in base
    return base.replace(old, new)


@pytest.mark.parametrize(
    ("old", "new", "seam", "words"),
    [
        ("Back -armhole", "Back armhole", "armhole", "walk 'Back' as edges = [\"-armhole\"]"),
        ("Front neck", "Front -neck", "neck", "walk 'Front' as edges = [\"neck\"]"),
        ("Collar neck", "Collar -neck", "neck", "'Collar' has its fold at the end of the seam"),
        ("Back side", "Back -side", "side", "walk 'Back' as edges = [\"side\"]"),
        ("Back shoulder", "Back -shoulder", "shoulder", "walk 'Back' as edges = [\"shoulder\"]"),
        ("Sleeve -back", "Sleeve back", "under", "walk 'Sleeve' as edges = [\"-back\"]"),
    ],
)
def test_a_side_that_runs_the_wrong_way_is_named(old, new, seam, words):
    seams, pieces, asked = said(wrong(old, new))
    assert list(seams) == [seam]
    assert words in seams[seam][0]
    assert (pieces, asked) == ({}, {})


@pytest.mark.parametrize("name", ["Front", "Back"])
def test_a_gusset_s_side_that_runs_the_wrong_way_is_asked_about(name):
    """The left and the right of a pair go to one gusset, so that both its ends meet one corner."""
    seams, pieces, asked = said(wrong(f"{name} gusset", f"{name} -gusset", GUSSET))
    assert (seams, pieces) == ({}, {})
    (words,) = (" ".join(words) for words in asked.values())
    assert f"walk '{name}' as edges = [\"gusset\"]" in words


RAGLAN = """Front pair: hem side raglan neck cf; Back fold cb: hem side raglan neck cb;
    SF pair: hem under raglan neck over; SB pair: hem over neck raglan under;
    Hood pair: neck crown face | side: Front side = Back side; under: SF under = SB -under;
    over: SF over = SB -over; front: SF raglan = Front raglan; back: SB -raglan = Back raglan;
    neck: Hood neck = Front -neck, SF neck, SB neck, Back neck"""


@pytest.mark.parametrize(
    ("chain", "pieces"),
    [
        ("Front -neck, SB neck, SF neck, Back neck", "'SF' and 'SB'"),
        ("SF neck, Front -neck, SB neck, Back neck", "'Front' and 'SF'"),
        ("Front -neck, SF neck, Back neck, SB neck", "'SB' and 'Back'"),
    ],
)
def test_pieces_of_a_chain_in_each_others_place_are_named(chain, pieces):
    """A coat with sleeves of two pieces, from the centre front over the shoulder to the back."""
    assert said(RAGLAN) == ({}, {}, {})
    seams, mirrored, asked = said(wrong("Front -neck, SF neck, SB neck, Back neck", chain, RAGLAN))
    assert (list(seams), mirrored, asked) == (["neck"], {}, {})
    assert f"name {pieces} in each other's place" in seams["neck"][0]


@pytest.mark.parametrize("half", ["waist", "-waist"])
def test_half_a_gore_within_a_side_is_told_to_be_walked_whole(half):
    """It ends at its fold, the next panel begins beside the seam of its other half."""
    seams, pieces, asked = said(wrong("Gore waist, Gore -waist", f"Gore {half}", GORED))
    assert (pieces, list({**seams, **asked})) == ({}, ["waist"])
    (words,) = (seams or asked)["waist"]
    assert words.endswith('corners don\'t meet: walk \'Gore\' as edges = ["waist", "-waist"]')


YOKED = """Front pair: hem side armhole shoulder neck cf; Back fold cb: hem side armhole yoke cb;
    Yoke fold cb: foot armhole shoulder neck cb; Top pair: cuff front hf hb back;
    Under pair: cuff front af ab back | side: Front side = Back side;
    shoulder: Front shoulder = Yoke shoulder; yoke: Yoke foot = Back -yoke;
    armhole: Under -af, Top hf, Top hb, Under -ab = Front armhole, Yoke -armhole, Back -armhole;
    front: Top front = Under front; back: Top back = Under back"""
ARMHOLE = ("Front armhole", "Yoke -armhole", "Back -armhole")
SLEEVE_HEAD = ("Under -af", "Top hf, Top hb", "Under -ab")


@pytest.mark.parametrize("chain", [ARMHOLE, SLEEVE_HEAD])
def test_every_way_to_put_a_rings_order_right_is_named_once(chain):
    """A shirt with a yoke, its sleeves of two pieces: common practice.

    Of three pieces, two in each other's place can be put back as they were, or so that the ring
    begins at another of them. Which, no seam shows: both are named, and that they differ so.
    """
    assert said(YOKED) == ({}, {}, {})
    swapped = (chain[0], chain[2], chain[1])
    (words,) = said(wrong(", ".join(chain), ", ".join(swapped), YOKED))[0]["armhole"]
    _, _, ways = words.partition("one of these is right (of a ring, look at where it begins, too")
    ways = ways.partition(": one that is turned fits as well): ")[2].split("; or ")
    fitting = {
        order
        for order in permutations(chain)
        if said(wrong(", ".join(chain), ", ".join(order), YOKED)) == ({}, {}, {})
    }
    exchanges = ((1, 0, 2), (0, 2, 1), (2, 1, 0))
    named = [tuple(swapped[k] for k in order) for order in exchanges]
    assert len(ways) == len(set(ways)) == len(fitting & set(named))
    assert chain in fitting


def test_two_slips_are_both_named():
    seams, _, _ = said(wrong("Front neck", "Front -neck", wrong("Back -armhole", "Back armhole")))
    assert sorted(seams) == ["armhole", "neck"]


def test_a_mirrored_piece_is_named_instead_of_its_seams():
    """Mirrored, a piece's edges run round it in the opposite order."""
    names = "hem side armhole shoulder neck cf"
    seams, pieces, asked = said(wrong(names, " ".join(names.split()[::-1])))
    assert seams == {}
    assert "mirrored, or its columns x and y are swapped" in pieces["Front"]
    assert list(asked) == ["side", "shoulder", "armhole", "neck"]


def test_a_front_that_does_not_meet_a_front_is_named():
    """A hood's face edge begins at the centre front: common practice."""
    seams, pieces, asked = said(wrong("Hood neck", "Hood -neck", CAPE))
    assert (
        "'Hood' has its front at the start of the seam, but 'Front' has its own at the end"
        in (seams["hood"][0])
    )
    assert (list(seams), pieces, asked) == (["hood"], {}, {})


@pytest.mark.parametrize(
    ("base", "old", "new", "seam", "words"),
    [
        # walked the other way its fold would meet, but its front would not
        ("shirt with fronts", "Collar fold fold", "Collar fold end", "neck", "fold of 'Collar' or"),
        # walked the other way its fold would meet, but no corner at its shoulder
        ("shirt with a yoke", "Yoke fold cb", "Yoke fold armhole", "yoke", "fold of 'Yoke' or"),
        ("trousers with two bands", "FB pair front=end", "FB pair front=side", "front",
         "front of 'Front' or 'FB'"),
    ],
)  # fmt: skip
def test_a_fold_or_front_of_the_wrong_edge_is_a_fault(base, old, new, seam, words):
    """A fold meets a fold by making; here one would meet only if something else did not."""
    seams, pieces, asked = said(wrong(old, new, RIGHT[base]))
    assert (list(seams), pieces, asked) == ([seam], {}, {})
    assert f"is another edge the {words}" in seams[seam][0]


def test_a_fold_may_be_wrong_instead_of_the_way_it_is_walked():
    seams, _, _ = said(wrong("Collar neck", "Collar -neck"))
    assert "or name another edge as the fold of 'Collar' or 'Back'" in seams["neck"][0]


STAND = """Front pair: hem side shoulder neck cf; Back fold cb: hem side shoulder neck cb;
    Stand fold STAND: neck end top cb; Fall fold cb: foot end top cb |
    side: Front side = Back side; shoulder: Front shoulder = Back shoulder;
    neck: Stand -neck = Front -neck, Back neck; fall: Fall -foot = Stand top"""


def test_a_fold_that_fits_none_of_two_seams_is_blamed_first():
    """A stand is sewn to the neck and to its fall, and all are folded at the centre back."""
    assert said(STAND.replace("STAND", "cb")) == ({}, {}, {})
    seams, pieces, _ = said(STAND.replace("STAND", "end"))
    assert (set(seams), pieces) == ({"neck", "fall"}, {})
    for (words,) in seams.values():
        assert "name another edge as the fold of 'Stand', which doesn't fit seams" in words
        assert "another edge as the fold of 'Back'" not in words


def test_seams_that_only_together_contradict_the_others_are_asked_about():
    """Front, back and their bands meet at the side seam's top: by making."""
    plain = TROUSERS.replace(" front=crotch", "").replace(" front=end", "")
    assert said(plain) == ({}, {}, {})
    two = wrong("FB sewn", "FB -sewn", wrong("BB -sewn", "BB sewn", plain))
    three = wrong("BB -side", "BB side", two)
    for text, names in ((two, ["front", "back"]), (three, ["front", "back", "band"])):
        seams, pieces, asked = said(text)
        assert (seams, pieces, list(asked)) == ({}, {}, names)
        assert "'FB' beside its 'end'" in asked["front"][0]
        assert "walked the other way, it and 'back'" in asked["front"][0]


def test_with_a_front_both_of_two_wrong_seams_are_faults():
    two = wrong("FB sewn", "FB -sewn", wrong("BB -sewn", "BB sewn", TROUSERS))
    seams, pieces, asked = said(two)
    assert (list(seams), pieces, asked) == (["front", "back"], {}, {})
    assert "'Front' has its front at the end of the seam, but 'FB' has its own" in seams["front"][0]


def test_seams_between_which_nothing_decides_are_both_named():
    """Without its underarm seam a sleeve may as well begin at the shoulder."""
    text = f"{HALF}; {SLEEVE} | {BODY}; {ARM.partition(';')[0]}"
    assert said(text) == ({}, {}, {})
    seams, _, _ = said(wrong("Back shoulder", "Back -shoulder", text))
    assert list(seams) == ["shoulder", "armhole"]
    assert "contradicts seam 'armhole'" in seams["shoulder"][0]


def test_where_left_and_right_may_be_mixed_it_is_only_asked():
    text = RIGHT["whole back, paired front"]
    seams, _, asked = said(wrong("= Back ri", "= Back -ri", text))
    assert seams == {}
    assert "right" in asked


def test_a_whole_band_leaves_what_is_wrong_between_halves_a_fault():
    whole = f"{HALF}; {SLEEVE}; Patch: a b c d | {BODY}; {ARM}; patch: Patch a = Front neck"
    assert said(whole) == ({}, {}, {})
    seams, _, asked = said(wrong("Back -armhole", "Back armhole", whole))
    assert (list(seams), asked) == (["armhole"], {})
    mirrored = wrong(
        "hem side armhole shoulder neck cf", "cf neck shoulder armhole side hem", whole
    )
    seams, pieces, _ = said(mirrored)
    assert (list(seams), pieces) == (["side"], {})  # with its edges' names exchanged it may be Back
    assert "one of 'Front' and 'Back' is probably mirrored" in seams["side"][0]


def meshed(seed):
    """Return pieces cut out of a plane or a tube, some mirrored, sewn singly or in chains."""
    rng = random.Random(seed)
    rows, columns, tube = rng.randint(2, 3), rng.randint(2, 3), rng.random() < 0.5
    mirrored = {(r, c): rng.random() < 0.5 for r in range(rows) for c in range(columns)}
    pieces = []
    for (row, column), over in mirrored.items():
        names = ["s", "w", "n", "e"] if over else ["s", "e", "n", "w"]
        at = rng.randrange(4)
        pieces.append(piece(f"{row}{column}: {' '.join(names[at:] + names[:at])}"))

    def step(row, column, edge, forward):
        onward = (edge in "se") != mirrored[row, column]
        return f"{row}{column}", edge, onward != forward

    seams = []

    def sew(ones, others):
        forward = rng.random() < 0.5
        pairs = [(step(*a, forward), step(*b, forward)) for a, b in zip(ones, others, strict=True)]
        pairs = pairs if forward else pairs[::-1]
        groups = [pairs] if rng.random() < 0.5 else [[pair] for pair in pairs]
        for group in groups:
            first, second = (tuple(pair[k] for pair in group) for k in (0, 1))
            seams.append(Seam(f"{len(seams)}", Side(first), Side(second)))

    for row in range(rows - 1):
        sew(
            [(row, c, "n") for c in range(columns)],
            [(row + 1, c, "s") for c in range(columns)],
        )
    for column in range(columns - 1 + tube):
        after = (column + 1) % columns
        sew([(r, column, "e") for r in range(rows)], [(r, after, "w") for r in range(rows)])
    return PatternSet("Mesh", "M-1", "M", "", tuple(pieces), seams=tuple(seams)), rng


@pytest.mark.parametrize("seed", range(12))
def test_pieces_cut_out_of_one_sheet_fit_until_one_edge_is_turned(seed):
    made, rng = meshed(seed)
    found = found_in(made)
    assert (found.seams, found.pieces, found.asked) == ({}, {}, {})
    number = rng.randrange(len(made.seams))
    seam = made.seams[number]
    at = rng.randrange(len(seam.second.edges))
    steps = [(p, e, back != (k == at)) for k, (p, e, back) in enumerate(seam.second.edges)]
    seams = list(made.seams)
    seams[number] = replace(seam, second=Side(tuple(steps)))
    assert seam.name in found_in(replace(made, seams=tuple(seams))).seams


def test_two_edges_turned_of_one_sheet_are_not_called_right():
    """In a narrow tube, both of two seams turned may fit as well: then nothing can show it."""
    shown = 0
    for seed in range(60):
        made, rng = meshed(seed)
        some = rng.sample(range(len(made.seams)), 2)
        seams = list(made.seams)
        for number in some:
            steps = tuple((p, e, not back) for p, e, back in seams[number].second.edges[::-1])
            seams[number] = replace(seams[number], second=Side(steps))
        turned = replace(made, seams=tuple(seams))
        if cost(sewn_of(turned.seams, turned.piece)) == cost(sewn_of(made.seams, made.piece)):
            continue
        shown += 1
        found = found_in(turned)
        assert {*found.seams, *found.asked} & {seams[number].name for number in some}
    assert shown > 50


def test_a_set_is_reviewed_for_it():
    made = a_set(wrong("Front neck", "Front -neck"))
    found = review(made)
    assert any(fault.startswith("seam 'neck': 'Back' ends beside its") for fault in found.faults)
    assert not any("ends beside" in fault for fault in review(a_set(SHIRT)).faults)


DARTED = """Back pair: hem side tside d1 d2 tmid e1 e2 tcentre cb; Panel pair: foot a top b;
    Front fold cf: hem side top cf; Band fold cf: low cb high cf |
    dart: Back d1 = Back -d2; other: Back e1 = Back -e2; centre: Back cb = Back cb;
    rear: Back side = Panel a; fore: Panel -b = Front side;
    waist: Front -top, Panel -top, Back tside, Back tmid, Back tcentre = Band low"""
RIGHTLY = "Back tside, Back tmid, Back tcentre"
BACK = "Back -tcentre, Back -tmid, Back -tside"


@pytest.mark.parametrize("darts", ["both", "one", "none"])
def test_a_piece_with_darts_in_a_chain_is_turned_as_a_whole(darts):
    """Walked from the centre to the side, a back would lie with its centre at the panel."""
    base = DARTED
    if darts != "both":
        base = wrong("other: Back e1 = Back -e2;", "", base)
    if darts == "none":
        base = wrong("dart: Back d1 = Back -d2;", "", base)
    assert said(base) == ({}, {}, {})
    seams, pieces, asked = said(wrong(RIGHTLY, BACK, base))
    assert (list(seams), pieces, asked) == (["waist"], {}, {})
    (words,) = seams["waist"]
    assert 'walk \'Back\' as edges = ["tside", "tmid", "tcentre"]' in words


def test_a_piece_with_darts_in_a_chain_changes_places_as_a_whole():
    chain = f"Front -top, Panel -top, {RIGHTLY}"
    seams, pieces, asked = said(wrong(chain, f"Front -top, {RIGHTLY}, Panel -top", DARTED))
    assert (list(seams), pieces, asked) == (["waist"], {}, {})
    assert "name 'Panel' and 'Back' in each other's place" in seams["waist"][0]


def test_a_mirrored_piece_with_darts_is_named():
    names = "hem side tside d1 d2 tmid e1 e2 tcentre cb"
    seams, pieces, _ = said(wrong(names, " ".join(names.split()[::-1]), DARTED))
    assert (seams, list(pieces)) == ({}, ["Back"])
    assert "its drawing is probably mirrored" in pieces["Back"]
