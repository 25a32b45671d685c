"""From drawings to pieces: outlines, edges, marks, and what is refused."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from plotout.errors import UserError, UserErrors
from plotout.finish import finish
from plotout.finish.unfold import unfolded
from plotout.geometry.offset import cutting_line
from plotout.geometry.polyline import is_closed, length, mirrored, signed_area
from plotout.geometry.sides import Bordered
from plotout.opening import open_set
from plotout.pattern.drawing import Drawing, Role, Shape
from plotout.pattern.model import Edge, Piece
from plotout.pattern.walk import walk
from plotout.review.whole_set import review

from .conftest import RECTANGLE, Build

PIECE = '[[piece]]\nname = "Front"\nfrom = { file = "front" }\n'
NAMED = PIECE + 'edges = ["hem", "side", "top", "centre"]\n'


def refused(build: Build, text: str, **drawings: object) -> UserError:
    """Return the fault for which a set can't be read, or a piece not made."""
    try:
        made = build(text, **drawings)
    except UserError as fault:
        return fault
    (fault,) = (one for piece in made.pieces for one in piece.faults)
    return fault


@pytest.mark.parametrize("points", [RECTANGLE, RECTANGLE[::-1], np.roll(RECTANGLE[:-1], 2, 0)])
def test_edges_run_counter_clockwise_from_the_lowest_left_corner(
    build: Build, points: np.ndarray
) -> None:
    if not is_closed(points):
        points = np.vstack([points, points[:1]])
    piece = build(NAMED, front=points).piece("Front")
    assert [edge.name for edge in piece.edges] == ["hem", "side", "top", "centre"]
    assert piece.edge("hem").points.tolist() == [[0, 0], [200, 0]]
    assert is_closed(piece.outline)
    assert signed_area(piece.outline) == pytest.approx(60_000)


def test_start_says_where_the_first_edge_begins(build: Build) -> None:
    piece = build(NAMED + "start = [190, 290]\n", front=RECTANGLE).piece("Front")
    assert piece.edge("hem").points.tolist() == [[200, 300], [0, 300]]


def test_edges_without_names_are_numbered(build: Build) -> None:
    piece = build(PIECE, front=RECTANGLE).piece("Front")
    assert [edge.name for edge in piece.edges] == ["1", "2", "3", "4"]


def test_too_few_names_are_told_with_what_there_is(build: Build) -> None:
    error = refused(build, PIECE + 'edges = ["a", "b"]\n', front=RECTANGLE)
    assert "2 edges are named, but the outline has 4" in error.problem
    assert "2: 300.0 mm, from x 200.0, y 0.0 to x 200.0, y 300.0" in error.fix
    assert error.place.line == 7


def test_runs_bring_their_names_whichever_way_they_run(build: Build) -> None:
    ends = list(pairwise(RECTANGLE))
    runs = [Shape(np.array(pair), Role.OUTLINE, name=f"r{k}") for k, pair in enumerate(ends)]
    piece = build(PIECE, front=Drawing(tuple(runs))).piece("Front")
    assert [edge.name for edge in piece.edges] == ["r0", "r1", "r2", "r3"]
    turned = [Shape(run.points[::-1], Role.OUTLINE, name=run.name) for run in runs[::-1]]
    again = build(PIECE, front=Drawing(tuple(turned))).piece("Front")
    assert {edge.name: edge.points.tolist() for edge in again.edges} == {
        edge.name: edge.points.tolist() for edge in piece.edges
    }


def test_turn_points_given_in_the_drawing_divide_a_straight(build: Build) -> None:
    turns = [(0, 0), (200, 0), (200, 120), (200, 300), (0, 300)]
    shapes = [Shape(RECTANGLE, Role.OUTLINE)]
    shapes += [Shape(np.array([xy], dtype=float), Role.TURN) for xy in turns]
    piece = build(PIECE, front=Drawing(tuple(shapes))).piece("Front")
    assert [length(edge.points) for edge in piece.edges] == pytest.approx([200, 120, 180, 200, 300])


def test_a_smooth_outline_is_one_edge(build: Build) -> None:
    angle = np.linspace(0, 2 * math.pi, 721)
    circle = np.column_stack([60 * np.cos(angle), 60 * np.sin(angle)])
    circle[-1] = circle[0]
    piece = build(PIECE + 'edges = ["edge"]\n', front=circle).piece("Front")
    assert len(piece.edges) == 1
    assert piece.edges[0].points[0] == pytest.approx([0, -60], abs=1.0)


BAD = {
    "crossing": ([[0, 0], [100, 100], [100, 0], [0, 100], [0, 0]], "crosses itself", (50, 50)),
    "open": ([[0, 0], [100, 0], [100, 100], [7, 0]], "doesn't close: it ends 7.00 mm", (7, 0)),
    "one point": ([[7, 7], [7, 7], [7, 7]], "no length", (7, 7)),
    "twice": ([[0, 0], [100, 0], [50, 50], [100, 100], [0, 100], [50, 50], [0, 0]],
              "visits a point twice", (50, 50)),
    "flat": ([[0, 0], [100, 0], [50, 0], [0, 0]], "no area", (0, 0)),
    "spike": ([[0, 0], [100, 0], [100, 50], [150, 50], [100, 50.0], [100, 100], [0, 0]],
              "twice", (100, 50)),
    "empty": ([[0, 0]], "is empty", None),
    "not a number": ([[0, 0], [math.nan, 0], [100, 100], [0, 0]], "point 2", None),
}  # fmt: skip


@pytest.mark.parametrize("case", BAD.values(), ids=BAD.keys())
def test_bad_outlines_are_refused_with_their_place(
    build: Build, case: tuple[list[list[float]], str, tuple[float, float] | None]
) -> None:
    points, problem, at = case
    error = refused(build, PIECE, front=points)
    assert problem in error.problem
    assert error.place.piece == "Front"
    assert error.place.line == 6
    if at is not None:
        assert error.place.at == pytest.approx(at)


def test_a_drawing_that_is_not_there(build: Build, tmp_path: object) -> None:
    error = refused(build, PIECE + '[[piece]]\nname = "B"\nfrom = { file = "frontt" }\n',
                    front=RECTANGLE)  # fmt: skip
    assert "no drawing 'frontt'" in error.problem
    assert "'front'" in error.fix
    assert error.place.line == 9


WRONG = {
    "notch edge": ('[[piece.notch]]\nedge = "sied"\nat = 5\n', "no edge 'sied'", "'side'", 9),
    "notch beyond": ('[[piece.notch]]\nedge = "side"\nat = 301\n', "beyond edge 'side'", "", 8),
    "edge rule": ("[piece.edge.hen]\nallowance = 3\n", "no edge 'hen'", "'hem'", 8),
    "fold": ('fold = "center"\n', "no edge 'center'", "'centre'", 8),
    "fold allowance": ('fold = "centre"\n[piece.edge.centre]\nallowance = 10\n', "fold",
                       "another edge as the fold", 9),
    "grain": ('grain = { along = "hemm" }\n', "no edge 'hemm'", "'hem'", 8),
    "grain outside": (
        "grain = { from = [-110, 10], to = [-110, 70] }\n",
        "the grain line from x -110.0, y 10.0 to x -110.0, y 70.0 misses the piece",
        "from x 0.0 to 200.0, y 0.0 to 300.0",
        8,
    ),
    "grain misses": ('grain = { along = "hem", inset = 400 }\n', "misses the piece", "", 8),
    "drill": ("[[piece.drill]]\nat = [500, 0]\n", "287.3 mm outside", "", 4),
    "split": ("[[piece.split]]\nline = [[0, 400], [9, 400]]\n", "misses the piece", "", 4),
    "area": ('[[piece.area]]\nname = "f"\nalong = ["hem", "top"]\ndepth = 5\n', "adjacent", "", 8),
    "truing": ('[[piece.true]]\nsquare = ["hem", "top"]\n', "don't meet", "", 8),
    "seam edge": ('[[seam]]\nname = "s"\nfirst = { piece = "Front", edges = ["sid"] }\n'
                  'second = { piece = "Front", edges = ["centre"] }\n', "'sid'", "'side'", 10),
    "derived edge": ('[[piece]]\nname = "F"\nderive = { from = "Front", how = "facing", '
                     'along = ["hemm"], width = 9 }\n', "'hemm'", "'hem'", 10),
}  # fmt: skip


@pytest.mark.parametrize("case", WRONG.values(), ids=WRONG.keys())
def test_what_the_drawing_contradicts_is_refused(
    build: Build, case: tuple[str, str, str, int]
) -> None:
    text, problem, fix, line = case
    error = refused(build, NAMED + text, front=RECTANGLE)
    assert problem in error.problem
    assert fix in error.fix
    assert error.place.line == line


def test_a_fold_that_bows_is_refused_and_one_within_tolerance_made_straight(build: Build) -> None:
    bowed = np.insert(RECTANGLE, 4, [[1.3, 150]], axis=0)
    error = refused(build, NAMED + 'fold = "centre"\n', front=bowed)
    assert "bows 1.30 mm" in error.problem
    bowed[4, 0] = 0.3
    piece = build(NAMED + 'fold = "centre"\n', front=bowed).piece("Front")
    assert piece.edge("centre").points.tolist() == [[0, 300], [0, 0]]
    assert piece.edge("centre").allowance == (0.0, 0.0)


@pytest.mark.parametrize("fold", ["hem", "neck"])
def test_what_is_wrong_with_a_fold_leaves_the_rest_to_be_found(build: Build, fold: str) -> None:
    """A hem with an allowance, and a neck that bows: beside either, a side 20 mm too short."""
    neck = np.insert(RECTANGLE, 3, [[100, 290]], axis=0)
    text = (
        PIECE + 'edges = ["hem", "side", "neck", "centre"]\n'
        f'fold = "{fold}"\nedge.hem.allowance = 40\n'
        '[[piece]]\nname = "Back"\nrectangle = [200, 280]\n'
        '[[seam]]\nname = "side"\nfirst = { piece = "Front", edges = ["side"] }\n'
        'second = { piece = "Back", edges = ["left"] }\n'
    )
    made = build(text, front=neck)
    (fault,) = made.piece("Front").faults
    assert fault.place.piece == "Front"
    assert ("no allowance" if fold == "hem" else "bows 10.00 mm") in fault.problem
    (seam,) = walk(made)
    assert "20.0 mm too long" in seam.faults[0]


def test_notches_of_set_file_and_drawing(build: Build) -> None:
    drawing = Drawing(
        (
            Shape(RECTANGLE, Role.OUTLINE),
            Shape(np.array([[212.7, 80.0]]), Role.NOTCH, text="V", size=4.0),
            Shape(np.array([[100.0, 150.0]]), Role.NOTCH),
        )
    )
    text = NAMED + '[[piece.notch]]\nedge = "top"\nat = "25 %"\nfrom = "end"\ncount = 2\n'
    piece = build(text, front=drawing).piece("Front")
    top, side = piece.notches
    assert (top.edge, top.along, top.count) == ("top", 150.0, 2)
    assert (side.edge, side.along) == ("side", pytest.approx(80.0))
    assert (str(side.style.kind), side.style.depth) == ("V", 4.0)
    assert any(
        "notch at x 100.0, y 150.0 lies 100 mm from the nearest edge" in note
        for note in piece.notes
    )


def test_a_grain_line_may_lie_on_the_fold_or_reach_outside(build: Build) -> None:
    """On x = 0, the piece's own edge; and 100 of 250 mm inside, which is asked about."""
    for ends, asked in (("[0, 20], to = [0, 280]", 0), ("[100, 200], to = [100, 450]", 1)):
        read = build(NAMED + f"grain = {{ from = {ends} }}\n", front=RECTANGLE)
        assert read.piece("Front").grain is not None
        assert sum("250 mm only 100 lie in" in note for note in review(read).notes) == asked


def test_a_drawn_grain_line_of_another_piece_is_left_out(build: Build) -> None:
    far = Shape(np.array([[500.0, 0.0], [500.0, 90.0]]), Role.GRAIN)
    drawing = Drawing((Shape(RECTANGLE, Role.OUTLINE), far))
    piece = build(NAMED, front=drawing).piece("Front")
    assert piece.grain is None
    assert "the drawing's grain line lies outside the piece; left out" in piece.notes


def test_grain_along_an_edge_lies_inside_and_points_up(build: Build) -> None:
    piece = build(NAMED + 'grain = { along = "centre", inset = "30 mm" }\n', front=RECTANGLE).piece(
        "Front"
    )
    assert piece.grain == pytest.approx(np.array([[30, 45], [30, 255]]))


@pytest.mark.parametrize(
    ("along", "halfway"),
    [("centre", [[100, 45], [100, 255]]), ("hem", [[30, 150], [170, 150]])],
)
def test_grain_along_an_edge_without_inset_lies_halfway_in(
    build: Build, along: str, halfway: list[list[float]]
) -> None:
    piece = build(NAMED + f'grain = {{ along = "{along}" }}\n', front=RECTANGLE).piece("Front")
    assert piece.grain is not None
    assert np.sort(piece.grain, axis=0) == pytest.approx(np.array(halfway))


def test_a_grain_line_along_an_edge_that_bows_outwards_by_a_hair_lies_on_it(build: Build) -> None:
    bowed = np.array([[0, 0], [200, 0], [200, 300], [0, 300], [0.1, 150], [0, 0]], dtype=float)
    text = NAMED + 'grain = { along = "centre", inset = 0 }\n'
    assert build(text, front=bowed[::-1] * [-1, 1]).piece("Front").grain is not None


def test_an_area_is_the_band_inside_its_edges(build: Build) -> None:
    text = NAMED + '[[piece.area]]\nname = "f"\nalong = ["hem", "side"]\ndepth = 20\n'
    area = build(text, front=RECTANGLE).piece("Front").areas[0]
    assert Polygon(area.points).area == pytest.approx(200 * 20 + 280 * 20)


@pytest.mark.parametrize("allowance", [5.0, 12.7, 40.0])
def test_stitching_line_from_cutting_line_gives_it_back(build: Build, allowance: float) -> None:
    text = NAMED + f'line = "cutting"\nallowance = {allowance}\n[piece.edge.hem]\nallowance = 30\n'
    piece = build(text, front=RECTANGLE).piece("Front")
    assert length(piece.edge("hem").points) == pytest.approx(200 - 2 * allowance)
    assert length(piece.edge("side").points) == pytest.approx(300 - allowance - 30)
    again = cutting_line([Bordered(edge.points, edge.allowance) for edge in piece.edges])
    assert Polygon(again).symmetric_difference(Polygon(RECTANGLE)).area < 1e-6


def test_no_stitching_line_within_too_wide_an_allowance(build: Build) -> None:
    error = refused(build, NAMED + 'line = "cutting"\nallowance = 120\n', front=RECTANGLE)
    assert "stitching line" in error.problem


def test_derived_pieces_are_recorded(build: Build) -> None:
    text = NAMED + (
        '[[piece]]\nname = "Facing"\nallowance = 6\n'
        'derive = { from = "Front", how = "facing", along = ["hem"], width = "2 in" }\n'
        '[piece.edge.hem]\ncorner = "square"\n'
    )
    piece = build(text, front=RECTANGLE).piece("Facing")
    assert piece.parent == "Front"
    assert piece.derive is not None
    assert (piece.derive.width, piece.derive.along) == (50.8, ("hem",))
    assert piece.derive.allowance == (6.0, 6.0)
    assert piece.derive.rules[0].corner == "square"


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.floats(5, 200), min_size=3, max_size=9),
    st.floats(-math.pi, math.pi),
    st.floats(-500, 500),
)
def test_a_half_unfolded_has_twice_its_area_and_is_its_own_mirror_image(
    widths: list[float], turn: float, shift: float
) -> None:
    heights = np.linspace(0.0, 300.0, len(widths))
    half = np.vstack([[0.0, 0.0], np.column_stack([widths, heights]), [0.0, 300.0]])
    way = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    side, fold = half @ way + shift, half[[-1, 0]] @ way + shift
    whole = unfolded(
        Piece("P", (Edge("side", side, (0.0, 0.0)), Edge("fold", fold, (0.0, 0.0))), fold="fold")
    ).outline
    assert is_closed(whole)
    closed = np.vstack([half, half[:1]])
    assert abs(signed_area(whole)) == pytest.approx(2 * abs(signed_area(closed)))
    assert length(whole) == pytest.approx(2 * length(half))
    image = Polygon(mirrored(whole, fold[0], fold[1]))
    assert Polygon(whole).symmetric_difference(image).area < 1e-6


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ('cut = [{ cloth = "self", on-fold = true }]\n', "no edge of the piece lies on the fold"),
        ("whole = true\n", "no edge lies on a fold"),
    ],
)
def test_a_fold_that_is_not_named_yet_stops_the_card_but_not_show(
    build: Build, text: str, fault: str
) -> None:
    made = build(NAMED + text, front=RECTANGLE)
    assert fault in made.piece("Front").faults[0].problem
    assert fault in review(made).faults[0]
    assert review(made).faults[0].endswith("Write fold = EDGE. (line 4)")
    with pytest.raises(UserError, match=f"set.toml, line 4, piece 'Front': .*{fault}"):
        finish(made)


@pytest.mark.parametrize(
    ("ring", "past"),
    [
        ([[0, 0], [200, 0], [200, 300], [0, 300]], 0.0),
        ([[0, 0], [200, 0], [200, 300], [0, 300], [-5, 290], [-5, 250], [0, 250]], 5.0),
        ([[0, 0], [200, 0], [200, 300], [-140, 300], [-140, 100], [0, 100]], 140.0),
    ],
)
def test_a_piece_lies_on_one_side_of_its_fold(build: Build, ring: list, past: float) -> None:
    """Cloth ends at its fold, here x = 0; a button stand of 5 mm and a T lie past it."""
    names = [f'"{number}"' for number in range(len(ring))]
    text = f"{PIECE}start = [0, 0]\nedges = [{', '.join(names)}]\nfold = {names[-1]}\n"
    text += 'cut = [{ cloth = "self", on-fold = true }]\n'
    faults = build(text, front=np.array([*ring, ring[0]], float)).piece("Front").faults
    told = f"it lies on both sides of its fold '{len(ring) - 1}': it reaches {past:.1f} mm past it"
    assert [fault.problem for fault in faults] == [told] * (past > 0.0)


@pytest.mark.parametrize(("head", "told"), [("[50, 250]", 0), ("[150, 50]", 0), ("[150, 250]", 27)])
def test_a_fold_lies_along_the_grain_or_across_it(build: Build, head: str, told: int) -> None:
    """Cloth is folded along its threads: common practice. The angle is atan(100 / 200)."""
    text = NAMED + 'fold = "centre"\ncut = [{ cloth = "self", on-fold = true }]\n'
    from_to = f"grain = {{ from = [50, 50], to = {head} }}\n"
    asked = "degrees off its fold"
    notes = [n for n in review(build(text + from_to, front=RECTANGLE)).notes if asked in n]
    assert len(notes) == bool(told)
    assert all(f"is {told} degrees off its fold 'centre'" in note for note in notes)
    on_bias = build(text + from_to + "bias = true\n", front=RECTANGLE)
    assert not any(asked in note for note in review(on_bias).notes)


@pytest.mark.parametrize(
    ("rise", "told"),
    [(0.0, ""), (0.4, ""), (1.05, "89.7"), (7.0, "88.0"), (-7.0, "92.0"), (25.0, ""), (-90.0, "")],
)
def test_an_edge_meets_its_fold_square_or_clearly_not(build: Build, rise: float, told: str) -> None:
    """Opened out, what was meant to run straight over the fold has a peak or a dip: common practice
    is to square it. A V or a point is meant. The angle is 90 degrees less atan(rise / 200).
    """
    ring = np.array([[0, -rise], [200, 0], [200, 300], [0, 300], [0, -rise]], float)
    text = (
        NAMED
        + f"start = [0, {-rise}]\n"
        + 'fold = "centre"\ncut = [{ cloth = "self", on-fold = true }]\n'
    )
    text += 'grain = { along = "centre" }\n'
    notes = [n for n in review(build(text, front=ring)).notes if "meets the fold" in n]
    assert len(notes) == bool(told)
    words = f"'hem' meets the fold 'centre' at {told} degrees"
    shape = "peak" if rise > 0.0 else "dip"
    assert all(words in note and f"has a {shape} there" in note for note in notes)


@pytest.mark.parametrize(
    ("name", "more", "told"),
    [
        ("fold", "", True),
        ("centre fold", "", True),
        ("folded", "", False),
        ("fold", 'fold = "fold"\n', False),
    ],
)
def test_a_fold_that_is_only_a_name_is_asked_about(
    build: Build, name: str, more: str, told: bool
) -> None:
    """The piece would come out half as wide."""
    text = NAMED.replace('"centre"', f'"{name}"') + more + 'cut = [{ cloth = "self", count = 1 }]\n'
    notes = review(build(text, front=RECTANGLE)).notes
    assert any("is called a fold" in note for note in notes) == told


def test_half_a_piece_without_on_fold_is_told(build: Build) -> None:
    text = NAMED + 'fold = "centre"\ncut = [{ cloth = "self", count = 1 }]\n'
    (note,) = build(text, front=RECTANGLE).piece("Front").notes
    assert note == "'cut 1 self': but the card is half a piece; write on-fold = true"
    whole = build(text + "whole = true\n", front=RECTANGLE).piece("Front")
    assert whole.notes == ()


def test_a_seams_two_notches_at_one_place_of_a_half_are_one(build: Build) -> None:
    """A sleeve on the fold has one place for what are two on the armhole."""
    text = (
        NAMED
        + 'fold = "centre"\ncut = [{ cloth = "self", count = 2, on-fold = true }]\n'
        + NAMED.replace('"Front"', '"Body"').replace('"front"', '"body"')
        + '[[seam]]\nname = "s"\nfirst = { piece = "Front", edges = ["top"] }\n'
        + 'second = { piece = "Body", edges = ["side"] }\n'
        + '[[seam.notch]]\nat = 60\n[[seam.notch]]\nat = 60\nfrom = "end"\n'
    )
    body = RECTANGLE * [1.0, 4.0 / 3.0]  # its side is as long as twice the top
    made = build(text, front=RECTANGLE, body=body)
    assert [notch.along for notch in made.piece("Front").notches] == [60.0]
    assert [round(notch.along, 6) for notch in made.piece("Body").notches] == [60.0, 340.0]
    (result,) = walk(made)
    assert (len(result.notches), result.faults, result.notes) == (2, (), ())


def test_the_faults_of_several_drawings_are_told_together(build: Build) -> None:
    text = (
        NAMED
        + 'notch = [{ edge = "q", at = 5 }]\nfold = "zz"\n'
        + NAMED.replace('"Front"', '"Body"').replace('"front"', '"gone"')
        + NAMED.replace('"Front"', '"Back"')
        + 'front = "nowhere"\n'
    )
    with pytest.raises(UserError) as told:
        build(text, front=RECTANGLE)
    words = [error.problem for error in told.value.errors]
    assert words == ["there is no edge 'q'", "there is no edge 'zz'", "there is no drawing 'gone'",
                     "there is no edge 'nowhere'"]  # fmt: skip


def test_the_faults_of_several_seams_are_told_together(build: Build) -> None:
    seam = '[[seam]]\nname = "{0}"\nfirst = {{ piece = "Front", edges = ["{0}"] }}\n'
    second = 'second = { piece = "Front", edges = ["side"] }\n'
    with pytest.raises(UserError) as told:
        build(NAMED + seam.format("a") + second + seam.format("b") + second, front=RECTANGLE)
    assert [error.problem[-3:] for error in told.value.errors] == ["'a'", "'b'"]


def test_faults_of_drawings_of_several_formats_are_told_in_the_set_files_order(tmp_path) -> None:
    """They are read in different processes; 14 tables take two of them."""
    (tmp_path / "bad.svg").write_text("<svg")
    text = '[set]\nname = "Mixed"\nstyle = "MI-01"\nsize = "M"\n'
    names = [f"{nth}.csv" if nth % 5 else "bad.svg" for nth in range(18)]
    for nth, name in enumerate(names):
        if name.endswith(".csv"):
            (tmp_path / name).write_text("x,y,run\n1,2\n")
        text += f'[[piece]]\nname = "Piece {nth}"\nfrom = {{ file = "{name}" }}\n'
    (tmp_path / "set.toml").write_text(text)
    with pytest.raises(UserErrors) as caught:
        open_set(tmp_path / "set.toml")
    told = [(str(fault.place.piece), fault.place.file.name) for fault in caught.value.errors]
    expected = [(f"Piece {nth}", name) for nth, name in enumerate(names)]
    assert list(dict.fromkeys(told)) == expected
