"""What is told of the strips' own scale: marks put where plane geometry has them, no picture."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
import render
from plotout_photo.camera import lens, scanner
from plotout_photo.marks import Seen
from plotout_photo.scale import printed
from plotout_photo.solve import alone

DOTS = 150 / 25.4  # pixels per mm
STRIPS = {
    1: (0.0, 20.0, 300.0),
    2: (90.0, 330.0, 40.0),
    3: (182.0, 260.0, 30.0),
    4: (-88.0, 0, 260),
}


class Spots(SimpleNamespace):
    """The spots of a picture, as far as they are joined."""

    def __len__(self):
        return len(self.at)


def marks(see, stretch=(1.0, 1.0), odd=None):
    """Return the marks of the strips, seen by a function from mm to pixels, printed stretched.

    odd: a strip that is so, if only one is.
    """
    made = []
    for strip, (angle, x, y) in STRIPS.items():
        cos, sin = np.cos(np.radians(angle)), np.sin(np.radians(angle))
        for nth in range(6):
            own = np.array([38.0 * nth, 0.0]) + 28.0 * np.array([[0, 1], [1, 1], [1, 0], [0, 0.0]])
            own = own * (stretch if odd in (None, strip) else (1.0, 1.0))
            corners = see(own @ np.array([[cos, sin], [-sin, cos]]) + [x, y])
            share = np.linspace(0.05, 0.95, 20)[:, None]
            ends = zip(corners, np.roll(corners, -1, axis=0), strict=True)
            edges = tuple(a + share * (b - a) for a, b in ends)
            made.append(Seen(6 * (strip - 1) + nth, corners, edges, (2.0,) * 4))
    return made


@pytest.mark.parametrize(("longer", "told"), [(0.015, True), (-0.02, True), (0.002, False)])
def test_a_scan_whose_resolution_contradicts_the_strips_is_told(longer, told):
    seen = marks(lambda mm: mm * [1.0, -1.0] * DOTS + [200.0, 2300.0], (1 + longer, 1 + longer))
    solution, _ = alone(scanner((2600, 2600), DOTS), seen)
    found = printed(solution, [SimpleNamespace(marks=seen)])
    assert found.longer[0] == pytest.approx(longer, abs=1e-4)
    assert bool(found.contradicted) == told
    assert found.doubt == pytest.approx(abs(longer) if told else 0.0, abs=1e-4)


def tilted(mm, height=0.0):
    """A pinhole, tilted 25 degrees: rays through a plane, or places higher than it, mm."""
    cos, sin = np.cos(np.radians(25.0)), np.sin(np.radians(25.0))
    x, y = (mm - [170.0, 170.0]).T
    deep = 900.0 + sin * y - cos * height
    up = cos * y + sin * height
    return np.column_stack([3000.0 * x / deep + 2000.0, -3000.0 * up / deep + 1500.0])


def test_the_lift_of_the_paper_makes_the_table_no_smaller():
    """Three pictures from different sides, of paper that lifts by 1 mm, and of pricks on it.

    No picture shows how large the whole is: what is expected of heights made it smaller than the
    strips say, by up to 0.04 %.
    """
    from plotout_photo.together import places, together

    rng = np.random.default_rng(5)
    pricks = rng.uniform([30.0, 50.0], [310.0, 290.0], (80, 2))
    raised = np.column_stack([pricks, 0.5 + 0.5 * np.sin(pricks[:, 0] / 60.0)])
    shots = []
    for azimuth in (10.0, 130.0, 250.0):
        cam = render.camera(rng, tilt=28.0, azimuth=azimuth, aim=(170.0, 170.0), reach=900.0)
        kind = lens((4000, 3000), cam.focal * 1.02, 0.3)
        seen = marks(lambda mm, cam=cam: cam.see(np.column_stack([mm, np.zeros(len(mm))])))
        seen_at = cam.see(raised) + rng.normal(0.0, 0.03, pricks.shape)
        shots.append(SimpleNamespace(
            kind=kind, marks=seen, solution=alone(kind, seen)[0],
            found=Spots(at=seen_at, sigma=np.full(80, 0.08)), sure=np.ones(80),
            outside=np.zeros(80, dtype=bool), scale=4.4, path=None,
        ))  # fmt: skip
    solution, tied = together(shots, [])
    assert len(tied) == 80
    at = places(solution, shots, tied)
    meant = pricks[[prick.spots[0] for prick in tied]]
    spans = [np.hypot(*(points - points.mean(axis=0)).T).sum() for points in (at, meant)]
    assert spans[0] / spans[1] == pytest.approx(1.0, abs=2e-5)


@pytest.mark.parametrize(("odd", "longer"), [(3, -0.008), (1, 0.005), (4, 0.012), (None, 0.004)])
def test_a_strip_that_contradicts_the_others_is_left_out_and_told(odd, longer):
    """Not where all are longer: nothing contradicts that."""
    from plotout_photo.odd import odd_one

    seen = marks(tilted, (1.0 + longer, 1.0 if odd else 1.0 + longer), odd)
    kind = lens((4000, 3000), 3000.0, 0.3)
    solution, _ = alone(kind, seen)
    found, without_one = odd_one(kind, seen, solution)
    assert not without_one
    if odd is None:
        assert found is None
        return
    assert found.strip == odd
    assert f"strip {odd} contradicts the others" in found.told
    assert found.longer == pytest.approx(longer, rel=0.06)
    assert odd not in found.solution.model.strips
    assert abs(found.solution.x[1]) < 1e-4


def test_a_strip_of_the_right_length_is_not_said_to_be_longer_than_meant():
    """The table beside two of its marks pulled one of their edges outwards by half a pixel."""
    from plotout_photo.odd import odd_one

    seen = marks(tilted)
    for index, mark in enumerate(seen):
        if mark.number in (12, 15):
            top = mark.edges[0] + 0.5 * (np.mean(mark.edges[0] - mark.edges[2], axis=0) > 0)
            seen[index] = replace(mark, edges=(top, *mark.edges[1:]))
    kind = lens((4000, 3000), 3000.0, 0.3)
    found, _ = odd_one(kind, seen, alone(kind, seen)[0])
    assert found is not None
    assert found.strip == 3
    assert "as long as meant" in found.told
    assert "longer" not in found.told


@pytest.mark.parametrize(("wrong", "refused"), [(0.0, False), (0.5, False), (2.1, True)])
def test_two_measured_distances_that_contradict_each_other_are_refused(wrong, refused):
    from plotout_photo.model import Known
    from plotout_photo.solve import run
    from plotout_photo.together import _check_agreed

    from plotout import UserError

    solution, _ = alone(lens((4000, 3000), 3000.0, 0.3), marks(tilted))
    left, right = (-11.0, -6.0), (229.0, -6.0)
    pairs = [((1, left), (2, right)), ((1, right), (4, left))]
    known = [Known(pair, solution.model.distance(solution.x, Known(pair, 1.0))) for pair in pairs]
    known[1] = replace(known[1], distance=known[1].distance + wrong)
    both = run(replace(solution.model, known=known), solution.x)
    if not refused:
        _check_agreed(both.model, both.x)
        return
    with pytest.raises(UserError, match="contradict each other"):
        _check_agreed(both.model, both.x)


def test_strips_of_two_prints_make_the_expected_error_hold_what_they_differ_by():
    """Two of four are 0.5 % small: none is the odd one, but lengths may be off by as much."""
    from plotout_photo.accuracy import Sights, disagreed
    from plotout_photo.odd import odd_one

    small = {mark.number: mark for mark in marks(tilted, (0.995, 0.995))}
    seen = [small[one.number] if one.number < 12 else one for one in marks(tilted)]
    kind = lens((4000, 3000), 3000.0, 0.3)
    solution, _ = alone(kind, seen)
    found, without_one = odd_one(kind, seen, solution)
    assert found is None
    assert len(without_one) == 4
    mm = np.array([[50.0, 60.0], [290.0, 60.0], [290.0, 280.0], [50.0, 280.0]])
    shot = SimpleNamespace(without_one=without_one)
    table = solution.table(0, tilted(mm))
    off = disagreed([shot], Sights(4, [np.arange(4)], [tilted(mm)], [np.ones(4)]), table)
    spans = [np.hypot(*np.diff(at[[0, 2]], axis=0)[0]) for at in (table, mm)]
    assert abs(spans[0] - spans[1]) < 2.0 * np.hypot(off[0], off[2])
    assert off.min() > 0.1


@pytest.mark.parametrize("wide", [0.012, -0.006, 0.0])
def test_a_print_that_contradicts_itself_is_no_truer_than_that(wide):
    seen = marks(tilted, (1.0, 1.0 + wide))
    solution, _ = alone(lens((4000, 3000), 3000.0, 0.3), seen)
    found = printed(solution, [SimpleNamespace(marks=seen)])
    assert found.wider == pytest.approx(wide, abs=2e-4)
    assert found.stretched == bool(wide)
    assert found.doubt == pytest.approx(abs(wide), abs=2e-4)


@pytest.mark.parametrize("thick", [0.7, 1.6])
def test_strips_of_card_beside_the_sheet_give_true_lengths_if_their_thickness_is_given(thick):
    """The marks lie higher than the paper: nearer to a camera, they are seen larger."""
    kind = lens((4000, 3000), 3000.0, 0.3)
    corners = np.array([[50.0, 60.0], [290.0, 60.0], [290.0, 280.0], [50.0, 280.0]])

    def span(thickness):
        solution, _ = alone(kind, marks(lambda mm: tilted(mm, thick)), thickness)
        table = solution.table(0, tilted(corners))
        return float(np.hypot(*(table[0] - table[2])))

    true = float(np.hypot(*(corners[0] - corners[2])))
    assert span(thick) == pytest.approx(true, rel=1e-5)
    assert span(0.0) / true - 1.0 == pytest.approx(-thick / 900.0, rel=0.3)


@pytest.mark.parametrize("flat", [False, True])
def test_a_camera_s_slopes_are_those_of_small_differences(flat):
    """Of a tilted lens with distortion, and of a scanner (differential calculus)."""
    from plotout_photo.camera_slopes import slopes

    if flat:
        kind, values = scanner((3000, 2000), 11.8), np.array([3.0, 4.0, 0.2, 2.4, 2.5, 0.01])
    else:
        kind = replace(lens((4000, 3000), 3000.0, 0.3), pivot=np.array([100.0, 50.0, 0.0]))
        values = np.array([2.9, 0.2, 0.1, 0.02, -0.03, -1.2, 8.0, 0.01, -0.01, 0.1, -0.05, 0.02,
                           0.001, -0.002])  # fmt: skip
    world = np.random.default_rng(1).uniform([-200, -200, -1], [400, 400, 1], (20, 3))
    by_value, by_place = slopes(kind, values, world)
    for k, step in enumerate(1e-6 * np.eye(len(values))):
        near = (kind.see(values + step, world) - kind.see(values - step, world)) / 2e-6
        assert by_value[:, :, k] == pytest.approx(near, rel=1e-5, abs=1e-5 * np.abs(near).max())
    for k, step in enumerate(1e-4 * np.eye(3)):
        near = (kind.see(values, world + step) - kind.see(values, world - step)) / 2e-4
        assert by_place[:, :, k] == pytest.approx(near, rel=1e-5, abs=1e-6)


def test_the_solution_is_that_of_scipy_s_robust_loss(surveyed):
    """`least_squares` with its own `soft_l1`, from a start that is off; some marks lie far off."""
    from plotout_photo.solve import run
    from scipy.optimize import least_squares

    model, x = surveyed.solution.model, surveyed.solution.x
    view = model.views[0]
    moved = view.corners.copy()
    moved[::7] += 4.0  # pixels
    model = replace(model, views=[replace(view, corners=moved)])
    begun = x + 1e-3 * np.random.default_rng(3).standard_normal(len(x))
    loss = {"loss": "soft_l1", "f_scale": 3.0, "x_scale": "jac", "method": "trf"}
    theirs = least_squares(model.residuals, begun, **loss, ftol=1e-14, xtol=1e-14, gtol=1e-14)
    ours = run(model, begun)
    pixels = np.array([[500.0, 500.0], [3500.0, 600.0], [2000.0, 2500.0]])
    meant = replace(ours, x=theirs.x).table(0, pixels)
    assert ours.table(0, pixels) == pytest.approx(meant, abs=1e-3)  # mm
