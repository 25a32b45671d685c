"""What another piece of the set shows to be wrong: common practice, from memory."""

from dataclasses import replace

import numpy as np
import pytest
from garments import edge

from plotout.finish.derive import possible_pieces
from plotout.pattern import setfile
from plotout.pattern.assemble import read_drawings
from plotout.pattern.model import Piece, Seam, Side
from plotout.review.set_doubts import set_doubts
from plotout.tables import parse_toml

HEAD = '[set]\nname = "Chore coat"\nstyle = "CC-1"\n'


def a_piece(name, more="", cut="", size='"200 mm", "300 mm"', grain='along = "left"'):
    cuts = f'cut = [{{ cloth = "self"{cut} }}]\n'
    return (
        f'[[piece]]\nname = "{name}"\nrectangle = [{size}]\ngrain = {{ {grain} }}\n{cuts}{more}\n'
    )


def notes(*parts):
    made = setfile.of(parse_toml(HEAD + "".join(parts), "set file"))
    return list(set_doubts(read_drawings(made, lambda *_: None).in_size()))


@pytest.mark.parametrize(
    ("one_way", "told"),
    [("yyyn", 1), ("yyyy", 0), ("yyn", 0), ("yynn", 0), ("nnnn", 0)],
)
def test_the_only_piece_that_may_lie_either_way_is_asked_about(one_way, told):
    made = [
        a_piece(f"P{n}", "one-way = true" if yes == "y" else "") for n, yes in enumerate(one_way)
    ]
    asked = notes(*made)
    assert len(asked) == told
    assert all(one.startswith("P3: it may lie either way in 'self'") for one in asked)


@pytest.mark.parametrize(("other", "told"), [("front", 1), ("Fr ont", 1), ("Front 2", 0)])
def test_pieces_that_their_cards_hardly_tell_apart_are_asked_about(other, told):
    asked = notes(a_piece("Front"), a_piece(other))
    assert ["can hardly be told apart" in one for one in asked] == [True] * told


@pytest.mark.parametrize(
    ("name", "grain", "bias", "told"),
    [
        ("Bias strip", 'along = "left"', "", 1),
        ("Bias strip", 'along = "left"', "bias = true", 0),
        ("Bias strip", "from = [20, 10], to = [40, 30]", "", 0),  # drawn at 45 degrees
        ("Strip", 'along = "left"', "", 0),
    ],
)
def test_what_is_called_bias_but_lies_along_the_threads_is_asked_about(name, grain, bias, told):
    asked = notes(a_piece(name, bias, size='"300 mm", "60 mm"', grain=grain))
    assert len(asked) == told
    assert all(one.startswith("Bias strip: its name says that it is cut on the") for one in asked)


@pytest.mark.parametrize(
    ("size", "grain", "told"),
    [
        ('"300 mm", "35 mm"', "from = [130, 0], to = [165, 35]", 1),
        ('"35 mm", "300 mm"', "from = [0, 130], to = [35, 165]", 1),
        ('"300 mm", "35 mm"', "from = [20, 17], to = [280, 17]", 0),
        ('"300 mm", "200 mm"', "from = [20, 20], to = [180, 180]", 0),  # no strip
    ],
)
def test_a_strip_said_to_be_on_the_bias_twice_is_asked_about(size, grain, told):
    """By hand: 45 degrees and 45 more are none, or 90."""
    asked = notes(a_piece("Strip", "bias = true", size=size, grain=grain))
    assert ["so they lie along the threads" in one for one in asked] == [True] * told


@pytest.mark.parametrize(
    ("how", "parent", "cut", "told"),
    [
        ('"facing", along = ["top"], width = 50', ", pair = true", "", 1),
        ('"facing", along = ["top"], width = 50', ", pair = true", ", pair = true", 0),
        ('"facing", along = ["top"], width = 50', ", pair = true", ", count = 2", 0),
        ('"facing", along = ["top"], width = 50', "", "", 0),
        ('"lining"', ", pair = true", "", 1),
        ('"fusing"', ", pair = true", "", 0),  # the side of the buttons alone may be fused
    ],
)
def test_a_single_facing_of_a_pair_is_asked_about(how, parent, cut, told):
    inner = (
        f'[[piece]]\nname = "Inner"\nderive = {{ from = "Front", how = {how} }}\n'
        f'cut = [{{ cloth = "other"{cut} }}]\n'
    )
    made = setfile.of(parse_toml(HEAD + a_piece("Front", cut=parent) + inner, "set file"))
    read = read_drawings(made, lambda *_: None).in_size()
    asked = list(set_doubts(read.with_pieces(possible_pieces(read)[0])))
    assert [one[:27] for one in asked] == ["Inner: one is cut of it, but"[:27]] * told


@pytest.mark.parametrize(
    ("wool", "canvas", "told"),
    [("", ", pair = true", 1), ("", "", 1), (", pair = true", "", 0), (", count = 2", "", 0)],
)
def test_a_facings_interlining_is_not_counted_for_it(wool, canvas, told):
    """The interlining may be for one side (common practice), but not instead of the facing."""
    front = a_piece("Front").replace(
        'cut = [{ cloth = "self" }]',
        'cut = [{ cloth = "wool", pair = true }, { cloth = "canvas", pair = true }]',
    )
    inner = (
        '[[piece]]\nname = "Inner"\n'
        'derive = { from = "Front", how = "facing", along = ["top"], width = 50 }\n'
        f'cut = [{{ cloth = "wool"{wool} }}, {{ cloth = "canvas"{canvas} }}]\n'
    )
    assert '"canvas"' in front
    read = read_drawings(setfile.of(parse_toml(HEAD + front + inner, "set file")), lambda *_: None)
    made = read.in_size()
    asked = list(set_doubts(made.with_pieces(possible_pieces(made)[0])))
    assert len(asked) == told, asked


@pytest.mark.parametrize(
    ("name", "parent", "told"),
    [("Front lining", "Back", 1), ("Front lining", "Front", 0), ("Lining", "Back", 0)],
)
def test_what_is_called_as_another_piece_than_its_parent_is_asked_about(name, parent, told):
    inner = (
        f'[[piece]]\nname = "{name}"\nderive = {{ from = "{parent}", how = "lining" }}\n'
        'cut = [{ cloth = "other" }]\n'
    )
    asked = [one for one in notes(a_piece("Front"), a_piece("Back"), inner) if "called as" in one]
    words = "Front lining: it is made from 'Back', but it is called as 'Front' is: is from right?"
    assert asked == [words] * told


def test_a_piece_may_be_called_as_what_its_parent_is_made_from():
    """A fusing of a facing of the back."""
    parts = [
        f'[[piece]]\nname = "{name}"\nderive = {{ from = "{parent}", how = {how} }}\n'
        'cut = [{ cloth = "other" }]\n'
        for name, parent, how in (
            ("Neck facing", "Back", '"facing", along = ["top"], width = 40'),
            ("Back fusing", "Neck facing", '"fusing"'),
        )
    ]
    assert not [one for one in notes(a_piece("Back"), *parts) if "called as" in one]


@pytest.mark.parametrize(("edge", "told"), [("top", 1), ("waist", 0)])
def test_what_can_only_be_made_from_its_parent_is_not_asked_about(edge, told):
    """A facing of the waist is the yoke's: the back below it has no such edge."""
    yoke = a_piece("Back yoke").replace(
        '"300 mm"]', f'"300 mm"]\nedges = ["a", "b", "{edge}", "c"]'
    )
    yoke = yoke.replace('along = "left"', 'along = "b"')
    inner = (
        '[[piece]]\nname = "Back facing"\n'
        f'derive = {{ from = "Back yoke", how = "facing", along = ["{edge}"], width = 40 }}\n'
        'cut = [{ cloth = "self" }]\n'
    )
    assert len([one for one in notes(a_piece("Back"), yoke, inner) if "called as" in one]) == told


@pytest.mark.parametrize("key", ["one-way", "bias"])
@pytest.mark.parametrize(("own", "lies"), [("", True), ("true", True), ("false", False)])
def test_a_piece_that_says_how_it_lies_is_not_overruled(key, own, lies):
    """By the set's one-way, nor by its parent's: a lining of a napped cloth may lie either way."""
    said = f"{key} = {own}\n" if own else ""
    head = "[defaults]\none-way = true\n" if key == "one-way" else ""
    inner = f'[[piece]]\nname = "Inner"\nderive = {{ from = "Front", how = "lining" }}\n{said}'
    text = HEAD + head + a_piece("Front", f"{key} = true") + inner + 'cut = [{ cloth = "x" }]\n'
    if key == "one-way":
        text += a_piece("Back", said)
    read = read_drawings(setfile.of(parse_toml(text, "set file")), lambda *_: None).in_size()
    made = {piece.name: piece for piece in possible_pieces(read)[0]}
    field = key.replace("-", "_")
    assert getattr(made["Inner"], field) is lies
    assert getattr(made["Front"], field) is True
    if key == "one-way":
        assert made["Back"].one_way is lies


HOLES = """
[[piece.drill]]
at = [{0}, 150]
name = "pocket left"
[[piece.drill]]
at = [{1}, 150]
name = "pocket right"
"""


@pytest.mark.parametrize(
    ("holes", "wide", "told"),
    [
        ((40, 160), 130, 0),
        ((40, 160), 120, 0),  # at its very corners
        ((40, 160), 110, 1),
        ((40, 160), 13, 1),  # cm for mm
    ],
)
def test_holes_that_their_pocket_does_not_cover_are_asked_about(holes, wide, told):
    """By hand: 160 - 40 = 120 mm apart, level, on a piece with its grain upright."""
    pocket = a_piece("Patch pocket", size=f'"{wide} mm", "140 mm"')
    asked = notes(a_piece("Front", HOLES.format(*holes)), pocket)
    assert (
        asked
        == [
            "Front: its drill holes 'pocket left' lie 120 mm apart across the grain and 0 along "
            f"it: 'Patch pocket', of {wide} x 140 mm, doesn't cover them"
        ]
        * told
    )


@pytest.mark.parametrize(
    ("name", "bend", "told", "ease"),
    [
        ("Neck binding", 60.0, 1, (0.0, 0.0)),
        ("Neck binding", 60.0, 1, (-5.0, -3.0)),
        ("Neck binding", 60.0, 0, (-16.0, -12.0)),  # a knit, made a tenth longer to fit
        ("Neck binding", 10.0, 0, (0.0, 0.0)),
        ("Neck band", 60.0, 0, (0.0, 0.0)),
    ],
)
def test_a_binding_of_a_curve_that_lies_along_the_threads_is_asked_about(name, bend, told, ease):
    """The neck turns by 2 x atan(bend / 50) in all: 100 and 23 degrees. That a binding which is
    stretched to fit is a knit, and needs no bias, is common practice.
    """
    made = setfile.of(parse_toml(HEAD + a_piece(name, size='"156 mm", "30 mm"'), "set file"))
    strip = read_drawings(made, lambda *_: None).in_size()
    ring = np.array([[0, 0], [200, 0], [100, 200], [50, 200 - bend], [0, 200], [0, 0]], float)
    lines = (ring[:2], ring[1:3], ring[2:5], ring[4:])
    edges = tuple(edge(each, line) for each, line in zip("hsnc", lines, strict=True))
    sides = (Side(((name, "top", False),)), Side((("Front", "n", False),)))
    whole = replace(
        strip, pieces=(*strip.pieces, Piece("Front", edges)), seams=(Seam("n", *sides, ease),)
    )
    asked = [f"{name}: it binds the curved 'n', but its grain line lies along the threads"] * told
    assert [one.removesuffix(": write bias = true") for one in set_doubts(whole)] == asked


@pytest.mark.parametrize(
    ("many", "of", "told"),
    [(5, 6, 1), (4, 6, 1), (3, 6, 0), (6, 6, 0), (12, 6, 0), (1, 2, 1), (2, 2, 0), (1, 1, 0)],
)
def test_linings_of_most_panels_but_not_of_all_are_asked_about(many, of, told):
    """Half of a cap may be lined; five of its six panels, or one side of two of a bag, are a slip
    (common practice).
    """
    inner = (
        '[[piece]]\nname = "Inner"\nderive = { from = "Panel", how = "lining" }\n'
        f'cut = [{{ cloth = "other", count = {many} }}]\n'
    )
    made = setfile.of(
        parse_toml(HEAD + a_piece("Panel", cut=f", count = {of}") + inner, "set file")
    )
    read = read_drawings(made, lambda *_: None).in_size()
    assert list(set_doubts(read.with_pieces(possible_pieces(read)[0]))) == told * [
        f"Inner: {many} are cut of it, but {of} of 'Panel', from which it is made: is its count "
        "right?"
    ]


def of_cloths(name, cloths):
    orders = ", ".join(f'{{ cloth = "{cloth}" }}' for cloth in cloths.split())
    return a_piece(name).replace('cut = [{ cloth = "self" }]', f"cut = [{orders}]")


@pytest.mark.parametrize(
    ("others", "hood", "told"),
    [
        ("shell wadding lining", "shell wadding", 1),
        ("shell wadding lining", "shell wadding lining", 0),
        ("shell wadding lining", "shell", 0),
        ("shell wadding lining", "shell shell wadding", 0),  # a collar, doubled
        ("shell wadding", "shell wadding", 0),
        ("wool canvas lining", "wool canvas", 0),  # a collar, whose canvas stiffens it
    ],
)
def test_a_padded_piece_without_the_lining_of_all_others_is_asked_about(others, hood, told):
    """Wadding lies between two cloths: common practice, from memory."""
    parts = [of_cloths(name, others) for name in ("Top", "Under")]
    asked = [note for note in notes(*parts, of_cloths("Hood", hood)) if "without a lining" in note]
    assert len(asked) == told
