"""A table read again: untouched it stays as it is, and what the user changed in it is kept."""

from __future__ import annotations

import dataclasses
import re
from pathlib import Path

import numpy as np
import pytest
from plotout_photo.corrections import Corrections, corrections_in
from plotout_photo.found_again import found_again
from plotout_photo.runs import way_round
from plotout_photo.survey import _numbered
from plotout_photo.table import as_table, ordered

from plotout import UserError


@pytest.fixture
def one_stab(surveyed):
    """A reading in which of one corner's stabs only one was seen, a millimetre beside it."""
    corner = max((g for g in surveyed.way.groups if g.corner), key=lambda g: len(g.members))
    left = np.setdiff1d(np.arange(len(surveyed.at)), corner.members[1:])
    picked = {name: getattr(surveyed, name)[left]
              for name in ("at", "sure", "error", "seen", "photo", "pixel", "outside")}  # fmt: skip
    way = way_round(picked["at"], sure=picked["sure"])
    lined = np.empty((0, 2), dtype=np.intp)
    made = _numbered(dataclasses.replace(surveyed, way=way, lined=lined, **picked))
    assert any(group.corner and len(group.members) == 1 for group in made.way.groups)
    return made


def _written(made, said, path):
    final = ordered(made, said)
    path.write_text(as_table(made, ordered(made, Corrections()), final, said, [path]))
    return path.read_text(), final


def test_an_untouched_table_holds_no_correction_also_of_a_corner_of_one_stab(one_stab, tmp_path):
    path = tmp_path / "pricks.csv"
    first, _ = _written(one_stab, Corrections(), path)
    said = corrections_in(path, one_stab.at)
    assert said == Corrections()
    assert _written(one_stab, said, path)[0] == first


@pytest.mark.parametrize("both", [False, True])
def test_a_corner_that_is_moved_in_the_table_stays_there(surveyed, tmp_path, both):
    path = tmp_path / "pricks.csv"
    text, _ = _written(surveyed, Corrections(), path)
    x, y = next(line for line in text.splitlines() if re.search(r"^\d.*,\d+\+\d+\+", line)).split(
        ","
    )[:2]
    moved = text.replace(f"\n{x},{y},", f"\n{float(x) + 0.8:.4f},{y},", 2 if both else 1)
    path.write_text(moved)
    for _ in range(2):
        text, final = _written(surveyed, corrections_in(path, surveyed.at), path)
        corners = np.array([group.at for group in final.way.groups if group.corner])
        assert np.hypot(*(corners - [float(x) + 0.8, float(y)]).T).min() < 0.001
        assert len(final.way.runs) == len(surveyed.way.runs)


def test_a_table_without_its_numbers_is_refused(surveyed, tmp_path):
    path = tmp_path / "pricks.csv"
    text, _ = _written(surveyed, Corrections(), path)
    cut = [line if line[:1] == "#" else ",".join(line.split(",")[:4]) for line in text.splitlines()]
    path.write_text("\n".join(cut))
    with pytest.raises(UserError, match="has lost its column 'number'"):
        corrections_in(path, surveyed.at)


@pytest.mark.parametrize("stabs", [1, 3])
def test_a_corner_of_which_one_line_is_removed_is_none(one_stab, tmp_path, stabs):
    """So the user says that an edge is round there; it is kept, and nothing else changes."""
    path = tmp_path / "pricks.csv"
    text, before = _written(one_stab, Corrections(), path)
    ends = [before.way.groups[run.groups[0]] for run in before.way.runs]
    corner = next(group for group in ends if min(len(group.members), 3) == stabs)
    own = "+".join(str(before.numbers[k]) for k in corner.members)
    lines = text.splitlines()
    path.write_text("\n".join(
        line for k, line in enumerate(lines)
        if k != next(n for n, one in enumerate(lines) if f",{own}," in one)
    ) + "\n")  # fmt: skip
    texts = []
    for _ in range(3):
        said = corrections_in(path, one_stab.at)
        text, final = _written(one_stab, said, path)
        texts.append(text)
        (place,) = said.smooth
        assert np.hypot(*(corner.at - place)) < 0.01
        gaps = [np.hypot(*(group.at - corner.at)) for group in final.way.groups if group.corner]
        assert min(gaps) > 6.0
        assert len(final.way.runs) == len(before.way.runs) - 1
    assert texts[0] == texts[1] == texts[2]


@pytest.mark.parametrize("turn", [3.0, 47.0, 90.0, 178.0, 301.0])
def test_a_sheet_that_lies_turned_is_told_from_another_sheet(turn):
    """Places turned by plane geometry; a fifth of them is not seen again."""
    rng = np.random.default_rng(3)
    at = rng.uniform(0.0, [400.0, 300.0], (100, 2))
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    turned = (at @ np.array([[c, s], [-s, c]]) + [40.0, -70.0])[rng.permutation(100)[:85]]
    turned += rng.normal(0.0, 0.1, turned.shape)
    with pytest.raises(UserError) as told:
        found_again(dict(enumerate(at, 1)), turned, Path("a.csv"))
    assert f"turned by {turn:.0f} degrees" in told.value.problem
    other = rng.uniform(0.0, [400.0, 300.0], (100, 2))
    with pytest.raises(UserError, match="another sheet"):
        found_again(dict(enumerate(at, 1)), other, Path("a.csv"))


def test_dividing_a_run_leaves_the_others_their_names(surveyed, tmp_path):
    """At its middle prick, which stands in both parts."""
    path = tmp_path / "pricks.csv"
    text, before = _written(surveyed, Corrections(), path)
    own = [line for line in text.splitlines() if re.match(r"[\d.,-]+,run 1,", line)]
    middle = len(own) // 2
    parts = [*own[: middle + 1], *(line.replace("run 1", "hem") for line in own[middle:])]
    path.write_text(text.replace("\n".join(own), "\n".join(parts), 1))
    for _ in range(2):
        text, final = _written(surveyed, corrections_in(path, surveyed.at), path)
        assert sorted(final.names) == sorted([*before.names, "hem"])
        for name, run in zip(before.names[1:], before.way.runs[1:], strict=True):
            now = final.way.runs[final.names.index(name)]
            assert len(now.groups) == len(run.groups)
