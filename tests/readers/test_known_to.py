"""How sure lengths are, and ends that the pricks contradict: by simulation and by geometry."""

from pathlib import Path

import numpy as np
import pytest
from plotout_pricks.asked_ends import contradicted
from plotout_pricks.corners import Fitted, beyond, joined_up, known_to
from plotout_pricks.table import Pricks
from scipy.special import fresnel

from plotout.kit import End, StraightLine, fit_line

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
    lines = joined_up(fits, Path("rectangle.csv"))
    sizes = np.array([np.hypot(*(line[1] - line[0])) for line in lines])
    return known_to(fits, lines), np.abs(sizes - TRUE)


@pytest.mark.parametrize("pricks", [4, 6])
def test_straights_of_few_pricks_are_known_as_well_as_is_told(pricks):
    """Of twenty lengths one may lie further off: here 8 of 160 are expected, 16 at most.

    Lines between lines whose errors were drawn alike held in 85 of a hundred only.
    """
    made = [rectangle(seed, pricks, 0.2) for seed in range(40)]
    told, off = (np.array(each) for each in zip(*made, strict=True))
    assert (off <= told).mean() >= 0.9
    assert np.median(told) < 2.5 * 2.0 * np.sqrt((off**2).mean())


def test_a_curve_continued_with_its_change_of_bend_stays_nearer_to_its_clothoid():
    """A clothoid's bend is proportional to its length (Fresnel's integrals)."""
    at = np.linspace(0.0, 80.0, 1601)
    sines, cosines = fresnel(at / 120.0)
    clothoid = 120.0 * np.column_stack([cosines, sines])
    known, ahead = clothoid[at <= 60.0], clothoid[at > 60.0]
    off = []
    for drift in (0.0, 1.0):
        found = beyond(known[None], np.array([drift]))[0]
        near = found[np.hypot(*(found - known[-1]).T) < 18.0]
        off.append(max(np.hypot(*(ahead - point).T).min() for point in near))
    assert off[1] < 0.2
    assert off[1] < off[0] / 3.0


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
    notes = list(contradicted(arc(degrees), [End(level, square=square), None], ("cf", "shoulder")))
    assert len(notes) == bool(told)
    if told:
        kind = "square" if square else "tangent"
        assert f"made {kind} to 'cf' at its start" in notes[0]
        angle = float(notes[0].split(" degrees")[0].split()[-1])
        assert angle == pytest.approx(float(told), abs=2.0)
        assert f"leave out 'neck' in '{kind}'" in notes[0]
