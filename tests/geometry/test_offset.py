"""Cutting lines against shapely's buffer (GEOS), Steiner's formula, and reflection."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import union_all
from shapely.geometry import LineString, Point, Polygon, box

from plotout.geometry.offset import cutting_line, stitching_from_cutting
from plotout.geometry.sides import Bordered

SQUARE = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 60.0], [0.0, 60.0], [0.0, 0.0]])


def sides(ring, allowance, corner="mitre"):
    ring = np.asarray(ring, dtype=float)
    return [Bordered(ring[k : k + 2], (allowance, allowance), corner) for k in range(len(ring) - 1)]


def arc(centre, radius, start, end, count=60):
    turn = np.radians(np.linspace(start, end, count))
    return np.asarray(centre) + radius * np.column_stack([np.cos(turn), np.sin(turn)])


@st.composite
def rings(draw, convex=False):
    """Simple polygons about 0, 0, 30 to 150 mm across."""
    count = draw(st.integers(4, 9))
    gaps = [draw(st.floats(0.5, 1.5)) for _ in range(count)]
    turn = np.cumsum(gaps) / np.sum(gaps) * 2 * np.pi
    reach = 100.0 if convex else np.array([draw(st.floats(40.0, 150.0)) for _ in range(count)])
    ring = np.column_stack([np.cos(turn) * reach, np.sin(turn) * reach])
    return np.vstack([ring, ring[:1]])


@settings(max_examples=150, deadline=None)
@given(rings(), st.floats(1.0, 15.0), st.floats(1.0, 4.0))
def test_uniform_mitred_allowance_is_geos_buffer(ring, allowance, limit):
    ours = Polygon(cutting_line(sides(ring, allowance), limit))
    theirs = Polygon(ring).buffer(allowance, join_style="mitre", mitre_limit=limit)
    assert ours.is_valid
    assert ours.symmetric_difference(Polygon(theirs.exterior)).area < 1e-3 * ours.area


@settings(max_examples=100, deadline=None)
@given(rings(convex=True), st.floats(0.5, 40.0))
def test_area_of_a_convex_piece_follows_steiner(ring, allowance):
    # Steiner's formula for parallel bodies, with mitres in place of arcs: A + P a + a2 tan(t/2)
    inner = Polygon(ring)
    steps = np.diff(np.vstack([ring, ring[1:2]]), axis=0)
    turns = [np.arctan2(a[0] * b[1] - a[1] * b[0], a @ b) for a, b in pairwise(steps)]
    tips = sum(np.tan(t / 2) for t in turns)
    want = inner.area + inner.length * allowance + allowance**2 * tips
    assert Polygon(cutting_line(sides(ring, allowance), 100.0)).area == pytest.approx(
        want, rel=1e-9
    )


def test_a_curve_as_one_closed_side():
    ellipse = np.vstack([arc((0, 0), 1.0, 0, 358, 180) * (60, 40)])
    ring = np.vstack([ellipse, ellipse[:1]])
    ours = Polygon(cutting_line([Bordered(ring, (8.0, 8.0))]))
    theirs = Polygon(ring).buffer(8, join_style="mitre")
    # at the ends of its halves it is as far off as the curve, not as its chords: 8 / cos(1 degree)
    assert ours.hausdorff_distance(theirs) < 0.003
    assert ours.symmetric_difference(theirs).area < 0.02


@pytest.mark.parametrize("radius", [3.0, 8.0, 12.0, 20.0])
def test_an_inner_curve_tighter_than_the_allowance_has_no_loop(radius):
    curve = arc((50, 60), radius, 180, 360)[:, :]
    ring = np.vstack([[[0, 0], [100, 0], [100, 60]], curve[::-1], [[0, 60], [0, 0]]])
    edges = [
        Bordered(ring[:2], (12.0, 12.0)),
        Bordered(ring[1:3], (12.0, 12.0)),
        Bordered(ring[2:-1], (12.0, 12.0)),
        Bordered(ring[-2:], (12.0, 12.0)),
    ]
    ours = Polygon(cutting_line(edges))
    theirs = Polygon(Polygon(ring).buffer(12.0, join_style="mitre", mitre_limit=2.5).exterior)
    assert ours.is_valid
    assert ours.symmetric_difference(theirs).area < 0.05
    narrow = ours.buffer(-0.2).buffer(0.2, join_style="mitre")
    assert ours.symmetric_difference(narrow).area < 1.0  # no slivers


def test_edges_shorter_than_the_allowance():
    ring = np.array(
        [[0, 0], [60, 0], [60, 3], [63, 3], [63, 6], [60, 6], [60, 50], [30, 50], [30, 48],
         [28, 48], [28, 50], [0, 50], [0, 0]], float
    )  # fmt: skip
    ours = Polygon(cutting_line(sides(ring, 12.7)))
    theirs = Polygon(Polygon(ring).buffer(12.7, join_style="mitre", mitre_limit=2.5).exterior)
    assert ours.is_valid
    assert ours.symmetric_difference(theirs).area < 1e-6


@pytest.mark.parametrize("slope", [0.0, 0.01, 0.1, 1.0, -0.01, -0.1, -1.0])
def test_nearly_straight_corners_stay_at_the_allowance(slope):
    drop = 100 * np.tan(np.radians(slope))
    ring = [[0, 0], [100, -drop], [200, 0], [200, 80], [0, 80], [0, 0]]
    ours = Polygon(cutting_line(sides(ring, 10.0)))
    theirs = Polygon(ring).buffer(10.0, join_style="mitre", mitre_limit=2.5)
    assert ours.symmetric_difference(theirs).area < 1e-4


@pytest.mark.parametrize("angle", [50.0, 80.0, 90.0, 100.0, 130.0])
def test_nothing_passes_the_fold(angle):
    lean = np.tan(np.radians(90 - angle)) * 30
    ring = np.array([[0, 0], [100, lean], [100, 90], [0, 90], [0, 0]], float)
    edges = [Bordered(ring[k : k + 2], (12.0, 12.0)) for k in range(3)]
    ours = cutting_line([*edges, Bordered(ring[3:], (0.0, 0.0))])
    assert ours[:, 0].min() == pytest.approx(0.0, abs=1e-9)
    hem = LineString(ring[:2])
    lower = Polygon(ours).intersection(box(0, -100, 100, 200))
    assert hem.buffer(11.99, single_sided=False).intersection(box(0.01, -100, 90, 200)).difference(
        lower
    ).area == pytest.approx(0.0, abs=0.05)


V_NECK = [[0, 0], [250, 0], [250, 400], [215, 600], [85, 640]]
SLIT = [[240, 0], [230, 500], [0, 500]]


@pytest.mark.parametrize(
    "half",
    [
        *([*V_NECK, [0, depth]] for depth in (630, 560, 460, 300, 150)),
        *([[0, deep], [wide, 0], *SLIT] for deep in (10, 50, 150) for wide in (3, 9, 20)),
        [[0, 0], [240, 0], [230, 500], [90, 540], [8, 500], [8, 350], [0, 350]],
    ],
)
@pytest.mark.parametrize("allowance", [6.0, 15.0])
def test_an_inner_corner_at_the_fold_is_that_of_the_whole_piece(half, allowance):
    """Against GEOS's buffer of the whole piece, of which the half must show the right half."""
    half = np.array(half, float)
    fold = [(half[-1], half[0])] if half[0, 0] == 0.0 else []
    edges = [Bordered(np.array(pair), (allowance, allowance)) for pair in pairwise(half)]
    edges += [Bordered(np.array(pair), (0.0, 0.0), on_fold=True) for pair in fold]
    ours = Polygon(cutting_line(edges))
    whole = Polygon([*half, *(half[::-1] * (-1.0, 1.0))]).buffer(0.0)
    theirs = whole.buffer(allowance, join_style="mitre", mitre_limit=2.5)
    theirs = Polygon(theirs.exterior).intersection(box(0, -1e3, 1e3, 1e3))
    assert ours.symmetric_difference(theirs).area < 1e-6 * theirs.area


@pytest.mark.parametrize("limit", [1.5, 2.0, 2.3, 3.0])
def test_a_point_within_a_side_is_as_long_as_one_between_two(limit):
    """By the definition of a mitre: 40 mm across, 80 mm deep, its tip is sqrt(5) times as far."""
    ring = np.array([[-40, 80], [0, 0], [40, 80], [40, 300], [-40, 300], [-40, 80]], float)
    one = [Bordered(ring[:3], (10.0, 10.0)), *sides(ring[2:], 10.0)]
    ours = cutting_line(one, limit)
    assert -ours[:, 1].min() == pytest.approx(10.0 * min(limit, np.sqrt(5.0)))
    between = Polygon(cutting_line(sides(ring, 10.0), limit))
    assert Polygon(ours).symmetric_difference(between).area < 1e-6


def test_allowance_that_changes_along_an_edge():
    ring = SQUARE
    edges = [Bordered(ring[:2], (10.0, 20.0)), *sides(ring, 0.0)[1:]]
    ours = Polygon(cutting_line(edges))
    assert ours.area == pytest.approx(100 * 60 + 100 * 15)  # a trapezium of 10 to 20
    assert ours.exterior.distance(Point(0, -10)) == pytest.approx(0.0, abs=1e-9)
    assert ours.exterior.distance(Point(100, -20)) == pytest.approx(0.0, abs=1e-9)


def test_square_corner_ends_square_to_the_later_side():
    ring = np.array([[0, 0], [100, 0], [70, 60], [0, 60], [0, 0]], float)
    edges = sides(ring, 10.0)
    edges[1] = Bordered(ring[1:3], (10.0, 10.0), "square")
    ours = cutting_line(edges)
    way = (ring[2] - ring[1]) / np.hypot(*(ring[2] - ring[1]))
    foot = ring[1] - way * (10.0 / way[1])  # on the cutting line of the side before
    shoulder = foot + np.array([way[1], -way[0]]) * 10.0
    for point in (foot, shoulder):
        assert np.hypot(*(ours - point).T).min() < 1e-9


def test_blunt_corner_keeps_the_allowance_and_no_more():
    ring = np.array([[0, 0], [200, 0], [0, 60], [0, 0]], float)
    ours = Polygon(cutting_line(sides(ring, 10.0, "blunt")))
    theirs = Polygon(ring).buffer(10.0, join_style="mitre", mitre_limit=1.0)
    assert ours.symmetric_difference(theirs).area < 1e-6


@settings(max_examples=100, deadline=None)
@given(rings(convex=True), st.data())
def test_stitching_line_comes_back_from_the_cutting_line(ring, data):
    widths = [data.draw(st.floats(1.0, 12.0)) for _ in range(len(ring) - 1)]
    edges = [
        Bordered(ring[k : k + 2], (wide, wide))
        for k, wide in zip(range(len(ring)), widths, strict=False)
    ]
    cut = cutting_line(edges, 100.0)
    tips = _tips(ring, widths)
    assume(not _much_cut_off(ring, tips))
    corners = cut[[np.hypot(*(cut - c).T).argmin() for c in tips]]
    assume(len({tuple(c) for c in corners.round(6)}) == len(corners))
    corners = np.vstack([corners, corners[:1]])
    back = stitching_from_cutting(
        [Bordered(corners[k : k + 2], (w, w)) for k, w in enumerate(widths)]
    )
    for edge, line in zip(edges, back, strict=True):
        assert LineString(line).hausdorff_distance(LineString(edge.points)) < 1e-6


def _tips(ring, widths):
    """Corners of the mitred outline by solving for the lines' meeting points."""
    steps = np.diff(ring, axis=0)
    steps /= np.hypot(*steps.T)[:, None]
    normals = np.column_stack([steps[:, 1], -steps[:, 0]])
    reach = np.einsum("ij,ij->i", normals, ring[:-1]) + widths
    return [np.linalg.solve(normals[[k - 1, k]], reach[[k - 1, k]]) for k in range(len(steps))]


def _much_cut_off(ring, tips):
    """Return True if an edge ends much nearer its middle in the cutting line than where it is sewn:
    there a narrower allowance would take more than a third of it, and the corner is a step.
    """
    steps = np.diff(ring, axis=0)
    size = np.hypot(*steps.T)
    along = steps / size[:, None]
    start = np.einsum("ij,ij->i", tips - ring[:-1], along)
    end = np.einsum("ij,ij->i", ring[1:] - np.roll(tips, -1, axis=0), along)
    return bool((np.maximum(start, end) > size / 3.0 - 0.01).any())


def test_stitching_line_of_a_curved_piece_comes_back():
    neck = arc((0, 100), 60, 0, -90)
    corners = np.array([[0, 0], [100, 0], [95, 80], neck[0], neck[-1]])
    edges = [
        Bordered(corners[0:2], (10.0, 10.0)),
        Bordered(corners[1:3], (10.0, 15.0)),
        Bordered(corners[2:4], (8.0, 8.0)),
        Bordered(neck, (6.0, 6.0)),
        Bordered(corners[[4, 0]], (0.0, 0.0)),
    ]
    cut = cutting_line(edges, 10.0)
    tips = [(0, -10), (110, -10), (112, 92), (66, 106), (0, 46)]  # near enough to tell them apart
    where = [_sharpest(cut, np.array(tip)) for tip in tips]
    pieces = [_between(cut, where[k], where[(k + 1) % 5]) for k in range(5)]
    back = stitching_from_cutting(
        [Bordered(p, e.allowance) for p, e in zip(pieces, edges, strict=True)]
    )
    for edge, line in zip(edges, back, strict=True):
        assert LineString(edge.points).hausdorff_distance(LineString(line)) < 0.02


def _sharpest(cut, near):
    """Number of the sharpest corner within 25 mm."""
    ring = cut[:-1]
    steps = np.diff(np.vstack([ring[-1:], ring, ring[:1]]), axis=0)
    steps /= np.hypot(*steps.T)[:, None]
    bend = np.einsum("ij,ij->i", steps[:-1], steps[1:])
    bend[np.hypot(*(ring - near).T) > 25] = 1.0
    return int(np.argmin(bend))


def _between(cut, start, end):
    ring = cut[:-1]
    count = (end - start) % len(ring)
    return ring[(start + np.arange(count + 1)) % len(ring)]


def test_an_outline_that_runs_backwards_is_refused():
    with pytest.raises(ValueError, match=r"area|inside out"):
        cutting_line(sides(SQUARE[::-1], 5.0))


def test_too_short_an_edge_is_refused():
    with pytest.raises(ValueError, match="too short"):
        stitching_from_cutting(sides(SQUARE, 31.0))


@pytest.mark.parametrize("ring", [[[0, 0], [90, 0], [40, 70], [0, 0]], SQUARE])
@pytest.mark.parametrize("depth", [35.0, 40.0, 70.0])
def test_what_is_drawn_in_too_far_is_refused(ring, depth):
    assert Polygon(ring).buffer(-depth).is_empty  # by GEOS
    with pytest.raises(ValueError, match="narrower"):
        cutting_line(sides(ring, -depth))


@settings(max_examples=50, deadline=None)
@given(rings(), st.floats(0.5, 6.0))
def test_drawn_in_is_geos_negative_buffer(ring, depth):
    theirs = Polygon(ring).buffer(-depth, join_style="mitre", mitre_limit=50.0)
    assume(theirs.geom_type == "Polygon")
    ours = Polygon(cutting_line(sides(ring, -depth), 50.0))
    assert ours.symmetric_difference(theirs).area < 1e-3 * theirs.area


@pytest.mark.parametrize(("across", "down", "lean"), [(88, 20, -30), (88, 20, 0), (60, 15, -60),
                                                       (20, 88, -30), (70, 10, -80)])  # fmt: skip
@pytest.mark.parametrize("first", [False, True])
def test_a_curve_that_ends_more_tightly_than_its_allowance(across, down, lean, first):
    """Quarter ellipses: a radius of down^2 / across at the shoulder, against 10 mm of allowance.

    The reference is the union of the piece, of a quadrangle beyond every short stretch of its
    line, and of a mitre at every outer corner, where both cutting lines meet along the tangents.
    """
    turn = np.linspace(0.0, np.pi / 2.0, 160)
    neck = np.column_stack([across * np.cos(turn), 600.0 - down * np.sin(turn)])
    tip = neck[0] + (80.0, lean)
    lines = [np.array([[0.0, 0.0], [200.0, 0.0]]), np.array([[200.0, 0.0], tip]),
             np.array([tip, neck[0]]), neck, np.array([neck[-1], [0.0, 0.0]])]  # fmt: skip
    if first:  # the curve ends, not begins, at the tight corner
        lines = [line[::-1] * (-1.0, 1.0) for line in lines[::-1]]
    cut = Polygon(cutting_line([Bordered(line, (10.0, 10.0)) for line in lines], 3.0))
    ring = np.vstack([line[:-1] for line in lines])
    parts = [Polygon(ring)]
    for start, end in pairwise(np.vstack([ring, ring[:1]])):
        step = (end - start) / np.hypot(*(end - start))
        out = 10.0 * np.array([step[1], -step[0]])
        parts.append(Polygon([start, end, end + out, start + out]))
    sign = 1.0 if first else -1.0
    known = (np.array([0.0, sign]), np.array([-1.0, 0.0]))  # the ellipse's tangents at its ends
    of_neck = known[::-1] if first else known
    for before, after in pairwise([lines[-1], *lines]):
        into, out = before[-1] - before[-2], after[1] - after[0]
        into, out = into / np.hypot(*into), out / np.hypot(*out)
        into = of_neck[1] if len(before) > 2 else into
        out = of_neck[0] if len(after) > 2 else out
        normals = np.array([[into[1], -into[0]], [out[1], -out[0]]])
        if into[0] * out[1] - into[1] * out[0] > 1e-9:
            meet = np.linalg.solve(normals, [10.0, 10.0])
            parts.append(Polygon([after[0] + by for by in (0.0, normals[0] * 10.0, meet,
                                                           normals[1] * 10.0)]))  # fmt: skip
    meant = union_all([part.buffer(0.0) for part in parts], grid_size=1e-6)
    assert meant.difference(cut.buffer(0.02)).area < 0.01
    assert cut.difference(meant.buffer(0.02)).area < 0.01
