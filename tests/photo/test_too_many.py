"""Marks that make no outline: a pattern's, or dirt's. They are refused in time, with words."""

import numpy as np
import pytest
from plotout_photo import groups, off_path, survey
from plotout_photo.runs import way_round

from plotout import UserError


def test_more_marks_than_can_be_put_in_order_are_refused(monkeypatch, photo):
    monkeypatch.setattr(survey, "MOST", 20)
    monkeypatch.setattr(survey, "way_round", None)  # before any path is sought
    with pytest.raises(UserError, match="more than the 20 that can be put in order"):
        survey.survey([photo])


def test_marks_at_random_are_refused_after_so_many_tours(monkeypatch):
    """200 at random: without a bound, a tour was sought for each of a hundred strays."""
    tours = []

    def counted(*given):
        tours.append(given)
        return groups.path_through(*given)

    monkeypatch.setattr(off_path, "path_through", counted)
    at = np.random.default_rng(200).uniform(0.0, 1000.0, (200, 2))
    with pytest.raises(UserError, match="make no outline"):
        way_round(at)
    assert len(tours) <= off_path.ROUNDS


@pytest.mark.thorough
def test_a_thousand_at_random_are_refused_before_a_second_tour(monkeypatch):
    """Each takes seconds; the first one turns back at more places than tours could mend."""

    def sought(*_):
        raise AssertionError("a second tour was sought")

    monkeypatch.setattr(off_path, "path_through", sought)
    at = np.random.default_rng(1000).uniform(0.0, 2000.0, (1000, 2))
    with pytest.raises(UserError, match=r"of \d+ that pass for pricks, more than 40 lie off"):
        way_round(at)


def test_marks_that_make_no_outline_are_refused_by_the_name_of_the_photo(monkeypatch, photo):
    def refused(*given, **known):
        raise UserError("the marks on it make no outline")

    monkeypatch.setattr(survey, "way_round", refused)
    with pytest.raises(UserError, match=f"{photo.name}: the marks on it make no outline"):
        survey.survey([photo])
