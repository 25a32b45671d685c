"""Grain lines on cards with little room: parallel to what was asked, clear of all else."""

import numpy as np
import pytest
from garments import a_set, rectangle
from shapely import union_all
from shapely.geometry import LineString, Point, Polygon, box

from plotout.finish import finish
from plotout.finish.grain_marks import grain_strokes
from plotout.geometry.strokes import Mark
from plotout.pattern.model import Cut

CARD = box(0.0, 0.0, 200.0, 45.0)
UP = np.array([[20.0, 10.0], [20.0, 35.0]])


def line_of(strokes):
    return strokes[0].points


def test_a_line_that_has_room_stays_where_it_was_asked():
    assert line_of(grain_strokes(UP, CARD, []))[:, 0].tolist() == [20.0, 20.0]


@pytest.mark.parametrize("turn", [0.0, 37.0, 90.0, 180.0])
def test_a_line_in_the_way_of_a_mark_is_moved_beside_it(turn):
    """A bar across the line leaves 13.5 mm above and below: it moves past the bar's end."""
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    over = np.array([[c, s], [-s, c]])
    card = Polygon(np.array(CARD.exterior.coords) @ over)
    bar = LineString(np.array([[2.0, 22.0], [60.0, 22.0]]) @ over)
    moved = line_of(grain_strokes(UP @ over, card, [bar])) @ over.T
    assert np.ptp(moved[:, 0]) == pytest.approx(0.0, abs=1e-9)
    assert 60.0 < moved[0, 0] <= 60.0 + 4.3 + 2.0  # clearance, then one step
    assert moved[1, 1] - moved[0, 1] == pytest.approx(37.0)  # 45 less 4 mm at either edge


def test_with_less_room_its_arrow_heads_are_smaller_and_at_last_it_is_left_out():
    heads = [
        np.ptp(strokes[1].points[:, 1]) if strokes else 0.0
        for strokes in (grain_strokes(UP, box(0, 10, 200, 10 + tall), []) for tall in (24, 17, 14))
    ]
    assert heads == pytest.approx([6.0, 3.0, 0.0])


@pytest.mark.parametrize(("tall", "inset"), [(20, 15.0), (40, 20.0), (60, 15.0)])
def test_bands_on_the_fold_bear_their_grain_line_beside_the_fold_s_words(tall, inset):
    band = rectangle("Band", 202, tall, grain=np.array([[inset, 2.0], [inset, tall - 2.0]]))
    made = finish(a_set(_on_fold(band)))[0]
    grain = [s for s in made.strokes if s.mark is Mark.GRAIN]
    assert grain
    others = union_all([
        Point(s.points[0]) if len(s.points) == 1 else LineString(s.points)
        for s in made.strokes if s.mark is not Mark.GRAIN
    ])  # fmt: skip
    assert min(LineString(s.points).distance(others) for s in grain) >= 1.5
    assert not any("grain" in warning for warning in made.warnings)


def _on_fold(band):
    return type(band)(
        band.name, band.edges, fold="left", grain=band.grain, cuts=(Cut("self", on_fold=True),)
    )


@pytest.mark.parametrize(("wide", "tall"), [(25, 12), (20, 20), (60, 30)])
def test_on_small_cards_no_letter_touches_the_grain_line(wide, tall):
    grain = np.array([[wide / 2, 1.0], [wide / 2, tall - 1.0]])
    made = finish(a_set(rectangle("Stay", wide, tall, 4.0, grain=grain)))[0]
    arrows = union_all([LineString(s.points) for s in made.strokes if s.mark is Mark.GRAIN])
    letters = union_all([LineString(s.points) for s in made.strokes if s.mark is Mark.LETTERING])
    assert not letters.is_empty
    assert arrows.is_empty or arrows.distance(letters) > 0.3
