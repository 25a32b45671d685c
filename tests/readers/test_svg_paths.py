"""Paths of SVG against svgpathtools, which the reader does not use (W3C SVG 1.1, 8.3 and F.6)."""

import random
import re
import warnings

import numpy as np
import pytest
import svgpathtools
from plotout_svg.paths import Arc, BadPathError, subpaths

_TAKES = {"L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7}


def _number(chance):
    value = chance.uniform(-300, 300)
    return chance.choice([f"{value:.3f}", f"{value:+.0f}", f"{value:.4e}", f"{value:.0f}."])


def _arc(chance):
    radii = [f"{chance.choice([1, 30, 400]) * chance.uniform(0.1, 1):.3f}" for _ in "xy"]
    flags = [chance.choice("01") for _ in "ab"]
    return " ".join([*radii, _number(chance), *flags, _number(chance), _number(chance)])


def _data(seed):
    chance = random.Random(seed)
    parts = [f"M{_number(chance)} {_number(chance)}"]
    for _ in range(8):
        command = chance.choice("LHVCSQTAlhvcsqta")
        takes = _TAKES[command.upper()]
        given = [_number(chance) for _ in range(takes)] if takes < 7 else [_arc(chance)]
        parts.append(command + chance.choice([" ", ",", "\n"]).join(given))
    return "".join(parts) + chance.choice(["", "Z", " z "])


def _points(segment, at):
    if not isinstance(segment, Arc):
        return np.array([svgpathtools.bezier_point(segment.points, t) for t in at])
    angle = np.radians(segment.theta + segment.sweep * at)
    return segment.centre + segment.first * np.cos(angle) + segment.second * np.sin(angle)


@pytest.mark.parametrize("seed", range(60))
def test_every_segment_lies_where_svgpathtools_has_it(seed):
    data = _data(seed)
    [(segments, closed)] = subpaths(data)
    bare = re.sub(r"\.(?!\d)", "", data)  # svgpathtools needs a digit after a point
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it warns of arcs whose radii are too small
        expected = list(svgpathtools.parse_path(bare))
    assert closed == (data.strip()[-1] in "Zz")
    assert len(segments) == len(expected)
    at = np.linspace(0, 1, 17)
    for got, way in zip(segments, expected, strict=True):
        reference = np.array([way.point(t) for t in at])
        assert np.abs(_points(got, at) - reference).max() < 1e-6


def test_packed_flags_and_signs_need_no_space():
    [(packed, _)] = subpaths("M10-5a30,20-15 0150-.5")
    [(spaced, _)] = subpaths("M 10 -5 a 30 20 -15 0 1 50 -.5")
    assert packed == spaced


def test_a_moved_subpath_goes_on_from_where_the_last_one_was_closed():
    [(first, closed), (second, _)] = subpaths("M1 2h5v5zm10 10l1 1")
    assert (first[-1].end, closed, second[0].points) == (1 + 2j, True, (11 + 12j, 12 + 13j))


@pytest.mark.parametrize("radii", ["0 5", "5 0"])
def test_an_arc_without_a_radius_is_a_line(radii):
    [(segments, _)] = subpaths(f"M0 0A{radii} 0 0 1 10 10")
    assert [segment.points for segment in segments] == [(0j, 10 + 10j)]


def test_an_arc_that_goes_nowhere_is_refused():
    with pytest.raises(BadPathError, match="ends where it begins"):
        list(subpaths("M5 5A5 5 0 0 1 5 5"))


@pytest.mark.parametrize("chord", [1e-3, 1e-9, 1e-14, 1e-30])
@pytest.mark.parametrize(("large", "turns"), [(0, 0.0), (1, 360.0)])
@pytest.mark.parametrize("sweep", [0, 1])
def test_an_arc_that_almost_closes_goes_all_round_or_not_at_all(chord, large, turns, sweep):
    [([arc], _)] = subpaths(f"M0 0A100 100 0 {large} {sweep} {chord} 0")
    assert arc.sweep == pytest.approx(turns if sweep else -turns, abs=0.001)
