"""How sure lengths are, and ends that the pricks contradict: by simulation and by geometry."""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from plotout_pricks.asked_ends import contradicted
from plotout_pricks.bend import Tails
from plotout_pricks.continued import bent_to, beyond
from plotout_pricks.corners import joined_up
from plotout_pricks.outline import outline
from plotout_pricks.rivals import taken_otherwise
from plotout_pricks.table import Pricks, Table
from plotout_pricks.tidy import Tidy
from plotout_pricks.variants import Fitted
from scipy.interpolate import make_smoothing_spline
from scipy.stats import chi2

from plotout.geometry.evidence import SCATTERS
from plotout.geometry.strays import Explanation, Strays, Suspect
from plotout.geometry.sureness import two_sigma
from plotout.kit import End, Hand, StraightLine, fit_line, likely_lines

CORNERS = np.array([[0.0, 0.0], [240.0, 0.0], [240.0, 90.0], [0.0, 90.0]])
TRUE = np.array([240.0, 90.0, 240.0, 90.0])


def rectangle(seed, pricks, scatter):
    """Return what is told of a rectangle's four lengths, and how far off they are, mm."""
    rng = np.random.default_rng(seed)
    fits = []
    for k, start in enumerate(CORNERS):
        share = np.linspace(0.06, 0.94, pricks)[:, None]
        points = start + (CORNERS[(k + 1) % 4] - start) * share
        points += rng.normal(0.0, scatter, points.shape)
        run = Pricks(f"edge {k}", "straight", points, 1, tuple(range(pricks)))
        fits.append(Fitted(run, line=fit_line(points)))
    joined = joined_up(fits, Path("rectangle.csv"))
    lines, known_to = [run.points for run in joined], [run.known_to for run in joined]
    sizes = np.array([np.hypot(*(line[1] - line[0])) for line in lines])
    return known_to, np.abs(sizes - TRUE)


@pytest.mark.parametrize("pricks", [4, 6])
def test_straights_of_few_pricks_are_known_as_well_as_is_told(pricks):
    """Of twenty lengths one may lie further off: here 8 of 160 are expected, 16 at most.

    Lines between lines whose errors were drawn alike held in 85 of a hundred only.
    """
    made = [rectangle(seed, pricks, 0.2) for seed in range(40)]
    told, off = (np.array(each) for each in zip(*made, strict=True))
    assert (off <= told).mean() >= 0.9
    assert np.median(told) < 2.5 * 2.0 * np.sqrt((off**2).mean())


@pytest.mark.parametrize(("chance", "told"), [(0.02, False), (0.1, True), (0.5, True)])
def test_a_rival_of_a_line_makes_its_neighbours_as_uncertain_as_they_would_change(chance, told):
    """A rectangle's edge may lie 5 mm further in: both its neighbours are 5 mm shorter then.

    Pricked exactly, so that only 15 % is added, for what the draws don't foresee. Two sigma hold
    95.4 of a hundred: what has a chance of 2 % is not among them, what has 10 or 50 % is.
    """
    fits = []
    for k, start in enumerate(CORNERS):
        points = start + (CORNERS[(k + 1) % 4] - start) * np.linspace(0.06, 0.94, 6)[:, None]
        run = Pricks(f"edge {k}", "straight", points, 1, tuple(range(6)))
        fits.append(Fitted(run, line=fit_line(points)))
    sure = [run.known_to for run in joined_up(fits, Path("rectangle.csv"))]
    at = fits[1].line.at - [5.0, 0.0]
    moved = replace(fits[1].run, points=fits[1].run.points - [5.0, 0.0])
    rival = replace(fits[1], run=moved, line=replace(fits[1].line, at=at), chance=chance)
    fits[1] = replace(fits[1], rivals=(rival,))
    unsure = [run.known_to for run in joined_up(fits, Path("rectangle.csv"))]
    assert max(sure) < 0.5
    assert np.allclose(np.subtract(unsure, sure)[1::2], 0.0, atol=0.1)
    assert (np.abs(np.array(unsure)[0::2] - (6.0 if told else 0.0)) < 1.0).all()


@pytest.mark.thorough
def test_a_side_beside_a_curve_with_a_stray_is_known_as_well_as_it_is_off():
    """An S of 12 pricks, of which one lies 3 to 8 mm off: the side is 250 mm long.

    Two sigma hold 95 of a hundred lengths (of 40 seldom less than 36), and not all of them by far:
    a stray found elsewhere does not make the curve's end unknown.
    """
    off, known = [], []
    for seed in range(40):
        runs, _ = piece(seed, 12, 0.3, s_curve)
        rng = np.random.default_rng([seed, 7])
        points, index = runs[2].points.copy(), int(rng.integers(12))
        along = points[min(index + 1, 11)] - points[max(index - 1, 0)]
        aside = np.array([-along[1], along[0]]) / np.hypot(*along)
        points[index] += aside * rng.choice([-1.0, 1.0]) * rng.uniform(3.0, 8.0)
        runs[2] = replace(runs[2], points=points)
        side = outline(Table(tuple(runs), ()), Path("s.csv"), {}).shapes[1]
        off.append(abs(np.hypot(*np.diff(side.points, axis=0).T).sum() - 250.0))
        known.append(side.known_to)
    assert (np.array(off) <= known).sum() >= 36
    assert np.median(known) < 3.0 * np.quantile(off, 0.9)


def test_a_side_is_known_as_well_as_it_is_off_where_a_curves_last_prick_is_missing():
    """An S of 12 pricks without its first, 30 mm from the side: the side is 250 mm long.

    Led on straight, since it turns back by as much as it turned, while its end bends on; but no
    further than to the side's own last prick, which was 16 mm off without that.
    """
    off, known = [], []
    for seed in range(20):
        runs, _ = piece(seed, 12, 0.3, s_curve)
        runs[2] = replace(runs[2], points=runs[2].points[1:], lines=tuple(range(11)))
        side = outline(Table(tuple(runs), ()), Path("s.csv"), {}).shapes[1]
        off.append(abs(np.hypot(*np.diff(side.points, axis=0).T).sum() - 250.0))
        known.append(side.known_to)
    assert (np.array(off) <= known).mean() >= 0.9
    assert np.quantile(off, 0.9) < 8.0
    assert np.median(known) < 2.5 * np.quantile(off, 0.9)


@pytest.mark.parametrize("rise", [10.0, 20.0, 39.0])
def test_a_curve_called_straight_is_not_known_better_than_it_would_change(rise):
    """A piece 200 x 250 mm with a top that rises by so much: an arc; its sides remain 250."""
    rng = np.random.default_rng(int(rise))
    radius = (100.0**2 + rise**2) / (2.0 * rise)
    half = np.arcsin(100.0 / radius) * np.linspace(0.92, -0.92, 14)
    arc = [100.0, 250.0 + rise - radius] + radius * np.column_stack([np.sin(half), np.cos(half)])
    corners = np.array([[0.0, 0.0], [200.0, 0.0], [200.0, 250.0], [0.0, 250.0], [0.0, 0.0]])
    runs = []
    for k, name in enumerate(("hem", "side", "top", "cf")):
        share = np.linspace(0.05, 0.95, 6)[:, None]
        points = arc if name == "top" else corners[k] + (corners[k + 1] - corners[k]) * share
        points = points + rng.normal(0.0, 0.3, points.shape)
        runs.append(Pricks(name, "straight", points, 1, tuple(range(len(points)))))
    shapes = {s.name: s for s in outline(Table(tuple(runs), ()), Path("t.csv"), {}).shapes}
    true = {"hem": 200.0, "side": 250.0, "top": 2.0 * radius * np.arcsin(100.0 / radius)}
    for name, length in true.items():
        own = float(np.hypot(*np.diff(shapes[name].points, axis=0).T).sum())
        assert abs(own - length) <= shapes[name].known_to, name


def test_a_curve_is_led_on_with_its_bend_but_no_sharper_than_it_bends_on_average():
    """A circle goes on as a circle; an S, which turns back by as much as it turned, straight on."""
    turn = np.linspace(0.0, 1.2, 601)[:, None]
    circle = 80.0 * np.hstack([np.cos(turn), np.sin(turn)])
    ahead = beyond(Tails(circle[None]))[0]
    near = ahead[np.hypot(*(ahead - circle[-1]).T) < 20.0]
    assert np.abs(np.hypot(*near.T) - 80.0).max() < 0.1
    steps = 0.2 * np.column_stack([np.cos(0.8 * np.cos(5.0 * turn.ravel())),
                                   np.sin(0.8 * np.cos(5.0 * turn.ravel()))])  # fmt: skip
    wave = np.cumsum(steps[: round(600 * np.pi * 2 / 5 / 1.2)], axis=0)
    ahead = beyond(Tails(wave[None]))[0]
    assert np.abs(np.diff(np.arctan2(*np.diff(ahead, axis=0).T))).max() < 1e-3


def test_a_line_is_bent_to_its_corner_without_a_kink():
    """Moved by 1 mm aside over 20 mm, it turns by atan(2 * 1 / 20) at most: the square's slope."""
    line = np.column_stack([np.linspace(0.0, 100.0, 51), np.zeros(51)])
    bent = bent_to(np.array([100.0, 1.0]), line)
    assert np.hypot(*(bent[-1] - [100.0, 1.0])) < 1e-12
    turned = np.degrees(np.arctan2(*np.diff(bent, axis=0).T[::-1]))
    assert turned.max() <= np.degrees(np.arctan(0.1)) + 0.01
    assert np.abs(bent[bent[:, 0] < 80.0, 1]).max(initial=0.0) < 0.006


@pytest.mark.parametrize(
    ("left_out", "explained", "rivals"),
    [
        ((), {(): 1.0}, {}),
        ((), {(): 0.998, (5,): 0.002}, {}),  # too seldom to count
        ((), {(): 0.994, (5,): 0.004, (11,): 0.002}, {(5,): 0.004, (11,): 0.002}),  # at its end
        ((), {(): 0.7, (0,): 0.2, (4, 5): 0.1}, {(0,): 0.2, (4, 5): 0.1}),
        ((5,), {(5,): 0.9, (): 0.06, (0, 5): 0.04}, {(): 0.06, (0, 5): 0.04}),
        ((10,), {(10,): 0.97, (11,): 0.03}, {(11,): 0.3}),  # the outermost in its stead
        ((), {tuple(range(9)): 0.5, (): 0.5}, {}),  # three pricks show no curve
    ],
)
def test_all_that_explains_a_curves_pricks_otherwise_is_reckoned_with(left_out, explained, rivals):
    """By hand, of 12 pricks."""
    points = np.column_stack([np.arange(12.0) * 20.0, np.zeros(12)])
    tidy = Tidy(Pricks("top", "curve", points, 1, tuple(range(12))), tuple(range(1, 13)))
    judged = Strays(
        {n: Suspect(7.0, 0.9) for n in left_out},
        {},
        explanations=tuple(Explanation(some, chance) for some, chance in explained.items()),
    )
    assert {one.strayed: one.chance for one in taken_otherwise(tidy, judged)} == rivals


@pytest.mark.parametrize("strays", [0, 1])
def test_a_line_of_which_a_prick_may_have_strayed_makes_its_neighbours_less_sure(strays):
    """A side of 5 pricks, of which the first lies 5 mm off: it may be the first or the second.

    By simulation, sides of 50 pieces: the hem's true length is within the two sigma of 19 in 20.
    """
    within = []
    for seed in range(50):
        rng = np.random.default_rng(seed)
        corners = np.array([[0, 0], [244, 12], [256, 256], [0, 300.0]])
        runs = []
        for k, count in enumerate((5, 5, 8, 8)):
            share = np.linspace(0.04, 0.96, count)[:, None]
            at = corners[k] + (corners[(k + 1) % 4] - corners[k]) * share
            at += rng.normal(0.0, 0.3, at.shape)
            if k == 1 and strays:
                at[0, 0] += rng.choice([-1.0, 1.0]) * rng.uniform(3.0, 6.0)
            runs.append(Pricks(f"r{k}", "straight", at, 1, tuple(range(count))))
        hem = outline(Table(tuple(runs), ()), Path("a.csv"), {}).shapes[0]
        off = float(np.hypot(*np.diff(hem.points, axis=0).T).sum()) - np.hypot(244, 12)
        within.append(abs(off) <= hem.known_to)
    assert np.mean(within) >= 0.9


def s_curve(rng, t):
    """Return an S of one cubic Bezier curve that meets both its neighbours at an angle."""
    ends = [[200.0, 250.0], [130.0, 250.0 + rng.uniform(-60.0, -20.0)],
            [80.0, 330.0 + rng.uniform(0.0, 40.0)], [0.0, 300.0]]  # fmt: skip
    shares = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3)
    return sum(share * np.array(end) for share, end in zip(shares, ends, strict=True))


def quarter_ellipse(rng, t):
    """Return a quarter of an ellipse that meets its side smoothly."""
    turn, high = t * np.pi / 2.0, rng.uniform(80.0, 160.0)
    return np.hstack([200.0 * np.cos(turn), 120.0 + high * np.sin(turn)])


def piece(seed, pricks, scatter, curve):
    """Return a piece's runs, of which `top` is a curve; its true length."""
    rng, t = np.random.default_rng([seed, pricks]), np.linspace(0.0, 1.0, 4001)[:, None]
    top = curve(rng, t)
    corners = np.array([[0.0, 0.0], [200.0, 0.0], top[0], top[-1], [0.0, 0.0]])
    dense = [corners[k] + (corners[k + 1] - corners[k]) * t for k in range(4)]
    dense[2] = top
    runs = []
    for name, line in zip(("hem", "side", "top", "cf"), dense, strict=True):
        reached = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
        many = pricks if name == "top" else 6
        at = np.linspace(rng.uniform(8.0, 12.0), reached[-1] - rng.uniform(8.0, 12.0), many)
        at[1:-1] += rng.uniform(-0.4, 0.4, many - 2) * (at[1] - at[0])
        points = np.column_stack([np.interp(at, reached, axis) for axis in line.T])
        points += rng.normal(0.0, scatter, points.shape)
        kind = "curve" if name == "top" else "straight"
        runs.append(Pricks(name, kind, points, 1, tuple(range(many))))
    return runs, float(np.hypot(*np.diff(top, axis=0).T).sum())


def by_spline(runs):
    """Return the top's length by scipy's make_smoothing_spline, led on straight to its lines."""
    top = runs[2].points
    at = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(top, axis=0).T))])
    splines = [make_smoothing_spline(at, axis) for axis in top.T]
    inner = np.column_stack([spline(np.linspace(0.0, at[-1], 1500)) for spline in splines])
    length = float(np.hypot(*np.diff(inner, axis=0).T).sum())
    for run, end, sign in ((runs[1], 0.0, -1.0), (runs[3], at[-1], 1.0)):
        place, step = (np.array([float(s(end, n)) for s in splines]) for n in (0, 1))
        line, step = fit_line(run.points), sign * step / np.hypot(*step)
        length += float(((line.at - place) @ line.normal) / (step @ line.normal))
    return length


@pytest.mark.thorough
@pytest.mark.parametrize("pricks", [8, 14])
def test_an_s_is_led_on_to_its_corners_as_truly_as_by_a_smoothing_spline(pricks):
    """At most 1.2 times its error at the 95th of a hundred; led on by its end's bend: 2 to 3."""
    ours, spline, told = [], [], []
    for seed in range(40):
        runs, true = piece(seed, pricks, 0.3, s_curve)
        shapes = outline(Table(tuple(runs), ()), Path("s.csv"), {}).shapes
        top = next(shape for shape in shapes if shape.name == "top")
        ours.append(float(np.hypot(*np.diff(top.points, axis=0).T).sum()) - true)
        spline.append(by_spline(runs) - true)
        told.append(top.known_to)
    error, other = np.quantile(np.abs([ours, spline]), 0.95, axis=1)
    assert error <= 1.2 * other
    assert (np.abs(ours) <= told).mean() >= 0.9


@pytest.mark.thorough
@pytest.mark.parametrize("pricks", [8, 24])
def test_how_sure_a_curve_is_that_meets_its_side_smoothly(pricks):
    """Its corner is as well known as is said, and nearer than by a smoothing spline.

    The pricks end 8 to 12 mm before the corner, where the curve lies a millimetre off its side.
    """
    ours, spline, told = [], [], []
    for seed in range(40):
        runs, true = piece(seed, pricks, 0.6, quarter_ellipse)
        shapes = outline(Table(tuple(runs), ()), Path("q.csv"), {}).shapes
        top = next(shape for shape in shapes if shape.name == "top")
        ours.append(float(np.hypot(*np.diff(top.points, axis=0).T).sum()) - true)
        spline.append(by_spline(runs) - true)
        told.append(top.known_to)
    error, other = np.quantile(np.abs([ours, spline]), 0.95, axis=1)
    assert error <= 0.85 * other
    assert (np.abs(ours) <= told).mean() >= 0.95


def arc(degrees, scatter=0.1):
    """Return a run of 14 pricks on an arc of 80 mm that meets the line y = 0 at that angle."""
    heading = np.radians(degrees + np.linspace(4.0, 60.0, 14))
    points = 80.0 * np.column_stack([np.sin(heading), -np.cos(heading)])
    points -= 80.0 * np.array([np.sin(np.radians(degrees)), -np.cos(np.radians(degrees))])
    points += np.random.default_rng(1).normal(0.0, scatter, points.shape)
    return Pricks("neck", "curve", points, 1, tuple(range(14)))


@pytest.mark.parametrize(
    ("degrees", "square", "told"),
    [(90, True, ""), (68, True, "68"), (103, True, "77"), (0, False, ""), (25, False, "25")],
)
def test_an_end_that_its_pricks_contradict_is_told_with_its_angle(degrees, square, told):
    level = StraightLine(np.zeros(2), np.array([1.0, 0.0]))
    ends = [End(level, square=square), None]
    notes = [one.told({}) for one in contradicted(arc(degrees), ends, ("cf", "shoulder"))]
    assert len(notes) == bool(told)
    if told:
        kind = "square" if square else "tangent"
        assert f"made {kind} to 'cf' at its start" in notes[0]
        angle = float(notes[0].split(" degrees")[0].split()[-1])
        assert angle == pytest.approx(float(told), abs=2.0)
        bent = float(notes[0].split("bent by ")[1].split()[0])
        assert bent == pytest.approx(abs(angle - (90.0 if square else 0.0)), abs=1.0)
        assert f"leave out 'neck' in '{kind}'" in notes[0]


@pytest.mark.parametrize("scatter", [0.0, 0.2])
def test_a_contradicted_end_is_told_with_the_lengths_that_change(scatter):
    """A neck at 60 degrees to its centre line, made square: as the same pricks read without it."""
    turn = np.radians(np.linspace(60.0, 0.0, 401))
    neck = np.column_stack([np.cos(turn) - 0.5, np.sin(turn) - np.sin(turn[0])]) * 120.0
    far = neck[-1]
    corners = [neck[0], far, *np.add(far, [[80, 0], [80, -250]]), (neck[0, 0], far[1] - 250)]
    places = [neck[np.linspace(20, 380, 16).astype(int)]]
    for k in range(1, 5):
        step = corners[(k + 1) % 5] - np.asarray(corners[k])
        places.append(corners[k] + step * np.linspace(0.06, 0.94, 12)[:, None])
    rng = np.random.default_rng(3)
    names = ("neck", "shoulder", "side", "hem", "cf")
    runs = tuple(
        Pricks(name, "straight" if k else "curve", at + rng.normal(0.0, scatter, at.shape), 1,
               tuple(range(len(at))))
        for k, (name, at) in enumerate(zip(names, places, strict=True))
    )  # fmt: skip
    sizes = []
    for pick in ({}, {"square": ["neck start"]}):
        made = outline(Table(runs, ()), Path("front.csv"), pick)
        sizes.append([np.hypot(*np.diff(e.points, axis=0).T).sum() for e in made.shapes])
    by = dict(zip(names, np.subtract(sizes[1], sizes[0]), strict=True))
    (note,) = [note for note in made.notes if "is made square" in note]
    told = dict(re.findall(r"'(\w+)' ([\d.]+ mm (?:longer|shorter))", note.split("makes")[1]))
    assert {"neck", "cf"} <= {*told} <= {"neck", "cf", "shoulder"}
    for name, (size, _, way) in {name: words.split() for name, words in told.items()}.items():
        assert float(size) == pytest.approx(abs(by[name]), abs=0.3)
        assert way == ("longer" if by[name] > 0.0 else "shorter") or abs(by[name]) < 0.3
    assert min(abs(by["neck"]), abs(by["cf"])) > 0.5


@pytest.mark.parametrize(("scatter", "freedom"), [(0.6, 57), (0.3, 4), (0.1, 20)])
def test_a_hand_is_likely_no_steadier_by_the_chi_squared_of_its_pricks(scatter, freedom):
    """Reference: scipy's chi2, of the sum of squares by each scatter; above its own, all alike."""
    squares = freedom * scatter**2
    by_scatter = chi2.logpdf(squares / SCATTERS**2, freedom) - 2.0 * np.log(SCATTERS)
    most = chi2.logpdf(freedom, freedom) - 2.0 * np.log(scatter)
    wanted = np.where(scatter > SCATTERS, by_scatter - most, 0.0)
    assert Hand(scatter, freedom).steadier() == pytest.approx(wanted, rel=1e-9, abs=1e-9)
    assert not Hand(0.0, 0).steadier().any()


@pytest.mark.parametrize(("scatter", "freedom"), [(0.6, 57), (0.3, 4)])
def test_a_straight_is_likely_pricked_as_the_others_by_the_spread_of_their_scatter(
    scatter, freedom
):
    """Of one that differs by a quarter: its logarithm's variance is that plus the hand's own.

    Reference: scipy's chi2, of as many freedoms as have that variance in all (1 / 2 freedom each).
    """
    spread = 1.0 / (2.0 * freedom) + 0.25**2
    few = 1.0 / (2.0 * spread)
    by_scatter = chi2.logpdf(few * scatter**2 / SCATTERS**2, few) - 2.0 * np.log(SCATTERS)
    most = chi2.logpdf(few, few) - 2.0 * np.log(scatter)
    wanted = by_scatter - most
    assert Hand(scatter, freedom).alike() == pytest.approx(wanted, rel=1e-9, abs=1e-9)
    assert not Hand(0.0, 0).alike().any()


@pytest.mark.parametrize(("own", "least"), [(0.2, 0.95), (0.4, 0.9)])
def test_a_lines_place_is_known_with_the_other_straights_hand(own, least):
    """Six pricks of a hand that scatters by 0.2 mm elsewhere, and along this seam by `own`."""
    rng, within = np.random.default_rng(5), []
    for seed in range(120):
        points = np.column_stack([np.linspace(0.0, 200.0, 6), rng.normal(0.0, own, 6)])
        hand = Hand(0.2 * float(np.sqrt(rng.chisquare(12) / 12)), 12)
        at, along = likely_lines(points, 240, seed, hand)
        line = fit_line(points)
        ends = [y + (215.0 - x) * v / u for (x, y), (u, v) in zip(at, along, strict=True)]
        end = line.at[1] + (215.0 - line.at[0]) * line.along[1] / line.along[0]
        within.append(abs(end) <= two_sigma(np.array(ends) - end))
    assert np.mean(within) >= least


def arc_between_lines(seed, scatter, lines_scatter):
    """Return how sure the length of an arc of 11 pricks is, square between lines of 150 each."""
    turn = np.linspace(0.0, np.radians(100.0), 401)
    arc = np.column_stack([90.0 * np.cos(turn), 90.0 * np.sin(turn)])
    rng = np.random.default_rng(seed)
    corners = [arc[-1], arc[-1] * 4.0, arc[0] * 4.0, arc[0]]
    runs = [("arc", "curve", arc[np.linspace(18, 382, 11).astype(int)], scatter)]
    for k in range(3):
        share = np.linspace(0.03, 0.97, 150)[:, None]
        line = corners[k] + (corners[k + 1] - corners[k]) * share
        runs.append((f"line {k}", "straight", line, lines_scatter))
    pricked = tuple(
        Pricks(
            name, kind, points + rng.normal(0.0, off, points.shape), 1, tuple(range(len(points)))
        )
        for name, kind, points, off in runs
    )
    return outline(Table(pricked, ()), Path("arc.csv"), {}).shapes[0].known_to


@pytest.mark.thorough
def test_pricks_that_happen_to_lie_well_are_known_no_better_than_the_hand_that_set_them():
    """Eleven pricks on their arc, by chance: the same hand's straight runs scatter by 0.6 mm.

    Reference: what is told of arcs that do scatter so, and of a hand that is steady throughout.
    """
    usual = np.median([arc_between_lines(seed, 0.6, 0.6) for seed in range(3)])
    lucky = arc_between_lines(1, 0.02, 0.6)
    steady = arc_between_lines(1, 0.02, 0.02)
    assert lucky > 0.8 * usual
    assert steady < 0.2 * usual
