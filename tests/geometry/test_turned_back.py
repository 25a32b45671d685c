"""Ends of an allowance that is folded over. Reference: reflection in the fold, by shapely."""

import itertools

import numpy as np
import pytest
import shapely
from shapely.affinity import rotate, scale, translate
from shapely.geometry import Polygon, box

from plotout.geometry.offset import cutting_line
from plotout.geometry.sides import Bordered


def arc(centre, radius, start, end, count=60):
    turn = np.radians(np.linspace(start, end, count))
    return np.asarray(centre) + radius * np.column_stack([np.cos(turn), np.sin(turn)])


@pytest.mark.parametrize("lean", [-25.0, -10.0, 0.0, 10.0, 25.0])
@pytest.mark.parametrize("first", [True, False])
def test_a_turned_back_hem_lies_under_the_piece(lean, first):
    # by reflection: the hem's allowance, folded up, must fill just what the piece has there
    ring = np.array([[0, 0], [100, 0], [100 + lean, 100], [-lean, 100], [0, 0]], float)
    edges = [
        Bordered(ring[0:2], (30.0, 30.0), "turned back", folds=True),
        Bordered(ring[1:3], (12.0, 12.0), "turned back", folds=False),
        Bordered(ring[2:4], (12.0, 12.0)),
        Bordered(ring[3:5], (12.0, 12.0)),
    ]
    if not first:  # the same, numbered from another corner
        edges = edges[1:] + edges[:1]
    card = Polygon(cutting_line(edges))
    assert card.bounds[1] == pytest.approx(-30.0)
    hem = card.intersection(box(-200, -30, 300, 0))
    folded_up = scale(hem, 1, -1, origin=(0, 0))
    under = card.intersection(box(-200, 0, 300, 30))
    assert folded_up.symmetric_difference(under).area < 1e-6 * under.area


def test_a_turned_back_hem_on_a_curved_side():
    side = arc((200, 50), 111.8033988749895, 206.56505117707798, 153.43494882292202)
    ring = np.vstack([[[0, 0]], side, [[0, 100], [0, 0]]])
    edges = [
        Bordered(ring[:2], (30.0, 30.0), "turned back"),
        Bordered(side, (12.0, 12.0), "turned back", folds=False),
        Bordered(ring[-3:-1], (12.0, 12.0)),
        Bordered(ring[-2:], (0.0, 0.0)),
    ]
    card = Polygon(cutting_line(edges))
    hem = scale(card.intersection(box(-200, -30, 300, 0)), 1, -1, origin=(0, 0))
    under = card.intersection(box(-200, 0, 300, 30))
    assert hem.symmetric_difference(under).area < 0.5  # the curve of 30 mm, flattened


@pytest.mark.parametrize("over", [1.0, -1.0])
def test_a_facing_wider_than_the_neck_ends_under_the_shoulder(over):
    """By reflection: folded, it fills what the piece has there. The neck is 50 mm, it is 80.

    over: -1 for the same piece turned over, on which the neck comes after the facing.
    """
    ring = np.array([[0, 0], [200, 0], [200, 260], [50, 300], [0, 240], [0, 0]], float)
    ring = ring if over > 0 else ring[::-1] * [-1.0, 1.0]
    facing = 4 if over > 0 else 0
    corners = {facing: True, (facing + 1) % 5: False}  # it folds; the side after it does not
    edges = [
        Bordered(
            ring[k : k + 2],
            (80.0, 80.0) if k == facing else (10.0, 10.0),
            "turned back" if k in corners else "mitre",
            folds=corners.get(k, True),
        )
        for k in range(5)
    ]
    card = Polygon(cutting_line(edges))
    right, left = box(0, -20, 80, 400), box(-80, -20, 0, 400)
    folded, under = (left, right) if over > 0 else (right, left)
    folded, under = scale(card & folded, -1, 1, origin=(0, 0)), card & under
    assert folded.symmetric_difference(under).area < 1e-6 * under.area


@pytest.mark.parametrize("over", [1.0, -1.0])
@pytest.mark.parametrize(
    "neck",
    [
        [[95, 690], [20, 610]],
        [20, 690]
        + [75, -80] * np.cos(np.radians(np.linspace(0, 90, 60)))[:, None] * [1, 0]
        + [0, -80] * np.sin(np.radians(np.linspace(0, 90, 60)))[:, None],
        [[95, 560], [20, 610]],
    ],
)
def test_a_facing_ends_under_the_neck_past_a_short_lapel(over, neck):
    """By reflection: an 80 mm facing beside a lapel of 20 mm fills what the piece has there."""
    front = [[[0, 600], [0, 0]], [[0, 0], [300, 0]], [[300, 0], [235, 700]], [[235, 700], neck[0]]]
    lines = [np.asarray(line, float) for line in (*front, neck, [neck[-1], [0, 600]])]
    corners = {0: True, 1: False}
    if over < 0:  # turned over, so that the lapel comes after the facing
        lines = [line[::-1] * [-1.0, 1.0] for line in lines[::-1]]
        corners = {5: True, 0: False}
    edges = [
        Bordered(
            line,
            (80.0, 80.0) if k == (0 if over > 0 else 5) else (10.0, 10.0),
            "turned back" if k in corners else "mitre",
            folds=corners.get(k, True),
        )
        for k, line in enumerate(lines)
    ]
    card = Polygon(cutting_line(edges))
    right, left = box(0, 20, 80, 800), box(-80, 20, 0, 800)
    folded, under = (left, right) if over > 0 else (right, left)
    folded, under = scale(card & folded, -1, 1, origin=(0, 0)), card & under
    assert folded.symmetric_difference(under).area < 0.5  # was 300 mm2 and more


def chain(*corners):
    return [[one, other] for one, other in itertools.pairwise(corners)]


def round_neck(edges):
    """A quarter of 90 mm, from its top to the front's fold, in as many edges."""
    t = np.radians(np.linspace(0.0, -90.0, 60 * edges + 1))
    points = np.column_stack([90.0 * np.cos(t), 690.0 + 90.0 * np.sin(t)])
    return [points[60 * k : 60 * k + 61] for k in range(edges)]


def front(*neck):
    """Return a front's sides from its fold, x = 0, round to that: hem, side, armhole, neck."""
    up = chain((0, 600), (0, 0), (300, 0), (290, 420), tuple(neck[0][0]))
    return [*up, *neck]


def folded(lines, wide, allowance=10.0):
    """Return what is folded over the first side, reflected, and what the piece has under it.

    Both of its corners are turned back; the piece is turned so that the side runs along y = 0.
    """
    lines = [np.asarray(line, float) for line in lines]
    sides = [
        Bordered(
            line,
            (wide, wide) if k == 0 else (allowance, allowance),
            "turned back" if k < 2 else "mitre",
            folds=k == 0,
        )
        for k, line in enumerate(lines)
    ]
    along = lines[0][1] - lines[0][0]
    card = translate(Polygon(cutting_line(sides)), *-lines[0][0])
    card = rotate(card, -np.degrees(np.arctan2(along[1], along[0])), origin=(0, 0))
    middle = shapely.Point(np.hypot(*along) / 2.0, 0.0).buffer(1.0)
    halves = [card & box(-2e3, -2e3, 2e3, 0), card & box(-2e3, 0, 2e3, wide)]
    over, under = (
        next(part for part in shapely.get_parts(half) if part.intersects(middle)) for half in halves
    )
    return scale(over, 1, -1, origin=(0, 0)), under


FRONTS = {
    "lapel and neck": front(*chain((235, 650), (60, 700), (40, 640), (20, 610), (0, 600))),
    "neck going down": front(*chain((235, 650), (160, 600), (75, 660), (20, 610), (0, 600))),
    "down, then up": front(*chain((235, 650), (120, 660), (40, 590), (20, 610), (0, 600))),
    "steps": front(
        *chain((235, 650), (70, 650), (70, 630), (45, 630), (45, 610), (20, 610), (20, 600)),
        [(20, 600), (0, 600)],
    ),
    "round neck": front([(235, 650), (90, 690)], *round_neck(6)),
    "V in three": front(*chain((235, 650), (120, 720), (80, 670), (40, 640), (0, 600))),
    "vent's step": chain((0, 0), (200, 0), (200, 30), (160, 30), (160, 200), (0, 200), (0, 0)),
    "step out": chain((0, 0), (200, 0), (200, 30), (240, 30), (240, 200), (0, 200), (0, 0)),
    "placket": chain(
        (0, 0), (200, 0), (200, 20), (215, 20), (215, 40), (200, 40), (200, 120), (0, 120), (0, 40),
        (-25, 40), (-25, 10), (0, 0),
    ),
    "edges of 5 mm": chain(
        (0, 0),
        *((200 + 4 * np.sin(k), 5 * k) for k in range(15)),
        (190, 200),
        (0, 200),
        *((4 * np.sin(k), 5 * k) for k in range(14, -1, -1)),
    ),
    "slit": chain(
        (0, 0), (200, 0), (205, 20), (200, 40), (199, 300), (110, 300), (105, 30), (100, 30),
        (95, 300), (0, 300), (0, 0),
    ),
}  # fmt: skip


@pytest.mark.parametrize("over", [False, True])
@pytest.mark.parametrize("wide", [30.0, 75.0])
@pytest.mark.parametrize("lines", FRONTS.values(), ids=FRONTS)
def test_what_is_folded_over_is_the_mirror_image_past_any_number_of_edges(lines, wide, over):
    if over:  # turned over, the fold first
        lines = [np.asarray(line)[::-1] * [-1.0, 1.0] for line in (lines[0], *lines[:0:-1])]
    flap, under = folded(lines, wide)
    assert flap.symmetric_difference(under).area < 1e-4 * under.area


def test_an_allowance_wider_than_the_piece_is_deep_follows_it_to_its_top():
    """The top is 74 mm up and 20.4 mm wide; from there 6 mm more run straight on."""
    lines = chain(
        (0, 0), (200, 0), (180, 20), (170, 55), (110, 62), (90, 62), (20, 50), (10, 20), (0, 0)
    )
    flap, under = folded(lines, 80.0, 12.0)
    assert under.difference(flap).area < 0.01
    top = [x for x, y in under.exterior.coords if y > 73.999]
    assert flap.difference(under).area == pytest.approx((max(top) - min(top)) * 6.0, abs=0.01)


@pytest.mark.parametrize("wide", [1.0, 2.0, 5.0, 15.0])
def test_a_narrow_hem_beside_a_slanted_side_keeps_to_its_own_width(wide):
    """The side leans in by 20 degrees, and its mirror image meets the hem's line far past it."""
    corners = np.array([[0, 0], [240, 0], [240, 560], [210, 640], [80, 670], [0, 650]], dtype=float)
    widths = [25.0, wide, 10.0, 10.0, 10.0, 0.0]
    kinds = ["mitre", "turned back", "turned back", "mitre", "mitre", "mitre"]
    sides = [
        Bordered(
            np.vstack([corners[k], corners[(k + 1) % 6]]),
            (widths[k], widths[k]),
            kinds[k],
            folds=k != 2,
            on_fold=k == 5,
        )
        for k in range(6)
    ]
    _, low, right, top = shapely.Polygon(cutting_line(sides)).bounds
    assert right == pytest.approx(240.0 + wide, abs=1e-6)
    assert low == pytest.approx(-25.0, abs=1e-6)
    assert top < 690.0


def test_an_image_that_meets_only_the_hems_other_end_is_not_followed():
    """Such a card was cut twice as large."""
    corners = [[-275.4, -143.8], [-209.6, -142.6], [136.1, -119.4], [245.2, -15.2], [189.6, -1.0]]
    points, widths = np.array(corners), [5.0, 10.0, 10.0, 10.0, 5.0]
    sides = [
        Bordered(
            np.vstack([points[k], points[(k + 1) % 5]]),
            (widths[k], widths[k]),
            "turned back" if k < 2 else "mitre",
            folds=k == 0,
        )
        for k in range(5)
    ]
    line = shapely.Polygon(cutting_line(sides))
    grown = shapely.Polygon(points).buffer(10.0, join_style="mitre", mitre_limit=4.0)
    assert line.area < 1.1 * grown.area
