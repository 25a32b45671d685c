"""Random growth of whole sets: what must hold whatever the rules say; and what must be named."""

import re

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from plotout import UserError, job
from plotout.files import slug
from plotout.finish import finish
from plotout.finish.derive import all_pieces
from plotout.geometry.polyline import length, signed_area
from plotout.pattern import setfile
from plotout.pattern.assemble import read_drawings
from plotout.pattern.growth import read_term
from plotout.pattern.regrow import Grown, regrown
from plotout.review.whole_set import review
from plotout.tables import parse_toml

HEAD = '[set]\nname = "Apron"\nstyle = "AP-1"\n[sizes]\nbase = "M"\nrange = ["S", "M", "L", "XL"]\n'
CORNERS = [[0, 0], [200, 0], [220, 160], [120, 300], [0, 280]]
EDGES = ["foot", "right", "shoulder", "neck", "left"]


def piece(moves, more="", corners=CORNERS):
    edges = EDGES[: len(corners)]
    text = f'[[piece]]\nname = "Bib"\npoints = {corners}\nedges = {edges}\n'
    text += "grain = { from = [60, 40], to = [60, 60] }\n"
    text += 'cut = [{ cloth = "self" }]\n' + more
    for at, (x, y) in moves.items():
        pair = [edges[at - 1], edges[at]]
        text += f"[[piece.grade]]\ncorner = {pair}\nx = {x}\ny = {y}\n"
    return text


def read(text, head=HEAD):
    source = parse_toml(head + text, "set file")
    made = setfile.of(source)
    return read_drawings(setfile.check_growth(made), lambda *_: None)


def shape(whole, size):
    return whole.in_size(size).pieces[0].outline


step = st.integers(-60, 60).map(lambda tenths: tenths / 10)
rules = st.dictionaries(st.integers(0, 4), st.tuples(step, step), min_size=1)


@settings(max_examples=15, deadline=None)
@given(rules)
def test_straight_pieces_grow_linearly_in_any_order_and_back_again(moves):
    """Corner by corner, by hand: the corner plus so many steps of its growth."""
    whole = read(piece(moves))
    sizes = {size: shape(whole, size) for size in ("XL", "S", "L", "M")}
    for size, steps in (("S", -1), ("M", 0), ("L", 1), ("XL", 2)):
        moved = [np.add(at, np.multiply(moves.get(nth, (0, 0)), steps))
                 for nth, at in enumerate(CORNERS)]  # fmt: skip
        assert np.allclose(sizes[size][:-1], moved, atol=1e-9)
        assert shape(whole, size).tobytes() == sizes[size].tobytes()
    back = {nth: (-x, -y) for nth, (x, y) in moves.items()}
    grown = read(piece(back, corners=np.round(sizes["L"][:-1], 9).tolist()))
    assert np.allclose(shape(grown, "L"), sizes["M"], atol=1e-6)


@settings(max_examples=5, deadline=None)
@given(st.sets(st.integers(0, 4), min_size=1))
def test_no_growth_gives_the_same_bytes(corners):
    more = '[[piece.notch]]\nedge = "right"\nat = "30 mm"\n[[piece.drill]]\nat = [60, 90]\n'
    whole = read(piece(dict.fromkeys(corners, (0, 0)), more))
    same = [finish(whole.in_size(size)) for size in ("M", "XL")]
    for one, other in zip(*same, strict=True):
        assert one.outline.tobytes() == other.outline.tobytes()
        kinds = [{stroke.points.tobytes() for stroke in card.strokes if stroke.mark != "lettering"}
                 for card in (one, other)]  # fmt: skip
        assert kinds[0] == kinds[1]


@settings(max_examples=30, deadline=None)
@given(st.floats(-15, 15), st.floats(-15, 15), st.floats(-15, 15), st.floats(-15, 15))
def test_end_tangents_of_a_curve_are_kept(x0, y0, x1, y1):
    """A cubic between slanted straights that don't turn: its ends' derivatives, numerically."""
    t = np.linspace(0, 1, 2001)[:, None]
    knots = np.array([[0.0, 0], [70, 10], [95, 60], [100, 140]])
    curve = ((1 - t) ** 3 * knots[0] + 3 * (1 - t) ** 2 * t * knots[1]
             + 3 * (1 - t) * t**2 * knots[2] + t**3 * knots[3])  # fmt: skip
    first, last = np.array([x0, y0]), np.array([x1, y1])
    rest = np.array([[100.0, 140], [-60, 150], [-60, -40], [0, 0]])
    moves = [last, last, first, first]
    sides = [Grown(rest[nth : nth + 2] + 0.0, moves[nth], moves[nth + 1]) for nth in range(3)]
    got = regrown([Grown(curve, first, last), *sides])[0]
    assert np.allclose([got[0], got[-1]], [first, knots[3] + last])
    for before, after in ((curve[:3], got[:3]), (curve[-3:], got[-3:])):
        ways = [part[-1] - part[0] for part in (before, after)]
        angles = [np.degrees(np.arctan2(way[1], way[0])) for way in ways]
        assert abs((angles[1] - angles[0] + 180) % 360 - 180) < 0.3


@pytest.mark.parametrize(
    ("moves", "corners", "says"),
    [
        ({1: (-250, 0)}, CORNERS, "'foot' is reversed"),
        ({2: (-120, -10)}, [[0, 0], [200, 0], [110, 40], [110, 300], [0, 280]], "crosses itself"),
        ({2: (0, -100)}, [[0, 0], [100, 0], [50, 80]], "inside out"),
        ({1: (-192, 0), 2: (-150, 0)}, CORNERS, "8.0 mm long, less than its allowance of 12.7"),
    ],
)
def test_growth_that_the_outline_cannot_take_is_named_with_its_size(moves, corners, says):
    with pytest.raises(UserError, match="in size L: ") as refused:
        read(piece(moves, corners=corners)).in_size("L")
    assert says in refused.value.problem
    assert refused.value.place.piece == "Bib"


def test_what_goes_wrong_is_told_of_the_size_where_it_begins_to():
    """Both feet are 200 mm long: less 230 mm a step up, or less 150 mm a step down."""
    head = HEAD.replace('["S", "M", "L", "XL"]', '["XS", "S", "M", "L", "XL", "XXL"]')
    text = piece({1: (-230, 0)}) + piece({1: (150, 0)}).replace("Bib", "Yoke")
    whole = read(text, head)
    with pytest.raises(UserError) as refused:
        whole.in_sizes(whole.sizes)
    assert [(fault.place.piece, fault.problem) for fault in refused.value.errors] == [
        ("Bib", "in size L: 'foot' is reversed"),
        ("Yoke", "in size XS: 'foot' is reversed"),
    ]
    with pytest.raises(UserError, match="in size XL: 'foot' is reversed"):
        whole.in_sizes(["XXL", "XL", "S"])
    assert list(whole.in_sizes(["S", "M"])) == ["S", "M"]
    with pytest.raises(UserError, match="there is no size 'all'"):
        whole.in_sizes(["M", "all"])


def test_a_notch_that_its_edge_has_no_more_room_for_is_named_with_its_size():
    more = '[[piece.notch]]\nedge = "foot"\nat = "150 mm"\n'
    whole = read(piece({1: (-60, 0)}, more))
    whole.in_size("M")
    with pytest.raises(UserError, match="in size L: the notch at 150 mm lies beyond edge 'foot'"):
        whole.in_size("L")


MARKS = """
[[piece.notch]]
edge = "left"
at = "100 mm"
name = "waist"
[[piece.drill]]
at = [80, 100]
name = "pocket"
[[piece.drill]]
at = [80, 200]
[[piece.point]]
name = "hip"
edge = "foot"
at = "50 mm"
from = "end"
[[piece.grade]]
notch = "waist"
y = 4
[[piece.grade]]
drill = "pocket"
x = 7
y = -3
[[piece.grade]]
point = "hip"
y = -6
"""


def test_notches_drill_holes_and_named_points_are_grade_points():
    """By hand: the left edge runs down from 280; its corners stay, the notch at 180 rises 4."""
    whole = read(piece({3: (0, 0)}, MARKS))
    drawn, grown = (whole.in_size(size).pieces[0] for size in ("M", "L"))
    assert drawn.notches[0].along == pytest.approx(100)
    assert grown.notches[0].along == pytest.approx(96)
    assert grown.drills[0].at == pytest.approx((87, 97))
    assert (150, -6) in [tuple(np.round(at, 6)) for at in grown.edge("foot").points]
    told = review(whole.in_size("L")).notes
    assert any("'foot' at a grade point: a smooth line is bent, by" in note for note in told)
    assert not any("'left'" in note for note in told)


def test_a_drill_hole_that_grows_out_of_its_piece_is_told_at_its_growth():
    text = piece({3: (0, 0)}, MARKS.replace("x = 7", "x = 700"))
    with pytest.raises(UserError, match="in size L: the drill hole 'pocket' has grown") as refused:
        read(text).in_size("L")
    assert (HEAD + text).splitlines()[refused.value.place.line - 1] == "[[piece.grade]]"


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('notch = "waist"', 'notch = "waste"', "no notch 'waste'"),
        ('drill = "pocket"', 'drill = "poket"', "no drill hole 'poket'"),
        ('point = "hip"', 'point = "hop"', "no named point 'hop'"),
        ('point = "hip"', 'notch = "waist"', "graded twice"),
        ('point = "hip"', 'corner = ["foot", "right"]\npoint = "hip"', "needs one place"),
        ('at = "50 mm"', "at = 0", "is not within 'foot'"),
    ],
)
def test_a_grade_point_that_is_nowhere_is_named(old, new, says):
    assert old in MARKS
    with pytest.raises(UserError, match=says):
        read(piece({}, MARKS.replace(old, new))).in_size()


def test_what_follows_a_graded_piece_follows_in_every_size():
    """A facing, a fusing area, an allowance and a split, against the grown piece itself."""
    more = """[[piece.area]]
name = "fusing"
along = ["foot"]
depth = "20 mm"
[[piece.split]]
line = [[-50, 150], [300, 150]]
[[piece.line]]
name = "pleat"
points = [[20, 20], [20, 250]]
"""
    facing = '[[piece]]\nname = "Facing"\nderive = { from = "Bib", how = "facing", along = '
    facing += '["left"], width = "40 mm" }\ncut = [{ cloth = "self" }]\n'
    whole = read(piece({1: (20, 0), 3: (0, 30), 4: (0, 30)}, more) + facing)
    for size, steps in (("M", 0), ("XL", 2)):
        bib, band = all_pieces(whole.in_size(size))
        assert length(bib.edge("left").points) == pytest.approx(280 + 30 * steps)
        assert length(band.edge("left").points) == pytest.approx(280 + 30 * steps)
        (area,) = bib.areas
        assert signed_area(area.points) == pytest.approx(
            20 * (200 + 20 * steps),
            rel=0.02,  # its sides lean a little
        )
        cards = finish(whole.in_size(size))
        assert [card.title for card in cards[:2]] == ["Bib, part 1 of 2", "Bib, part 2 of 2"]
        low = min(card.outline[:, 1].min() for card in cards[:2])
        high = max(card.outline[:, 1].max() for card in cards[:2])
        assert high - low > 300 + 30 * steps + 12.7  # with its allowances


words = st.text(alphabet="0123456789.+-*/() mcin", max_size=24)


@settings(max_examples=200, deadline=None)
@given(words)
def test_a_growth_is_arithmetic_or_refused(text):
    """What is read gives what Python's own arithmetic gives; nothing else is read."""
    try:
        term = read_term(text)
    except UserError:
        return
    assume(not list(term.names()))
    factors = {"mm": 1, "cm": 10, "m": 1000, "in": 25.4}
    plain = re.sub(r"([\d.]+)\s*(mm|cm|in|m)\b", lambda at: f"({at[1]}*{factors[at[2]]})", text)
    plain = re.sub(r"(?<![\d.])0+(?=\d)", "", plain)
    assert re.fullmatch(r"[\d.+\-*/() ]*", plain)
    assert term.value(1.0, {}) == pytest.approx(eval(plain))


@pytest.mark.parametrize(
    "names",
    [["1/2", "1-2", "1 2"], ["..", ".", "M"], ["S/M", "S-M", "s/m"], ["小", "中", "大"],
     ["Μ", "М", "M"], ["+1", "1", "-1"], ["CON", "nul", "M"]],
)  # fmt: skip
def test_sizes_of_any_name_have_files_of_their_own(names):
    head = HEAD.replace('"M"\n', f'"{names[0]}"\n', 1).replace(
        '["S", "M", "L", "XL"]', str(names).replace("'", '"')
    )
    whole = read(piece({1: (2, 0)}), head)
    stems = [job.stem_of(whole.in_size(size)) for size in names]
    assert len({stem.casefold() for stem in stems}) == len(names)
    assert all(re.fullmatch(r"[\w-]+", stem) for stem in stems)
    assert all(stem.startswith(f"{slug('Apron')}-ap-1-") for stem in stems)
