"""Many systems at once, against numpy's solution of each alone."""

import numpy as np
import pytest

from plotout.geometry.least_squares import least_squares, solved


def test_many_systems_are_solved_as_each_alone():
    """Against numpy.linalg.lstsq; one matrix has equal columns, so that many x come as near."""
    rng = np.random.default_rng(1)
    rows, due = rng.normal(size=(5, 9, 4)), rng.normal(size=(5, 9))
    rows[2, :, 1] = rows[2, :, 3]
    alone = [
        np.linalg.lstsq(one, wanted, rcond=None)[0] for one, wanted in zip(rows, due, strict=True)
    ]
    assert least_squares(rows, due) == pytest.approx(np.array(alone), abs=1e-9)


def test_what_is_not_finite_spoils_no_other():
    rng = np.random.default_rng(2)
    rows, due = rng.normal(size=(3, 6, 2)), rng.normal(size=(3, 6))
    rows[1, 0, 0] = np.inf
    found = least_squares(rows, due)
    assert np.isnan(found[1]).all()
    assert found[2] == pytest.approx(np.linalg.lstsq(rows[2], due[2], rcond=None)[0])
    exact, more = solved(np.swapaxes(rows, 1, 2), due[:, :2])
    assert np.isnan(exact[1]).all()
    assert np.isfinite(exact[[0, 2]]).all()
    assert more.shape == (3, 6, 4)


def test_the_shortest_solution_and_what_may_be_added_to_it():
    """Against numpy.linalg.lstsq, which gives the shortest; one row says what another does."""
    rng = np.random.default_rng(3)
    rows = rng.normal(size=(3, 7))
    rows[2] = 2.0 * rows[0]
    due = rows @ rng.normal(size=7)
    found, more = solved(rows, due)
    assert found == pytest.approx(np.linalg.lstsq(rows, due, rcond=None)[0])
    assert more.shape == (7, 5)
    assert rows @ more == pytest.approx(np.zeros((3, 5)), abs=1e-12)
