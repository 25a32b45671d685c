"""Tables edited by hand: what contradicts itself is refused with its line, what is meant is not."""

from pathlib import Path

import pytest
from plotout_photo.slips import check_rows

from plotout import UserError

RUNS = dict.fromkeys(range(1, 14), "run 1") | dict.fromkeys(range(14, 21), "run 2")
CORNERS = {1, 2, 3, 11, 12, 13}


def table():
    """Two runs, straight and curve, between two corners of three stabs; numbers as cells."""
    rows = []
    for number in ["1+2+3", *map(str, range(4, 11)), "11+12+13"]:
        rows.append({"run": "run 1", "kind": "straight", "number": number})
    for number in ["11+12+13", *map(str, range(14, 21)), "1+2+3"]:
        rows.append({"run": "run 2", "kind": "curve", "number": number})
    for k, row in enumerate(rows):
        near = {"1+2+3": 0, "11+12+13": 8}.get(row["number"], k)
        row.update(x=str(12.0 * near), y="0", line=str(5 + k))
    return rows


def check(rows):
    check_rows(rows, RUNS, CORNERS, Path("a.csv"))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"number": "9"}, "prick 9 stands in line 8, too"),
        ({"number": "5"}, "prick 5 stands in line 7, too"),  # the one beside it
        ({"number": "16"}, "prick 16 stands in line 8, too"),  # of another run, far away
        ({"number": "999"}, "no prick 999 was found"),
        ({"number": "5;6"}, "is no number of a prick"),
        ({"run": ""}, "it names no run"),
        ({"kind": "curvy"}, "there is no kind 'curvy'"),
        ({"kind": "drill"}, "there is no kind 'drill'"),
        ({"number": "", "run": "run 22", "x": "5"}, "no prick was found in 'run 22'"),
        ({"kind": "curve"}, "run 1 is curve here, but straight in line 5"),
        ({"run": "run 2"}, "run 2 is curve here, but straight in line 8"),
        ({"run": "run 2", "kind": "curve"}, "found in another run than 'run 2'"),
        ({"run": "side"}, "found in another run than 'side'"),
    ],
)
def test_a_slip_in_one_line_is_refused_with_its_line(change, said):
    rows = table()
    rows[3].update(change)
    with pytest.raises(UserError) as told:
        check(rows)
    assert said in told.value.problem
    assert f"line {rows[3]['line']}" in str(told.value)
    assert told.value.fix


def test_what_a_user_may_mean_is_taken():
    check(table())
    removed = table()
    del removed[4]
    check(removed)
    renamed = table()
    for row in renamed[:9]:
        row.update(run="side", kind="curve")
    check(renamed)
    added = table()
    added.insert(4, {**added[4], "number": "", "x": "70", "kind": ""})
    check(added)
    moved = table()
    moved[8].update(x="90", y="5")  # a corner, in one of its two lines
    check(moved)


def test_a_run_between_two_corners_of_which_no_stab_was_seen_is_taken():
    rows = table()
    for at in ("300", "400"):
        rows.append({**rows[0], "run": "fold", "number": "unseen", "x": at, "line": "99"})
    check(rows)


def test_a_run_may_be_divided_at_a_prick_that_becomes_a_corner():
    rows = table()
    for row in rows[5:9]:
        row.update(run="side", kind="curve")
    rows.insert(5, {**rows[5], "run": "run 1", "kind": "straight"})
    check(rows)


def test_two_runs_of_one_name_are_refused_where_a_corner_stands_in_both():
    rows = table()
    for row in rows:
        row.update(run="rim", kind="curve")
    with pytest.raises(UserError, match="stands in line") as told:
        check(rows)
    assert "give each its own" in told.value.fix
    joined = [row for k, row in enumerate(rows) if k != 9]  # one line of the corner between them
    check(joined)


def test_a_line_that_has_lost_its_number_is_refused():
    for at in (3, 8):  # a prick's copy, and one of a corner's two lines
        rows = table()
        rows.insert(at + 1, {**rows[at], "number": "", "line": "99"})
        with pytest.raises(UserError, match="it has no number, but the place of prick"):
            check(rows)
