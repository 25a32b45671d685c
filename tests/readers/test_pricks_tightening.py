"""A curve that tightens towards a corner that nobody pricked: it meets its neighbour about square.

References: a quarter of an ellipse, whose end is square to its axis; a circle, which doesn't
tighten; and the lengths of pieces drawn here.
"""

from pathlib import Path

import numpy as np
import pytest
from plotout_pricks.bend import Tails
from plotout_pricks.continued import beyond
from plotout_pricks.outline import outline
from plotout_pricks.table import Pricks, Table
from plotout_pricks.tightening import Neighbour, meets_square

from plotout.kit import curve_fit


def reached(line):
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])


def quarter(wide, deep, short):
    """Return a quarter of an ellipse from its flat end to `short` mm before its tight one."""
    turn = np.linspace(np.pi / 2.0, 0.0, 20001)
    neck = np.column_stack([wide * np.cos(turn), -deep * np.sin(turn)])
    return neck[reached(neck) < reached(neck)[-1] - short]


def level(at):
    return Neighbour(np.array([at]), np.array([[1.0, 0.0]]))


def crossing(line, height):
    """Return where a line that rises crosses a height, and in which direction, degrees."""
    after = int((line[:, 1] > height).argmax())
    (x, y), (u, v) = line[after - 1], line[after]
    return x + (u - x) * (height - y) / (v - y), np.degrees(np.arctan2(v - y, u - x))


@pytest.mark.parametrize("short", [3.0, 5.0, 8.0])
@pytest.mark.parametrize(("wide", "deep"), [(80.0, 23.0), (90.0, 30.0)])
def test_a_tightening_curve_is_led_on_until_it_is_square(wide, deep, short):
    """The neck ends at (wide, 0), upright; a fit rounds it off, so that it crosses y = 0 further.

    Pricked every 5 mm, with scatter of 0.2 mm, five times.
    """
    dense = quarter(wide, deep, short)
    at = np.arange(reached(dense)[-1], 3.0, -5.0)[::-1]
    places = np.column_stack([np.interp(at, reached(dense), axis) for axis in dense.T])
    by_bend, squared, headings = [], [], []
    for seed in range(5):
        rng = np.random.default_rng(seed)
        curve = curve_fit(places + rng.normal(0.0, 0.2, places.shape)).points[None]
        shoulder = level([0.0, 0.0])
        shoulder = shoulder._replace(square=meets_square(Tails(curve), shoulder))
        by_bend.append(crossing(beyond(Tails(curve))[0], 0.0)[0] - wide)
        off, heading = crossing(beyond(Tails(curve), None, shoulder)[0], 0.0)
        squared.append(off - wide)
        headings.append(heading)
    assert abs(np.mean(squared)) < 0.6 * abs(np.mean(by_bend))
    assert np.median(headings) == pytest.approx(90.0, abs=4.0 * short)  # less surely from far off


@pytest.mark.parametrize("radius", [40.0, 80.0, 300.0])
@pytest.mark.parametrize("left", [0.0, 30.0, 60.0])
def test_an_arc_may_meet_its_neighbour_at_any_angle(radius, left):
    """It has so many degrees left to be square, 5 mm before its corner: its bend doesn't rise."""
    turn = np.radians(np.linspace(0.0, 50.0, 2001))
    arc = radius * np.column_stack([np.sin(turn), -np.cos(turn)])
    angle = np.radians(left - 40.0)  # the arc's end has a heading of 50 degrees
    along, to_it = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    neighbour = Neighbour((arc[-1] + 5.0 * to_it)[None], along[None])
    assert meets_square(Tails(arc[None]), neighbour) == 0.0


def test_a_smooth_join_is_not_made_square():
    """An ellipse that goes over into its neighbour without a corner, as an armhole into a side."""
    curve = quarter(80.0, 23.0, 5.0)[None]
    upright = Neighbour(np.array([[80.0, 0.0]]), np.array([[0.0, 1.0]]))
    assert meets_square(Tails(curve), upright) == 0.0


def back_neck(*, square):
    """Return dense points of a back neck 80 mm wide and 23 mm deep, from shoulder to centre back.

    Square: as drafted, one cubic curve, square to the shoulder. The other is a quarter of an
    ellipse, whose corner with the shoulder is 101.7 degrees.
    """
    t = np.linspace(0.0, 1.0, 3001)[:, None]
    if not square:
        turn = t * np.pi / 2.0
        return np.hstack([80.0 * np.cos(turn), 668.0 - 23.0 * np.sin(turn)])
    shares = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3)
    ends = np.array([[80.0, 668.0], [77.1, 654.0], [40.0, 645.0], [0.0, 645.0]])
    return sum(share * end for share, end in zip(shares, ends, strict=True))


def pricked_back(neck, seed, *, short):
    """Return the drawing of a back whose runs are pricked up to `short` mm before their corners.

    Its shoulder is the hypotenuse of 135 and 28 mm.
    """
    corners = [(0.0, 645.0), (0.0, 0.0), (215.0, 0.0), (215.0, 640.0), (80.0, 668.0)]
    names = ("centre", "hem", "armhole", "shoulder")
    dense = {name: np.linspace(corners[k], corners[k + 1], 3001) for k, name in enumerate(names)}
    rng, runs = np.random.default_rng(seed), []
    for name, line in (dense | {"neck": neck}).items():
        count, kind = (18, "curve") if name == "neck" else (6, "straight")
        start, end = rng.uniform(*short, 2)
        at = np.linspace(start, reached(line)[-1] - end, count)
        points = np.column_stack([np.interp(at, reached(line), axis) for axis in line.T])
        points += rng.normal(0.0, 0.2, points.shape)
        runs.append(Pricks(name, kind, points, 1, tuple(range(count))))
    return outline(Table(tuple(runs), ()), Path("back.csv"), {"square": ["neck end"]})


def shoulder_of(drawing):
    """Return by how much the shoulder is too long, and what it is known to, mm."""
    edge = next(shape for shape in drawing.shapes if shape.name == "shoulder")
    size = float(np.hypot(*(edge.points[-1] - edge.points[0])))
    return size - np.hypot(135.0, 28.0), edge.known_to


def asked_for(drawing):
    return [note for note in drawing.notes if "bends more and more" in note]


@pytest.mark.parametrize("square", [True, False], ids=["square", "ellipse"])
def test_a_shoulder_beside_a_back_neck_is_as_sure_as_told(square):
    """Two sigma hold 95 of a hundred: of 12 seldom less than 10. What is needed is asked for."""
    neck = back_neck(square=square)
    drawings = [pricked_back(neck, seed, short=(3.0, 8.0)) for seed in range(12)]
    off, known = np.array([shoulder_of(drawing) for drawing in drawings]).T
    assert (np.abs(off) <= known).sum() >= 10
    assert np.median(known) < 3.5
    assert abs(off.mean()) < 1.8
    asked = [note for drawing in drawings for note in asked_for(drawing)]
    assert len(asked) >= 6
    start = "'neck' bends more and more towards its corner with 'shoulder', "
    assert all(note.startswith(start) and "mm before its first prick" in note for note in asked)
    assert all("prick 'neck' up to it, or measure 'shoulder'" in note for note in asked)


def test_a_back_neck_pricked_up_to_its_corner_leaves_nothing_to_ask():
    neck = back_neck(square=False)
    drawings = [pricked_back(neck, seed, short=(0.0, 1.0)) for seed in range(4)]
    off, known = np.array([shoulder_of(drawing) for drawing in drawings]).T
    assert (np.abs(off) <= known).sum() >= 3
    assert known.max() < 1.5
    assert not any(asked_for(drawing) for drawing in drawings)
