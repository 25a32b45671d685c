"""Outermost pricks of an armhole beside a side seam: pieces drawn by formula, with true lengths."""

from __future__ import annotations

import re

import numpy as np
import pytest
from plotout_pricks.outline import outline
from plotout_pricks.table import read_table

from plotout.geometry.polyline import distances

SIDE = 470.0  # mm, from the hem to the armhole
UNDERARM, TIP = np.array([238.0, SIDE]), np.array([200.0, 690.0])  # mm, the armhole's corners
CORNERS = np.array([TIP, [80.0, 730.0], [0.0, 640.0], [0.0, 0.0], [238.0, 0.0], UNDERARM])
NAMES = "shoulder", "neck", "centre", "hem", "side"


def armhole(inwards, up=0.62):
    """Return dense points, (n, 2), from the side seam, which it meets square, up to the shoulder.

    A cubic curve as a drafted armhole: flat at the side, `inwards` mm of it, then a sudden turn up.
    """
    t = np.linspace(0.0, 1.0, 4001)[:, None]
    handles = UNDERARM - [inwards, 0.0], TIP - [15.0, up * (TIP[1] - SIDE)]
    places = (UNDERARM, *handles, TIP)
    shares = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3)
    return sum(share * place for share, place in zip(shares, places, strict=True))


def read(path, curve, count, scatter, seed, *, stray=(), bowed=0.0):
    """Return the reader's drawing of the piece, and its curve's true length.

    The outermost pricks lie 2 mm from the armhole's corners, and 6 mm from the others'. stray: the
    armhole's prick of that index lies so many mm off across it. bowed: mm of the side, a curve
    then.
    """
    rng = np.random.default_rng(seed)
    reached = distances(curve)
    along = np.linspace(2.0, reached[-1] - 2.0, count)
    places = np.column_stack([np.interp(along, reached, axis) for axis in curve.T])
    for index, off in stray:
        at = int(np.searchsorted(reached, along[index]))
        x, y = (curve[at + 4] - curve[at - 4]) / np.hypot(*(curve[at + 4] - curve[at - 4]))
        places[index] += off * np.array([-y, x])
    runs = [("armhole", "curve", places)]
    for name, begin, end in zip(NAMES, CORNERS[:-1], CORNERS[1:], strict=True):
        size = np.hypot(*(end - begin))
        share = np.linspace(6.0 / size, 1.0 - 6.0 / size, 8)[:, None]
        points = begin + (end - begin) * share
        bent = name == "side" and bowed > 0.0
        if bent:
            points[:, :1] += 4.0 * bowed * share * (1.0 - share)
        runs.append((name, "curve" if bent else "straight", points))
    lines = ["x,y,run,kind"]
    for name, kind, points in runs:
        noisy = points + rng.normal(0.0, scatter, points.shape)
        lines += [f"{x:.2f},{y:.2f},{name},{kind}" for x, y in noisy]
    path.write_text("\n".join(lines), encoding="utf-8")
    return outline(read_table(path, {}), path, {}), float(reached[-1])


def lengths(drawing):
    return {shape.name: float(distances(shape.points)[-1]) for shape in drawing.shapes}


def if_the_first_strayed(shape):
    return [one for one in shape.otherwise if one.why == "prick 1 of 'armhole' strayed"]


def left_out(drawing):
    notes = " ".join(drawing.notes)
    return [int(n) for n in re.findall(r"prick (\d+) of 'armhole' lies [\d.]+ mm off; left", notes)]


@pytest.mark.parametrize("bowed", [0.0, 2.0])
@pytest.mark.parametrize("up", [0.5, 0.62])
@pytest.mark.parametrize(
    ("count", "scatter", "seed"), [(10, 0.0, 0), (12, 0.2, 1), (14, 0.0, 0), (18, 0.2, 1)]
)
def test_the_end_of_an_armhole_that_turns_suddenly_is_kept(
    tmp_path, count, scatter, seed, up, bowed
):
    """Left out, the side would end 6 to 20 mm before its true corner, and before its last prick."""
    drawing, true = read(
        tmp_path / "front.csv", armhole(25.0, up), count, scatter, seed, bowed=bowed
    )
    assert left_out(drawing) == []
    assert if_the_first_strayed(drawing.shapes[0])  # a stray looks alike
    found = lengths(drawing)
    assert abs(found["armhole"] - true) < 2.0
    straight = np.hypot(*(CORNERS[5] - CORNERS[4]))
    assert abs(found["side"] - straight) < 2.0 + 0.1 * bowed  # which makes it 0.02 mm longer


@pytest.mark.parametrize(
    ("up", "count", "both"), [(0.5, 14, True), (0.62, 12, True), (0.5, 10, False)]
)
def test_an_end_that_is_kept_only_for_its_neighbour_leaves_both_readings_open(
    tmp_path, up, count, both
):
    """What the lengths would be without it is told. They are known to as much, unless the neighbour
    would be pricked 15 mm past its corner: no curve is led so far off.

    Reference: the same table without that prick.
    """
    path = tmp_path / "front.csv"
    drawing, _ = read(path, armhole(40.0, up), count, 0.1, 2)
    rows = path.read_text(encoding="utf-8").splitlines()
    path.write_text("\n".join([rows[0], *rows[2:]]), encoding="utf-8")
    without = lengths(outline(read_table(path, {}), path, {}))
    for shape in drawing.shapes[:1] + drawing.shapes[-1:]:
        change = without[shape.name] - lengths(drawing)[shape.name]
        assert abs(change) > 2.5
        assert (shape.known_to > 0.5 * abs(change)) is both
        (strayed,) = if_the_first_strayed(shape)
        assert strayed.longer == pytest.approx(change, abs=strayed.known_to)


@pytest.mark.parametrize("off", [8.0, -8.0])
@pytest.mark.parametrize("count", [12, 18])
def test_a_stray_at_the_shoulder_is_left_out(tmp_path, count, off):
    """The shoulder's pricks lie where they must if it is, and some are past its corner if not."""
    stray = [(count - 1, off)]
    drawing, true = read(tmp_path / "front.csv", armhole(60.0), count, 0.1, 3, stray=stray)
    assert left_out(drawing) == [count]
    assert abs(lengths(drawing)["armhole"] - true) < 2.0


def test_a_neighbours_pricks_find_a_stray_that_the_curve_alone_does_not_show(tmp_path):
    """An outer prick 8 mm off, by which the shoulder would end before its own last prick."""
    drawing, true = read(tmp_path / "front.csv", armhole(90.0), 12, 0.1, 3, stray=[(11, 8.0)])
    assert left_out(drawing) == [12]
    assert abs(lengths(drawing)["armhole"] - true) < 1.0


@pytest.mark.parametrize(("inwards", "count"), [(40.0, 18), (60.0, 14)])
def test_where_the_next_prick_is_left_out_the_lengths_hold_the_outermost_ones_stray(
    tmp_path, inwards, count
):
    """The outermost prick lies 7 mm off; to leave out the next one explains the rest as well."""
    stray = [(0, 7.0)]
    drawing, true = read(tmp_path / "front.csv", armhole(inwards), count, 0.1, 0, stray=stray)
    assert left_out(drawing) == [2]
    assert any("prick 1 may have strayed in its stead" in note for note in drawing.notes)
    known, found = {shape.name: shape.known_to for shape in drawing.shapes}, lengths(drawing)
    straight = np.hypot(*(CORNERS[5] - CORNERS[4]))
    assert abs(found["armhole"] - true) <= known["armhole"]
    assert abs(found["side"] - straight) <= known["side"]


@pytest.mark.parametrize(
    ("inwards", "count", "pair", "off"),
    [(60.0, 12, 1, -4.5), (75.0, 12, 1, -4.5), (90.0, 12, 1, -4.5), (90.0, 14, 2, -4.5)],
)
def test_lengths_hold_both_explanations_of_two_strays_beside_each_other(
    tmp_path, inwards, count, pair, off
):
    """A good prick beside them may be the stray just as well, or nothing is found.

    By the explanation that is taken alone, the length was told to a fifth of its error.
    """
    stray = [(pair, off), (pair + 1, off)]
    drawing, true = read(tmp_path / "front.csv", armhole(inwards), count, 0.0, 0, stray=stray)
    known = {shape.name: shape.known_to for shape in drawing.shapes}
    assert abs(lengths(drawing)["armhole"] - true) <= known["armhole"]
    assert abs(lengths(drawing)["side"] - SIDE) <= known["side"]


def sleeve_half(path, up, turned, seed, count=12, scatter=0.1):
    """Return the reader's drawing of a raglan sleeve's half, and its neck's true length.

    Its overarm seam is a cubic curve of 800 mm. turned: mm that its upper end turns in.
    """
    t = np.linspace(0.0, 1.0, 4001)[:, None]
    ends = np.array([[20.0, 0.0], [-63.0, 350.0], [-63.0, up], [turned - 63.0, up + 100.0]])
    shares = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3)
    curve = sum(share * end for share, end in zip(shares, ends, strict=True))
    reached = distances(curve)
    rng = np.random.default_rng(seed)
    along = np.linspace(4.0, reached[-1] - 4.0, count)
    places = np.column_stack([np.interp(along, reached, axis) for axis in curve.T])
    runs = [("overarm", "curve", places[::-1])]
    corners = np.array([curve[0], [150.0, 0.0], [170.0, 500.0], [60.0, up + 90.0], curve[-1]])
    for name, begin, end in zip(
        ("hem", "underarm", "raglan", "neck"), corners[:-1], corners[1:], strict=True
    ):
        runs.append((name, "straight", begin + (end - begin) * np.linspace(0.1, 0.9, 5)[:, None]))
    lines = ["x,y,run,kind"]
    for name, kind, points in runs:
        noisy = points + rng.normal(0.0, scatter, points.shape)
        lines += [f"{x:.2f},{y:.2f},{name},{kind}" for x, y in noisy]
    path.write_text("\n".join(lines), encoding="utf-8")
    return outline(read_table(path, {}), path, {}), float(np.hypot(*(corners[4] - corners[3])))


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize(("up", "turned"), [(640.0, 83.0), (700.0, 83.0), (680.0, 120.0)])
def test_a_long_gentle_curve_of_few_pricks_keeps_the_one_at_its_tightening_end(
    tmp_path, seed, up, turned
):
    """An overarm seam of 800 mm, pricked each 70 mm: it bends by far more over its last gap."""
    drawing, neck = sleeve_half(tmp_path / "sleeve.csv", up, turned, seed)
    assert not [note for note in drawing.notes if "left out" in note]
    assert abs(lengths(drawing)["neck"] - neck) < 2.0


@pytest.mark.parametrize("count", [16, 18, 20])
def test_of_an_end_that_tightens_more_and_more_nothing_is_asked(tmp_path, count):
    """Its outermost prick is exact, and lies off only because the seam tightens on."""
    drawing, _ = sleeve_half(tmp_path / "sleeve.csv", 700.0, 83.0, 0, count, scatter=0.0)
    assert not [note for note in drawing.notes if "whether one strayed" in note]
