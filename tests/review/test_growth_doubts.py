"""What grows against its neighbours: that sizes grow all round is common practice, from memory."""

import pytest

from plotout.pattern import setfile
from plotout.pattern.assemble import read_drawings
from plotout.review.whole_set import review
from plotout.tables import parse_toml

HEAD = """[set]
name = "Wrap skirt"
style = "WS-1"
[defaults]
allowance = 10
[sizes]
base = "M"
range = ["S", "M", "L"]
"""
PIECE = """[[piece]]
name = "{name}"
points = [[0, 0], [200, 0], [200, 300], [0, 300]]
edges = ["{hem}", "side", "top", "middle"]
grain = {{ along = "middle" }}
cut = [{{ cloth = "self", pair = true }}]
[[piece.grade]]
corner = ["{hem}", "side"]
x = "{hem_grows} mm"
[[piece.grade]]
corner = ["side", "top"]
x = "6 mm"
"""
SIDE = """[[seam]]
name = "side"
first = { piece = "Front", edges = ["side"] }
second = { piece = "Back", edges = ["side"] }
"""
POCKET = """[[piece]]
name = "Pocket"
rectangle = ["120 mm", "140 mm"]
grain = {{ along = "left" }}
cut = [{{ cloth = "self" }}]
[[piece.grade]]
corner = ["bottom", "right"]
x = "{grows} mm"
[[piece.grade]]
corner = ["right", "top"]
x = "{grows} mm"
"""


HALF = """[[piece]]
name = "Back"
rectangle = ["120 mm", "200 mm"]
{end}
grain = {{ along = "left" }}
cut = [{{ cloth = "self", {cut} }}]
[[piece.grade]]
corner = ["bottom", "right"]
y = "-5 mm"
[[piece.grade]]
corner = ["left", "bottom"]
y = "{centre} mm"
"""


def notes(text, size, words="shrink"):
    made = setfile.check_growth(setfile.of(parse_toml(HEAD + text, "set file")))
    whole = read_drawings(made, lambda *_: None).in_size(size)
    return [note for note in review(whole).notes if words in note]


def skirt(front, back, hems=("hem", "hem")):
    """Return a front and a back, of which the hem's corner moves by so much per size."""
    pieces = zip(("Front", "Back"), hems, (front, back), strict=True)
    made = [PIECE.format(name=name, hem=hem, hem_grows=grows) for name, hem, grows in pieces]
    return "".join(made) + SIDE


@pytest.mark.parametrize("size", ["S", "L"])
@pytest.mark.parametrize("hems", [("hem", "hem"), ("hem front", "hem back")])
def test_a_hem_that_shrinks_where_its_neighbour_grows_is_asked_about(hems, size):
    """The corner of a wrong sign slants the side by as much, so that the seam still matches."""
    (note,) = notes(skirt(5, -5, hems), size)
    assert note.startswith("seam 'side': ")
    assert f"'{hems[0]}' of 'Front' grows" in note
    assert f"'{hems[1]}' of 'Back', which meets it, shrinks" in note


@pytest.mark.parametrize(("front", "back"), [(5, 5), (5, 0), (5, -1), (0.9, -0.9)])
def test_hems_that_grow_alike_or_hardly_are_not_asked_about(front, back):
    assert not notes(skirt(front, back), "L")
    assert not notes(skirt(5, -5), "M")


@pytest.mark.parametrize("size", ["S", "L"])
@pytest.mark.parametrize(("front", "back", "told"), [(5, 0, 1), (0, 5, 1), (0, 0, 0), (5, 5, 0)])
def test_a_hem_that_is_left_behind_its_neighbour_is_asked_about(front, back, told, size):
    """Both tops grow by 6 mm. A hem may be as wide in all sizes, but on both sides of its seam."""
    found = notes(skirt(front, back), size, "is its growth missing")
    grown, still = ("Front", "Back") if front else ("Back", "Front")
    assert found == told * [
        f"seam 'side': 'hem' of '{grown}' grows with the sizes, and 'top' of '{still}' too, but "
        "its 'hem' doesn't: is its growth missing?"
    ]


@pytest.mark.parametrize("size", ["S", "L"])
@pytest.mark.parametrize(
    ("hem", "name", "told"), [(-5, "hem", 1), (5, "hem", 0), (0, "hem", 0), (-5, "neck", 0)]
)
def test_a_hem_that_shrinks_while_its_top_grows_is_asked_about(hem, name, told, size):
    """Of a petticoat of six gores that are alike. A neck is no hem."""
    gore = PIECE.format(name="Gore", hem=name, hem_grows=hem)
    assert notes(gore, size) == told * [
        "Gore: 'hem' shrinks as the sizes get larger, but 'top', at its other end, grows: is the "
        "sign of its growth right?"
    ]


@pytest.mark.parametrize("size", ["S", "L"])
@pytest.mark.parametrize(
    ("corners", "told"),
    [((("bottom", "right"),), 1), ((("bottom", "right"), ("right", "top")), 0), ((), 0)],
)
@pytest.mark.parametrize("axis", ["x", "y"])
def test_a_rectangle_of_which_one_corner_grows_is_asked_about(corners, told, axis, size):
    """Of a casing or a pocket: a rectangle is one in all sizes (common practice)."""
    if axis == "y":
        corners = [("left", "bottom") if corner[0] == "bottom" else ("bottom", "right")
                   for corner in corners][::-1]  # fmt: skip
    text = POCKET[: POCKET.index("[[piece.grade]]")].replace("{{", "{").replace("}}", "}")
    for corner in corners:
        text += f'[[piece.grade]]\ncorner = {list(corner)}\n{axis} = "{"-" * (axis == "y")}8 mm"\n'
    found = notes(text, size, "growth of a corner missing")
    assert len(found) == told
    grows, still = ("bottom", "top") if axis == "x" else ("left", "right")
    assert all(f"'{grows}' grows by 8 mm, but '{still}'" in note for note in found)


@pytest.mark.parametrize("size", ["S", "L"])
def test_the_only_piece_that_shrinks_is_asked_about(size):
    (note,) = notes(skirt(5, 5) + POCKET.format(grows=-5), size)
    assert note.startswith("Pocket: ")
    assert not notes(skirt(5, 5) + POCKET.format(grows=5), size)


@pytest.mark.parametrize("size", ["S", "L"])
@pytest.mark.parametrize(
    ("end", "cut"), [('fold = "left"', "on-fold = true"), ('front = "left"', "pair = true")]
)
def test_a_hem_that_growth_turns_off_square_at_the_centre_is_asked_about(end, cut, size):
    """By trigonometry: 5 mm over 120 mm turn it by 2.4 degrees, 1 mm by 0.5."""
    (note,) = notes(HALF.format(end=end, cut=cut, centre=0), size, "square")
    assert "'bottom' meets 'left' square as drawn, but 2.4 degrees off" in note
    assert not notes(HALF.format(end=end, cut=cut, centre=-5), size, "square")
    assert not notes(HALF.format(end=end, cut=cut, centre=-4), size, "square")
    assert not notes(HALF.format(end="", cut=cut.split(" = ")[0] + " = false", centre=0), size,
                     "square")  # fmt: skip


@pytest.mark.parametrize(("grows", "asked"), [("40 cm", True), ("120 mm", False)])
def test_growth_of_a_wrong_unit_is_asked_about(grows, asked):
    """Clothes sizes of children grow by 6 or 12 cm of height: EN 13402-3, from memory."""
    head = f'[sizes.measure]\nheight = "{grows}"\n'
    assert bool(notes(head + POCKET.format(grows=5), "M", "is its unit right")) is asked
