"""A panel without a lining between lined panels.

What is lined in part is common practice, from memory: fronts alone, a body without its sleeves, a
skirt's back; godets are never.
"""

from dataclasses import replace

import numpy as np
import pytest

from plotout.review.whole_set import review

from .test_tube_doubts import FOLD, piece, read, seam

BOX = (0, 0), (160, 0), (160, 400), (0, 400)
UPPER = (0, 0), (160, 0), (190, 400), (80, 480), (-30, 400)
UNDER = (0, 0), (160, 0), (190, 400), (80, 380), (-30, 400)
PANELS = ("Front", "Side", "Back")
LINED = 'cut = [{ cloth = "self", pair = true }, { cloth = "lining", pair = true }]'


def body(more="", **cuts):
    """Front, side and back, each cut of self, and as `cuts` say."""
    parts = [piece(name, BOX, "hem right top left") for name in PANELS]
    for index, name in enumerate(PANELS):
        plain = 'cut = [{ cloth = "self", pair = true }]'
        parts[index] = parts[index].replace(plain, cuts.get(name, plain))
    return [
        *parts,
        seam("Front right", "Side -left"),
        seam("Side right", "Back -left"),
        seam("Back right", "Back right"),
        more,
    ]


def lining(parent):
    return (
        f'[[piece]]\nname = "{parent} lining"\nderive = {{ from = "{parent}", how = "lining" }}\n'
        'cut = [{ cloth = "lining", pair = true }]\n'
    )


def asked(*parts):
    return [note for note in review(read(*parts)).notes if "lining missing" in note]


def test_a_panel_between_two_lined_ones_is_asked_about():
    expected = [
        "Side: 'Back' and 'Front' on both sides of it are lined, but it is not: is its lining "
        "missing?"
    ]
    assert asked(*body(lining("Front") + lining("Back"))) == expected
    assert asked(*body(Front=LINED, Back=LINED)) == expected


@pytest.mark.parametrize("word", ["Futter", "doublure", "forro", "Innenfutter"])
def test_a_lining_cut_with_its_card_is_known_by_its_name(word):
    cut = LINED.replace("lining", word)
    assert len(asked(*body(Front=cut, Back=cut))) == 1


@pytest.mark.parametrize(
    "lined", [("Front",), ("Back",), ("Front", "Side"), ("Side", "Back"), ("Side",), PANELS, ()]
)
def test_what_is_lined_in_part_is_not(lined):
    assert asked(*body("".join(map(lining, lined)))) == []


@pytest.mark.parametrize(
    "cut",
    [
        'cut = [{ cloth = "rib", pair = true }]',
        'cut = [{ cloth = "self", pair = true, count = 2 }]',
        'cut = [{ cloth = "self", pair = true }, { cloth = "mesh", pair = true }]',
    ],
)
def test_a_panel_of_another_cloth_or_in_layers_is_not(cut):
    assert asked(*body(lining("Front") + lining("Back"), Side=cut)) == []


@pytest.mark.parametrize("word", ["canvas", "foam", "Einlage", "entretela", "ouatine"])
def test_stiffened_panels_are_not_lined(word):
    cut = LINED.replace("lining", word)
    assert asked(*body(Front=cut, Back=cut)) == []


def test_a_second_cloth_of_its_neighbours_that_a_panel_lacks_is_asked_about():
    """As satin over coutil in all panels of a corset but one."""
    cut = LINED.replace("lining", "satin")
    found = [note for note in review(read(*body(Front=cut, Back=cut))).notes if "as well" in note]
    assert found == [
        "Side: 'Back' and 'Front' on both sides of it are cut of satin as well, but it is not: is "
        "that missing?"
    ]


def test_a_left_and_a_right_of_two_cloths_are_not_two_layers():
    cut = 'cut = [{ cloth = "self" }, { cloth = "red", reversed = true }]'
    parts = body(Front=cut, Back=cut)
    assert not [note for note in review(read(*parts)).notes if "as well" in note]


def test_a_lining_drawn_by_itself_may_be_for_it():
    drawn = piece("Inside", BOX, "hem right top left").replace("self", "lining")
    assert asked(*body(lining("Front") + lining("Back") + drawn)) == []


def test_a_godet_is_not():
    parts = [
        piece("Front", BOX, "hem right top fold", 90.0, FOLD),
        piece("Back", BOX, "hem right top fold", 90.0, FOLD),
    ]
    low = [part.replace("[160.0, 400.0]", "[160.0, 200.0], [160.0, 400.0]").replace(
        '"right"', '"low", "right"') for part in parts]  # fmt: skip
    linings = [lining(p).replace("pair = true", "on-fold = true") for p in ("Front", "Back")]
    godet = piece("Godet", ((0, 0), (150, 0), (75, 186)), "hem one other")
    found = asked(
        *low, godet, *linings,
        seam("Front low", "Godet -other"), seam("Back low", "Godet one"),
        seam("Front right", "Back right"),
    )  # fmt: skip
    assert found == []


@pytest.mark.parametrize(("lined", "told"), [("Upper", 1), ("Upper Under", 0), ("", 0)])
def test_a_sleeve_in_two_is_lined_in_both_parts(lined, told):
    edges = "hem fore cap_fore cap_hind hind"
    parts = piece("Upper", UPPER, edges), piece("Under", UNDER, edges)
    seams = seam("Upper fore", "Under -hind"), seam("Upper hind", "Under -fore")
    other = piece("Vest", BOX, "hem right top left"), lining("Vest")
    assert len(asked(*parts, *map(lining, lined.split()), *seams, *other)) == told


@pytest.mark.parametrize(("lined", "told"), [("Side", 1), ("Side Strip", 0), ("Strip", 0), ("", 0)])
def test_a_strip_between_two_of_one_piece_is_lined_as_they_are(lined, told):
    """Of a hood, or the gusset of a bag."""
    parts = piece("Side", BOX, "neck face top crown"), piece("Strip", BOX, "neck one face other")
    seams = seam("Strip one", "Side -crown"), seam("Strip other", "Side -crown")
    assert len(asked(*parts, *map(lining, lined.split()), *seams)) == told


ROUND = [(200.0 * np.cos(angle), 150.0 + 200.0 * np.sin(angle)) for angle in
         np.linspace(0.0, np.pi / 2.0, 10)]  # fmt: skip
CHORDS = [f"c{k}" for k in range(10)]
CROWN = 9 * 400.0 * np.sin(np.pi / 36.0) + 150.0
"""As long as nine chords of 10 degrees at a radius of 200 mm, and the straight below them: sums."""


def bent(name, count):
    return piece(name, ((0, 0), (200, 0), *ROUND), " ".join(["neck", *CHORDS, "face"]), 90.0, "",
                 count)  # fmt: skip


def in_one(whole):
    """Return a set with the chords of a bend as one edge: 'crown'."""

    def along(side):
        steps = [step for step in side.edges if step[1] not in CHORDS]
        bends = [(step[0], "crown", step[2]) for step in side.edges if step[1] == CHORDS[0]]
        return replace(side, edges=(*steps, *bends))

    def merged(part):
        chords = [edge for edge in part.edges if edge.name in CHORDS]
        if not chords:
            return part
        points = np.vstack([chords[0].points, *(edge.points[1:] for edge in chords[1:])])
        crown = replace(chords[0], name="crown", points=points)
        return replace(part, edges=(part.edges[0], crown, part.edges[-1]))

    seams = [replace(one, first=along(one.first), second=along(one.second)) for one in whole.seams]
    return replace(whole, pieces=tuple(map(merged, whole.pieces)), seams=tuple(seams))


def asked_in_one(*parts):
    return [note for note in review(in_one(read(*parts))).notes if "lining missing" in note]


@pytest.mark.parametrize(("lined", "told"), [("Side", 1), ("Side Strip", 0), ("", 0)])
@pytest.mark.parametrize("halved", [True, False])
def test_a_strip_along_the_bend_of_a_hood_is_lined_as_its_sides_are(lined, told, halved):
    wide = 50 if halved else 100
    box = (0, 0), (wide, 0), (wide, CROWN), (0, CROWN)
    strip = piece("Strip", box, f"neck one face {'fold' if halved else 'other'}", 90.0,
                  FOLD if halved else "", "count = 1")  # fmt: skip
    crown = " ".join(f"-{chord}" for chord in CHORDS[::-1])
    seams = [seam("Strip one", f"Side {crown}"), seam("Strip other", f"Side {crown}")][: 2 - halved]
    linings = [lining(name) for name in lined.split()]
    found = asked_in_one(bent("Side", "pair = true"), strip, *linings, *seams)
    assert found == told * [
        "Strip: 'Side' on both sides of it is lined, but it is not: is its lining missing?"
    ]


@pytest.mark.parametrize("count", ["pair = true", "count = 2"])
@pytest.mark.parametrize("cut", [1, 2])
def test_a_band_folded_along_a_bend_is_not_lined(count, cut):
    """A waistband of a half circle's skirt in two, or the bands of two sleeves' curved ends: on the
    fold along the free edge, common practice, from memory.
    """
    long = CROWN * (2 // cut)
    box = (0, 0), (long, 0), (long, 40), (0, 40)
    band = piece("Band", box, "waist end fold start", 0.0, FOLD)
    band = band.replace("on-fold = true", f"on-fold = true, count = {cut}")
    times = f'first = {{ piece = "Skirt", times = {2 // cut},'
    sewn = seam(f"Skirt {' '.join(CHORDS)}", "Band -waist")
    sewn = sewn.replace('first = { piece = "Skirt",', times)
    assert times in sewn
    assert asked_in_one(bent("Skirt", count), band, lining("Skirt"), sewn) == []


@pytest.mark.parametrize(("lined", "told"), [("Body", 1), ("Body Gusset", 0), ("Gusset", 0)])
def test_a_gusset_that_goes_round_a_lined_bag_is_lined_too(lined, told):
    body = piece("Body", ((0, 0), (380, 0), (380, 420), (0, 420)), "low right top left")
    gusset = piece("Gusset", ((0, 0), (1220, 0), (1220, 120), (0, 120)), "near end far start", 0.0)
    seams = seam("Gusset near", "Body left low right"), seam("Gusset -far", "Body left low right")
    parts = "".join([body, gusset.replace("pair = true", "count = 1"), *map(lining, lined.split())])
    assert len(asked(parts, *seams)) == told


@pytest.mark.parametrize(
    ("lined", "told"), [("Side Front Flap", 1), ("Side Front Flap Back", 0), ("Front", 0)]
)
def test_a_bags_back_between_lined_sides_is_lined_though_it_has_a_flap(lined, told):
    names = "foot right top left"
    parts = [piece(name, BOX, names) for name in ("Side", "Front", "Back", "Flap")]
    seams = [
        seam(f"{panel} {edge}", f"Side {to}")
        for panel, to in (("Front", "-left"), ("Back", "right"))
        for edge in ("right", "-left")
    ]
    flap = seam("Back top", "Flap foot")
    made = "".join([*parts, *map(lining, lined.split())]).replace("pair = true", "count = 1")
    for name in ("Side", "Side lining"):
        head, at, rest = made.partition(f'name = "{name}"')
        made = head + at + rest.replace("count = 1", "count = 2", 1)
    assert len(asked(made, *seams, flap)) == told


@pytest.mark.parametrize(
    ("lined", "told"), [("Wall End", 1), ("Wall End Base", 0), ("Wall", 0), ("", 0)]
)
def test_a_base_sewn_to_lined_pieces_at_all_its_edges_is_lined_too(lined, told):
    """Of a bag, whatever its grain."""
    parts = [piece(name, BOX, "foot right top left") for name in ("Wall", "End")]
    base = piece("Base", BOX, "one two three four", 0.0)
    seams = seam("Base one", "Wall -foot"), seam("Base two", "End -left")
    seams += seam("Base three", "Wall foot"), seam("Base four", "End left")
    made = "".join([*parts, base, *map(lining, lined.split())])
    assert len(asked(made, *seams)) == told


@pytest.mark.parametrize(("lined", "told"), [("Back Front", 1), ("Back Front Outer", 0)])
def test_a_spats_outer_is_lined_as_both_its_inner_parts(lined, told):
    """Its foot is hollow: past the seams it leaves them at 48 degrees on either side."""
    hollow = (0, 0), (80, 80), (160, 0), (160, 400), (0, 400)
    parts = [
        piece("Outer", hollow, "foot sole right top left"),
        piece("Back", hollow, "foot sole right top left"),
        piece("Front", hollow, "foot sole right top left"),
    ]
    seams = seam("Outer right", "Back -left"), seam("Outer left", "Front -right")
    found = asked("".join([*parts, *map(lining, lined.split())]), *seams)
    assert len([note for note in found if note.startswith("Outer: ")]) == told


def test_a_front_of_one_piece_may_be_lined_alone():
    parts = piece("Front", BOX, "hem right waist left"), piece("Back", BOX, "hem right waist left")
    seams = seam("Front left", "Back -right"), seam("Front right", "Back -left")
    both = "".join([*parts, lining("Front")]).replace(", pair = true", "")
    assert asked(both, *seams) == []


@pytest.mark.parametrize(("shoulders", "told"), [(False, 0), (True, 1)])
def test_a_skirt_drawn_whole_may_be_lined_at_its_back_alone(shoulders, told):
    """Common practice, against a skirt's seat; its two side seams are one of a half. A bodice drawn
    whole has shoulders as well.
    """
    box = (0, 0), (400, 0), (400, 600), (250, 640), (150, 640), (0, 600)
    edges = "hem right over waist under left"
    parts = piece("Front", box, edges), piece("Back", box, edges)
    seams = [seam("Front left", "Back -right"), seam("Front right", "Back -left")]
    seams += [seam("Front over", "Back -under"), seam("Front under", "Back -over")] * shoulders
    both = "".join([*parts, lining("Back")]).replace(", pair = true", "")
    assert len(asked(both, *seams)) == told


TOP = (0, 0), (240, 0), (240, 320), (205, 360), (205, 560), (80, 560), (0, 480)
CUT = 'cut = [{ cloth = "self", on-fold = true }]'


def gilet(*linings, cut=CUT, shorter=20, shoulder=True, back="Back"):
    """A front and a back on the fold, with linings of these."""
    parts = [
        piece(name, TOP, "hem side low armhole shoulder neck fold", 90.0, FOLD).replace(CUT, own)
        for name, own in (("Front", cut), (back, cut))
    ]
    made = "".join(
        lining(name).replace(
            '"lining" }', f'"lining", hem = {{ edge = "hem", shorter = "{shorter} mm" }} }}'
        )
        for name in linings
    ).replace("pair = true", "on-fold = true")
    seams = [seam("Front side", f"{back} side"), seam("Front shoulder", f"{back} shoulder")]
    return asked(*parts, made, *seams[: 1 + shoulder])


@pytest.mark.parametrize(
    ("linings", "more", "told"),
    [
        (("Back",), {}, 1),
        (("Back", "Front"), {}, 0),
        (("Front",), {}, 0),
        (("Back",), {"shorter": 300}, 0),  # a shield
        (("Back",), {"shoulder": False}, 0),  # a skirt, lined where one sits on it
        (("Yoke",), {"back": "Yoke"}, 0),
        (("Back",), {"cut": CUT.replace("}]", '}, { cloth = "wadding", on-fold = true }]')}, 1),
    ],
)
def test_a_back_is_not_lined_alone_where_it_has_a_shoulder(linings, more, told):
    found = gilet(*linings, **more)
    assert (
        found
        == [
            "Front: 'Back', to which it is sewn at two edges, is lined by 'Back lining', but it is "
            "not: is its lining missing?"
        ][:told]
    )


@pytest.mark.parametrize("name", ["Front", "Flap"])
def test_a_back_cut_of_its_lining_too_is_not_lined_alone(name):
    """From one card, as of a baby's sack that is sewn shut at its foot."""
    two = CUT.replace("}]", '}, { cloth = "lining", on-fold = true }]')
    parts = [
        piece(one, TOP, "hem side low armhole shoulder neck fold", 90.0, FOLD).replace(CUT, cut)
        for one, cut in ((name, CUT), ("Back", two))
    ]
    found = asked(
        *parts, seam(f"{name} side", "Back side"), seam(f"{name} shoulder", "Back shoulder")
    )
    assert (
        found
        == [
            "Front: 'Back', to which it is sewn at two edges, is cut of lining as well, but it is "
            "not: is its lining missing?"
        ][: name == "Front"]
    )


SHELL, WADDING, LINING = (f'{{ cloth = "{cloth}", pair = true }}' for cloth in
                          ("shell", "wadding", "lining"))  # fmt: skip


@pytest.mark.parametrize(
    ("front", "back", "told"),
    [
        ((SHELL, LINING), (SHELL, WADDING, LINING), 1),
        ((SHELL,), (SHELL, WADDING.replace("wadding", "Watte")), 1),
        ((SHELL, WADDING, LINING), (SHELL, WADDING, LINING), 0),
        ((SHELL, WADDING, LINING), (SHELL, LINING), 0),  # a padded front
        ((SHELL, LINING), (SHELL, WADDING.replace("wadding", "net"), LINING), 0),
        ((LINING,), (SHELL, WADDING, LINING), 0),
    ],
)
def test_a_back_is_not_wadded_alone(front, back, told):
    """That a gilet is wadded in front too, if its back is, is common practice."""
    if front == (LINING,):
        back = tuple(cut.replace("shell", "wool").replace("lining", "silk") for cut in back)
    made = [
        piece(name, BOX, "hem side shoulder middle").replace(
            'cut = [{ cloth = "self", pair = true }]', f"cut = [{', '.join(cuts)}]"
        )
        for name, cuts in (("Front", front), ("Back", back))
    ]
    seams = seam("Front side", "Back side"), seam("Front shoulder", "Back shoulder")
    notes = review(read(*made, *seams)).notes
    found = [note for note in notes if "is that missing" in note]
    assert len(found) == told, notes
    assert all(note.startswith("Front: 'Back', to which it is sewn at two edges") for note in found)
    wadding = WADDING.replace("wadding", "Watte") if "Watte" in "".join(back) else WADDING
    own = made[0].replace("Front", "Front wadding").replace(", ".join(front), wadding)
    assert not [n for n in review(read(*made, own, *seams)).notes if "is that missing" in n]
