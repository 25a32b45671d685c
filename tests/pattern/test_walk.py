"""Walking the seams, against exact arc lengths and sets made wrong on purpose."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ellipe, ellipeinc

from plotout.errors import UserError
from plotout.geometry.polyline import length
from plotout.pattern.chain import Chain, Link
from plotout.pattern.drawing import Drawing, Role, Shape
from plotout.pattern.model import Edge, PatternSet, Piece, Seam, Side
from plotout.pattern.stretch import Stretch
from plotout.pattern.walk import walk, walked
from plotout.pattern.walk_notches import Standing, paired

from .conftest import RECTANGLE, Build, rectangle

FLATNESS = 0.01  # mm: the flattening of every reader


def ellipse(a: float, b: float, start: float, end: float) -> np.ndarray:
    """An arc of an ellipse, flattened to FLATNESS: a sagitta is r (1 - cos(step / 2))."""
    tightest = max(a, b) ** 2 / min(a, b)  # greatest radius of curvature bounds the sagitta
    step = 2 * math.acos(1 - FLATNESS / tightest)
    angle = np.linspace(start, end, max(3, math.ceil((end - start) / step) + 1))
    return np.column_stack([a * np.cos(angle), b * np.sin(angle)])


@pytest.mark.parametrize(("a", "b"), [(60.0, 60.0), (110.0, 55.0), (75.0, 180.0), (240.0, 30.0)])
def test_deep_curves_are_walked_to_a_ten_thousandth(build: Build, a: float, b: float) -> None:
    """A half ellipse's length by the complete elliptic integral (Abramowitz & Stegun 17.3.3)."""
    curve = ellipse(a, b, 0.0, math.pi)
    big, small = max(a, b), min(a, b)
    exact = 2 * big * ellipe(1 - (small / big) ** 2)
    runs = (
        Shape(curve, Role.OUTLINE, name="curve"),
        Shape(np.array([curve[-1], curve[0]]), Role.OUTLINE, name="chord"),
    )
    text = (
        '[[piece]]\nname = "A"\nfrom = { file = "a" }\n'
        '[[piece]]\nname = "B"\nfrom = { file = "b" }\nedges = ["x", "y", "z", "w"]\n'
        '[[seam]]\nname = "s"\nfirst = { piece = "A", edges = ["curve"] }\n'
        'second = { piece = "B", edges = ["x"] }\n'
    )
    band = np.array([[0, 0], [exact, 0], [exact, 40], [0, 40], [0, 0]])
    result = walk(build(text, a=Drawing(runs), b=band))[0]
    assert abs(result.first - exact) / exact < 1e-4
    assert not result.faults


def test_a_part_of_an_ellipse_by_the_incomplete_integral() -> None:
    """From the end of the minor axis (DLMF 19.30.2: s = a E(phi, k), phi from the minor axis)."""
    a, b, phi = 130.0, 70.0, 1.1
    curve = ellipse(a, b, math.pi / 2 - phi, math.pi / 2)
    exact = a * ellipeinc(phi, 1 - (b / a) ** 2)
    assert length(curve) == pytest.approx(exact, rel=1e-4)


def pair(band: float, more: str = "", ease: str = "[0, 0]", turned: str = "") -> str:
    """A body (pair, neck 200) and a band (half, on the fold at its left, neck `band`)."""
    return (
        '[[piece]]\nname = "Body"\nfrom = { file = "body" }\n'
        'edges = ["hem", "side", "neck", "centre"]\ncut = [{ cloth = "self", pair = true }]\n'
        '[[piece]]\nname = "Band"\nfrom = { file = "band" }\n'
        'edges = ["neck", "end", "free", "fold"]\nfold = "fold"\n'
        'cut = [{ cloth = "self", on-fold = true }]\n'
        '[[seam]]\nname = "neck"\nfirst = { piece = "Body", edges = ["neck"] }\n'
        f'second = {{ piece = "Band", edges = ["{turned}neck"] }}\nease = {ease}\n' + more
    )


def test_a_band_on_the_fold_is_walked_against_both_bodies(build: Build) -> None:
    result = walk(build(pair(200), body=RECTANGLE, band=rectangle(200)))[0]
    assert (result.first, result.second) == pytest.approx((400, 400))
    assert (result.first_times, result.second_times) == (2, 2)
    assert not result.faults


def test_a_band_6_mm_short_is_named_with_its_size(build: Build) -> None:
    result = walk(build(pair(197), body=RECTANGLE, band=rectangle(197)))[0]
    assert result.difference == pytest.approx(6.0)
    assert result.faults == (
        "6.0 mm too long: 400.0 mm of 'Body' to 394.0 mm of 'Band', ease at most 0 mm",
    )
    eased = walk(build(pair(197, ease="[5, 7]"), body=RECTANGLE, band=rectangle(197)))[0]
    assert not eased.faults
    short = walk(build(pair(197, ease="[9, 12]"), body=RECTANGLE, band=rectangle(197)))[0]
    assert short.faults[0].startswith("3.0 mm too short: 400.0 mm of 'Body'")


NOTCHES = (
    '[[piece]]\nname = "A"\nfrom = { file = "a" }\nedges = ["s", "x", "y", "z"]\n'
    '[[piece.notch]]\nedge = "s"\nat = 70\n'
    '[[piece]]\nname = "B"\nfrom = { file = "b" }\nedges = ["s", "x", "y", "z"]\n'
    '[[piece.notch]]\nedge = "s"\nat = NOTCH\n'
    '[[seam]]\nname = "seam"\nfirst = { piece = "A", edges = ["s"] }\n'
    'second = { piece = "B", edges = ["EDGE"] }\n'
)


@pytest.mark.parametrize(
    ("edge", "at", "off"),
    [("s", 70, 0), ("s", 66, 4), ("s", 74, 4), ("-s", 130, 0), ("-s", 126, 4)],
)
def test_a_notch_4_mm_off_is_named(build: Build, edge: str, at: float, off: float) -> None:
    text = NOTCHES.replace("NOTCH", str(at)).replace("EDGE", edge)
    result = walk(build(text, a=RECTANGLE, b=RECTANGLE))[0]
    assert abs(result.notches[0].off) == pytest.approx(off)
    assert [f.split(":")[0] for f in result.faults] == (["notch 4.0 mm off"] if off else [])


def test_a_double_notch_against_a_single_is_a_fault(build: Build) -> None:
    text = NOTCHES.replace("NOTCH", "70\ncount = 2").replace("EDGE", "s")
    result = walk(build(text, a=RECTANGLE, b=RECTANGLE))[0]
    assert result.faults == ("notch at 70.0 mm: 1 on 'A', 2 on 'B'",)


def test_a_notch_without_partner_is_a_fault_where_the_other_side_has_some(build: Build) -> None:
    text = NOTCHES.replace("NOTCH", "70\n[[piece.notch]]\nedge = 's'\nat = 150")
    result = walk(build(text.replace("EDGE", "s"), a=RECTANGLE, b=RECTANGLE))[0]
    assert result.faults == ("notch 150.0 mm along 's' of 'B' has no partner",)


def test_a_notch_on_one_side_alone_is_noted(build: Build) -> None:
    """It may show where something is placed: no seam is wrong by it."""
    text = NOTCHES.replace('[[piece.notch]]\nedge = "s"\nat = NOTCH\n', "")
    result = walk(build(text.replace("EDGE", "s"), a=RECTANGLE, b=RECTANGLE))[0]
    assert not result.faults
    assert result.notes == ("notch 70.0 mm along 's' of 'A' has no partner",)


def test_notches_35_mm_apart_are_meant_for_each_other(build: Build) -> None:
    text = NOTCHES.replace("NOTCH", "105").replace("EDGE", "s")
    result = walk(build(text, a=RECTANGLE, b=RECTANGLE))[0]
    assert result.faults == ("notch 35.0 mm off: at 70.0 mm of 'A', at 105.0 mm of 'B'",)


def test_each_stretch_is_walked_against_the_ease(build: Build) -> None:
    """By hand: 104 to 100 mm is eased by 4, as it may; then 96 to 100 mm is 4 mm short."""
    text = NOTCHES.replace("70", "104").replace("NOTCH", "100").replace("EDGE", "s")
    text = text.rstrip() + "\nease = [0, 4]\n"
    result = walk(build(text, a=RECTANGLE, b=RECTANGLE))[0]
    assert [(s.first, s.second) for s in result.stretches] == [(104.0, 100.0), (96.0, 100.0)]
    assert result.faults == (
        "from the notch at 104.0 mm to the end it is 4.0 mm too short: 96.0 mm of 'A' to 100.0 mm "
        "of 'B', ease at least 0 mm",
    )


def eased(build: Build, *eases: str, seam: str = "") -> tuple[str, ...]:
    """104 and 96 mm of one side to 100 and 100 mm of the other: by hand, 4 mm long and short."""
    text = NOTCHES.replace("70", "104").replace("NOTCH", "100").replace("EDGE", "s") + seam
    text += "".join(f"[[seam.stretch]]\nease = {ease}\n" for ease in eases)
    return walk(build(text, a=RECTANGLE, b=RECTANGLE))[0].faults


def test_each_stretch_has_its_own_ease(build: Build) -> None:
    assert eased(build, "[3, 5]", "[-5, -3]") == ()
    assert eased(build, "[4, 4]", "[-4, -4]") == ()
    (fault,) = eased(build, "[0, 1]", "[-5, 0]")
    assert fault.startswith("notch 3.0 mm off")  # 4 mm where 1 is the most
    assert eased(build, "[-8, 8]", "[0, 1]") == (
        "from the notch at 104.0 mm to the end it is 4.0 mm too short: 96.0 mm of 'A' to 100.0 mm "
        "of 'B', ease at least 0 mm",
    )


def test_stretches_of_halves_on_the_fold_are_those_of_one_half(build: Build) -> None:
    """By hand: 200 mm of each of two bodies to 180 of half a band is 20 a half, 40 in all."""
    text = pair(180).replace("ease = [0, 0]\n", "")
    text += '[[seam.notch]]\nat = "50 mm"\nfrom = "end"\n'
    stretches = '[[seam.stretch]]\nease = ["EASE mm", "EASE mm"]\n[[seam.stretch]]\nease = [0, 0]\n'
    right = build(text + stretches.replace("EASE", "20"), body=RECTANGLE, band=rectangle(180))
    (result,) = walk(right)
    assert (result.faults, result.ease, result.difference) == ((), (40.0, 40.0), 40.0)
    wrong = build(text + stretches.replace("EASE", "40"), body=RECTANGLE, band=rectangle(180))
    assert "40.0 mm too short: 400.0 mm of 'Body'" in walk(wrong)[0].faults[0]


def test_ease_that_must_be_there_is_missed(build: Build) -> None:
    """A seam's ease may lie anywhere; a stretch's own may not."""
    text = NOTCHES.replace("70", "100").replace("NOTCH", "100").replace("EDGE", "s")
    text += "[[seam.stretch]]\nease = [2, 3]\n[[seam.stretch]]\nease = [-3, -2]\n"
    (fault,) = walk(build(text, a=RECTANGLE, b=RECTANGLE))[0].faults
    assert fault.startswith("notch 2.0 mm off: at 100.0 mm of 'A', at 100.0 mm of 'B'")


def test_eases_of_more_stretches_than_there_are(build: Build) -> None:
    faults = eased(build, "[4, 4]", "[-4, -4]", "[0, 0]")
    assert "its notches make 2 stretches, but the set file gives the ease of 3" in faults
    with pytest.raises(UserError, match="given twice"):
        eased(build, "[4, 4]", "[-4, -4]", seam="ease = [0, 1]\n")


@pytest.mark.parametrize(
    ("wide", "told"),
    [
        (200.1, "0.2 mm too short: 400.0 mm of 'Body' to 400.2 mm of 'Band', ease"),
        (200.015, "0.03 mm too short: 400.00 mm of 'Body' to 400.03 mm of 'Band', ease"),
        (200.002, "0.004 mm too short: 400.000 mm of 'Body' to 400.004 mm of 'Band', ease"),
    ],
)
def test_lengths_are_told_to_the_decimals_in_which_they_differ(
    build: Build, wide: float, told: str
) -> None:
    text = "[defaults]\ntolerance = 0.002\n" + pair(200)
    (seam,) = walk(build(text, body=RECTANGLE, band=rectangle(wide)))
    assert [fault.split(" at least")[0] for fault in seam.faults] == [told]


BAG = """
[[piece]]
name = "Body"
rectangle = [300, 200]
cut = [{ cloth = "self", count = 2 }]
NOTCHES
[[piece]]
name = "Gusset"
rectangle = [700, 60]
cut = [{ cloth = "self" }]
[[seam]]
name = "gusset"
first = { piece = "Gusset", edges = ["top"] }
second = { piece = "Body", edges = ["-right", "-bottom", "-left"] }
"""


def test_notches_of_pleats_that_fold_away_the_ease_need_no_partner(build: Build) -> None:
    """Three pleats of 40 mm between notches in twos: 120 mm are folded away, as the ease says."""
    places = (20, 60, 90, 130, 160, 200)
    notches = "".join(f'[[piece.notch]]\nedge = "bottom"\nat = {at}\n' for at in places)
    for ease, told in ((120, 0), (110, 1)):
        text = (
            '[set]\nname = "S"\nstyle = "S-1"\n'
            f'[[piece]]\nname = "Skirt"\nrectangle = [320, 60]\n{notches}'
            f'[[piece]]\nname = "Band"\nrectangle = [{320 - ease}, 60]\n'
            '[[seam]]\nname = "waist"\nfirst = { piece = "Skirt", edges = ["bottom"] }\n'
            f'second = {{ piece = "Band", edges = ["bottom"] }}\nease = [{ease}, {ease}]\n'
        )
        (seam,) = walk(build(text))
        assert not seam.faults
        assert len(seam.notes) == told
        assert all(note.startswith("6 notches have no partner, since") for note in seam.notes)


@pytest.mark.parametrize(
    ("at", "fault"),
    [(200, ""), (205, "notch 5.0 mm off where 'right' and 'bottom' of 'Body' meet"), (230, "")],
)
def test_a_notch_is_matched_with_a_corner_of_the_other_side(
    build: Build, at: int, fault: str
) -> None:
    """A gusset's notch shows where it goes round the corner of the bag: 200 mm from its mouth."""
    notch = f'[[piece.notch]]\nedge = "top"\nat = {at}\n'
    text = BAG.replace("NOTCHES", "").replace("[[seam]]", f"{notch}[[seam]]")
    (seam,) = walk(build(text))
    assert [fault in one for one in seam.faults] == [True] * bool(fault)
    assert sum("has no partner" in note for note in seam.notes) == (at == 230)


@pytest.mark.parametrize(
    ("edge", "at", "asked"),
    [("bottom", 0, 0), ("bottom", 300, 0), ("left", 200, 0), ("bottom", 20, 1), ("left", 0, 1)],
)
def test_a_notch_at_a_corner_of_another_seam_needs_no_partner(
    build: Build, edge: str, at: int, asked: int
) -> None:
    """A body's corners are seen; of its mouth's, which the seam ends at, none is gone round."""
    notch = f'[[piece.notch]]\nedge = "{edge}"\nat = {at}\n'
    (seam,) = walk(build(BAG.replace("NOTCHES", notch)))
    assert not seam.faults
    assert sum("has no partner" in note for note in seam.notes) == asked


@given(
    st.lists(st.floats(0, 400), max_size=5),
    st.lists(st.floats(0, 400), max_size=5),
    st.floats(0.5, 2.0),
)
def test_as_many_notches_as_can_be_are_paired_as_near_as_can_be(
    ones: list[float], others: list[float], scale: float
) -> None:
    """Against every choice of partners in order, tried out, as if the ease were even."""
    ones, others = sorted(ones), sorted(others)
    sides = ([Standing(along, None, "") for along in side] for side in (ones, others))
    pairs = paired(*sides, lambda along: along * scale)
    ones = [one * scale for one in ones]
    many = min(len(ones), len(others))
    best = min(
        sum(abs(a - b) for a, b in zip(some, more, strict=True))
        for some in combinations(ones, many)
        for more in combinations(others, many)
    )
    assert len(pairs) == many
    assert sum(abs(ones[i] - others[j]) for i, j in pairs) == pytest.approx(best, abs=1e-6)


@pytest.mark.parametrize("at", ["60", '"25 %"', '60\nfrom = "end"'])
def test_one_declaration_draws_the_notch_on_both(build: Build, at: str) -> None:
    text = pair(200, f"[[seam.notch]]\nat = {at}\n", turned="-")
    made = build(text, body=RECTANGLE, band=rectangle(200))
    assert len(made.piece("Body").notches) == len(made.piece("Band").notches) == 1
    result = walk(made)[0]
    assert len(result.notches) == 1
    assert result.notches[0].off == 0.0
    assert result.notches[0].first == pytest.approx(result.notches[0].second)


SLEEVE = (
    '[[piece]]\nname = "Sleeve"\nfrom = { file = "sleeve" }\n'
    'edges = ["hem", "under", "head", "fold"]\nfold = "fold"\n'
    'cut = [{ cloth = "self", count = 2, on-fold = true }]\n'
    '[[piece]]\nname = "Body"\nfrom = { file = "body" }\n'
    'edges = ["hem", "armhole", "top", "centre"]\ncut = [{ cloth = "self", pair = true }]\n'
    '[[seam]]\nname = "armhole"\nfirst = { piece = "Sleeve", edges = ["head"] }\n'
    'second = { piece = "Body", edges = ["armhole"] }\n'
    "[[seam.notch]]\nat = AT\n"
)


@pytest.mark.parametrize("at", [90.0, 210.0, 150.0, 0.0])
def test_half_a_sleeve_is_walked_whole_round_one_armhole(build: Build, at: float) -> None:
    """A head of 150 mm on half the sleeve is 300 mm round the armhole of 300 mm."""
    made = build(SLEEVE.replace("AT", str(at)), sleeve=rectangle(150.0), body=RECTANGLE)
    result = walk(made)[0]
    assert (result.first, result.second) == pytest.approx((300, 300))
    assert not result.faults
    assert made.piece("Body").notches[0].along == pytest.approx(at)
    assert made.piece("Sleeve").notches[0].along == pytest.approx(min(at, 300 - at))


def test_chains_of_edges_add_up(build: Build) -> None:
    text = (
        '[[piece]]\nname = "A"\nfrom = { file = "a" }\nedges = ["s", "x", "y", "z"]\n'
        '[[piece]]\nname = "B"\nfrom = { file = "b" }\nedges = ["s", "x", "y", "z"]\n'
        '[[seam]]\nname = "seam"\nfirst = { piece = "A", edges = ["s", "x"], times = 1 }\n'
        'second = { piece = "B", edges = ["s"] }\n[[seam.notch]]\nat = 320\n'
    )
    made = build(text, a=RECTANGLE, b=rectangle(500))
    result = walk(made)[0]
    assert (result.first, result.second) == pytest.approx((500, 500))
    assert (made.piece("A").notches[0].edge, made.piece("A").notches[0].along) == ("x", 120.0)
    assert not result.faults


def test_a_wrong_edge_of_a_derived_piece_is_told(build: Build) -> None:
    text = pair(200).replace('"neck"] }\nease', '"neckk"] }\nease')
    with pytest.raises(UserError, match="neckk"):
        build(text, body=RECTANGLE, band=rectangle(200))


@pytest.mark.parametrize(
    ("known", "second", "sure", "faults"),
    [
        (0.0, 100.9, True, 0),
        (0.4, 100.5, True, 0),  # 0.5 and 0.4 mm are still within 1
        (3.0, 100.0, False, 0),  # known to 3 mm is not good to 1
        (3.0, 105.0, True, 1),  # but 5 mm off is off, known to 3
        (0.6, 101.5, False, 0),  # 1.5 mm too short, known to 0.6: bad or good
        (0.6, 98.5, False, 0),
        (0.6, 101.7, True, 1),
        (math.inf, 100.0, False, 0),
    ],
)
def test_what_is_not_known_is_not_called_good(
    build: Build, known: float, second: float, sure: bool, faults: int
) -> None:
    """An armhole known to 3 mm is not good to 1 mm. Tolerance 1 mm; sums by hand."""
    square = [(0.0, 0.0), (100.0, 0.0), (100.0, 40.0), (0.0, 40.0)]
    runs = tuple(
        Shape(np.array([one, other]), Role.OUTLINE, name, known_to=known if name == "a" else 0.0)
        for name, one, other in zip("abcd", square, square[1:] + square[:1], strict=True)
    )
    text = (
        "[defaults]\ntolerance = 1\n"
        '[[piece]]\nname = "A"\nfrom = { file = "a" }\n'
        '[[piece]]\nname = "B"\nfrom = { file = "b" }\nedges = ["x", "y", "z", "w"]\n'
        '[[seam]]\nname = "s"\nfirst = { piece = "A", edges = ["a"] }\n'
        'second = { piece = "B", edges = ["x"] }\n'
    )
    band = np.array([[0, 0], [second, 0], [second, 40], [0, 40], [0, 0]])
    (result,) = walk(build(text, a=Drawing(runs), b=band))
    assert result.sure is sure
    assert len(result.faults) == faults
    assert result.known_to == known
    assert any("can't show to 1 mm" in note for note in result.notes) is not sure


@pytest.mark.parametrize("first", range(4))
@pytest.mark.parametrize("turned", [False, True])
def test_how_sure_goes_with_its_edge(build: Build, first: int, turned: bool) -> None:
    """Whichever run comes first and whichever way round they go: each keeps its own."""
    corners = [(0.0, 0.0), (100.0, 0.0), (100.0, 40.0), (0.0, 40.0)]
    shapes = [
        Shape(np.array([corners[k], corners[(k + 1) % 4]]), Role.OUTLINE, "abcd"[k], known_to=k)
        for k in range(4)
    ]
    shapes = shapes[first:] + shapes[:first]
    if turned:
        shapes = [
            Shape(s.points[::-1], s.role, s.name, known_to=s.known_to) for s in reversed(shapes)
        ]
    text = '[[piece]]\nname = "A"\nfrom = { file = "a" }\nstart = [100, 40]\n'
    (piece,) = build(text, a=Drawing(tuple(shapes))).pieces
    assert {edge.name: edge.known_to for edge in piece.edges} == {
        "a": 0.0,
        "b": 1.0,
        "c": 2.0,
        "d": 3.0,
    }


@pytest.mark.parametrize(
    ("at", "sure"),
    [
        (100.0, True),  # the first stretch is drawn, and the second exact: within 1 - 0.4
        (100.7, False),  # the second is 0.7 mm off, known to 0.4: good or bad
        (99.3, False),
        (100.3, True),  # 0.3 and 0.4 mm are still within 1
    ],
)
def test_a_stretch_that_is_not_known_is_not_called_good(
    build: Build, at: float, sure: bool
) -> None:
    """Two edges of 100 mm, the second known to 0.4; both sides 200 mm, tolerance 1. By hand."""
    corners = [(0.0, 0.0), (100.0, 0.0), (200.0, 0.0), (200.0, 40.0), (0.0, 40.0)]
    runs = tuple(
        Shape(np.array([one, other]), Role.OUTLINE, name, known_to=0.4 if name == "b" else 0.0)
        for name, one, other in zip("abcde", corners, corners[1:] + corners[:1], strict=True)
    )
    text = (
        "[defaults]\ntolerance = 1\n"
        '[[piece]]\nname = "A"\nfrom = { file = "a" }\n[[piece.notch]]\nedge = "b"\nat = 0\n'
        '[[piece]]\nname = "B"\nfrom = { file = "b" }\nedges = ["x", "y", "z", "w"]\n'
        f'[[piece.notch]]\nedge = "x"\nat = {at}\n'
        '[[seam]]\nname = "s"\nfirst = { piece = "A", edges = ["a", "b"] }\n'
        'second = { piece = "B", edges = ["x"] }\n'
    )
    (result,) = walk(build(text, a=Drawing(runs), b=rectangle(200)))
    assert [stretch.known_to for stretch in result.stretches] == [0.0, 0.4]
    assert not result.faults
    assert result.sure is sure
    assert any("from the notch at 100.0 mm to the end" in note for note in result.notes) is not sure


@pytest.mark.parametrize(
    ("place", "fault"),
    [
        ("at = 60", True),  # typed, as B's is: 2 mm apart however A's edge was pricked
        ('at = 40\nfrom = "end"', False),  # A's edge may be 97 to 103 mm long
        ('at = "60 %"', False),
    ],
)
def test_notches_are_off_only_as_surely_as_their_places_are_known(
    build: Build, place: str, fault: bool
) -> None:
    """At 60 of 100 mm, known to 3, and at 58 of 100 mm; tolerance 1. By hand."""
    square = [(0.0, 0.0), (100.0, 0.0), (100.0, 40.0), (0.0, 40.0)]
    runs = tuple(
        Shape(np.array([one, other]), Role.OUTLINE, name, known_to=3.0 if name == "a" else 0.0)
        for name, one, other in zip("abcd", square, square[1:] + square[:1], strict=True)
    )
    text = (
        "[defaults]\ntolerance = 1\n"
        f'[[piece]]\nname = "A"\nfrom = {{ file = "a" }}\n[[piece.notch]]\nedge = "a"\n{place}\n'
        '[[piece]]\nname = "B"\nfrom = { file = "b" }\nedges = ["x", "y", "z", "w"]\n'
        '[[piece.notch]]\nedge = "x"\nat = 58\n'
        '[[seam]]\nname = "s"\nfirst = { piece = "A", edges = ["a"] }\n'
        'second = { piece = "B", edges = ["x"] }\n'
    )
    (result,) = walk(build(text, a=Drawing(runs), b=rectangle(100)))
    off = [fault for fault in result.faults if fault.startswith("notch 2.0 mm off: at 60.0 mm")]
    assert bool(off) is fault
    assert result.sure is False  # the seam itself is not known
    doubts = [note for note in result.notes if "whether its notches meet" in note]
    assert [("one is 2.0 mm off on the cards" in note) for note in doubts] == [True] * (not fault)


@pytest.mark.parametrize("folds", ["start", "end"])
def test_both_halves_of_an_edge_over_the_fold_are_off_alike(folds: str) -> None:
    """Edges of 30 and 70 mm, known to 1 and 2 mm, the 30 mm one at the fold; walked whole."""
    ends = [[0.0, 0.0], [30.0, 0.0], [100.0, 0.0]]
    edges = [
        Edge(name, np.array(ends[k : k + 2]), (0.0, 0.0), known_to=k + 1.0)
        for k, name in enumerate("ab")
    ]
    if folds == "end":
        edges = [replace(edge, points=edge.points[::-1]) for edge in edges[::-1]]
    links = tuple(Link(Piece("P", ()), edge, turned=False) for edge in edges)
    side = Chain(links, folds, 2, twinned=True)
    spans = [((0.0, 70.0), 2.0), ((70.0, 100.0), 1.0), ((70.0, 130.0), 2.0), ((130.0, 200.0), 2.0)]
    for (low, high), known in spans:  # the fold is at 100 mm of 200
        assert side.known_between(low, high) == (pytest.approx(known), 0.0)
    assert side.known_between(0.0, 200.0).to == pytest.approx(math.hypot(2.0, 4.0))


@pytest.mark.parametrize(
    ("known", "told"),
    [((3.0, 0.5), "'side' of 'A'"), ((0.5, 3.0), "'side' of 'B'"), ((2.0, 2.0), "")],
)
def test_the_edge_that_a_doubt_is_about_is_named(known, told):
    """Independent errors add by their squares (JCGM 100:2008, 5.1.2): 9 is most of 9.25."""
    ring = np.array([[0, 0], [100, 0], [100, 60], [0, 60], [0, 0]], float)
    names = ("side", "right", "top", "left")
    pieces = tuple(
        Piece(name, tuple(
            Edge(edge, ring[k : k + 2], (10.0, 10.0), known_to=to if edge == "side" else 0.0)
            for k, edge in enumerate(names)
        ))
        for name, to in zip("AB", known, strict=True)
    )  # fmt: skip
    seam = Seam("s", Side((("A", "side", False),)), Side((("B", "side", False),)))
    made = PatternSet("Bag", "B", "", "", pieces, seams=(seam,))
    ((result,), _) = walked(made, [seam])
    found = [note for note in result.notes if "can't show" in note]
    assert len(found) == 1
    assert found[0].endswith(f"more densely, {told} first, near its corners too") is bool(told)


@pytest.mark.parametrize(
    ("difference", "known", "told"),
    [(0.13, 1.0, "tolerance of 1.2 mm"), (-0.13, 1.0, "tolerance of 1.2 mm"), (1.5, 1.2, "")],
)
def test_a_doubt_says_with_which_tolerance_the_seam_would_be_good(difference, known, told):
    """An ease of 0 mm: it may be 1.13 mm off, and is good if it may; but 2.7 mm is no seam."""
    seam = Stretch("", "", 300.0 + difference, 300.0, (0.0, 0.0), 0.5, known)
    words = seam.doubt(("A", "B"))
    assert ("it would be good" in words) == bool(told)
    assert told in words
    needed = replace(seam, tolerance=1.2)
    assert (needed.sure and needed.matches) is bool(told)
