"""Seams of the left of an edge to its right: crotch, centre back, a sleeve's underarm. By hand.

What such a seam takes is common practice: a pair, or both halves of one piece on the fold.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from plotout.cli import plotout
from plotout.errors import UserError
from plotout.pattern.drawing import Drawing, Role, Shape
from plotout.pattern.walk import walk
from plotout.review.whole_set import review

from .conftest import RECTANGLE, Build

NAMES = 'edges = ["hem", "side", "waist", "centre"]\n'
SEAM = (
    '[[seam]]\nname = "centre"\nfirst = { piece = "Leg", edges = ["centre"] }\n'
    'second = { piece = "Leg", edges = ["centre"] }\n'
)
NOTCH = '[[seam.notch]]\nat = "40 mm"\n'


def leg(cut: str, more: str = "") -> str:
    return f'[[piece]]\nname = "Leg"\nfrom = {{ file = "leg" }}\n{NAMES}cut = [{cut}]\n{more}'


PAIR = leg('{ cloth = "self", pair = true }')


def test_a_pair_is_sewn_left_to_right(build: Build) -> None:
    """Its edge of 300 mm meets itself, and each half bears the seam's only notch once."""
    made = build(PAIR + SEAM + NOTCH, leg=RECTANGLE)
    (result,) = walk(made)
    assert (result.first, result.second, result.difference) == (300.0, 300.0, 0.0)
    assert [(n.edge, n.along) for n in made.piece("Leg").notches] == [("centre", 40.0)]
    assert [(s.first, s.second) for s in result.stretches] == [(40.0, 40.0), (260.0, 260.0)]
    assert (result.faults, result.notes, result.of_one_edge) == ((), (), True)
    assert not review(made).faults


@pytest.mark.parametrize(
    ("cut", "more", "fault"),
    [
        ('{ cloth = "self" }', "", "it takes 2 of 'Leg', but only 1 is cut"),
        ('{ cloth = "self", count = 2 }', "", ""),
        ('{ cloth = "self", on-fold = true }', 'fold = "side"\n', ""),
        ('{ cloth = "self" }, { cloth = "self", reversed = true }', "", ""),
        ('{ cloth = "self", count = 2, pair = true }', "", ""),
    ],
)
def test_it_takes_two_of_its_edge(build: Build, cut: str, more: str, fault: str) -> None:
    (result,) = walk(build(leg(cut, more) + SEAM, leg=RECTANGLE))
    assert result.faults == ((fault,) if fault else ())
    assert result.notes == ()


@pytest.mark.parametrize(("count", "whole"), [(1, 200.0), (2, 400.0)])
def test_an_edge_that_ends_on_the_fold(build: Build, count: int, whole: float) -> None:
    """Cut once its halves are sewn to each other, cut twice (a cushion) the two wholes."""
    cut = f'{{ cloth = "self", on-fold = true, count = {count} }}'
    text = leg(cut, 'fold = "side"\n') + SEAM.replace('["centre"]', '["hem"]')
    (result,) = walk(build(text, leg=RECTANGLE))
    assert (result.first, result.second) == (whole, whole)
    assert result.faults == ()


def test_both_sides_are_off_alike(build: Build) -> None:
    """The edge is known to 5 mm only, but both halves are cut along the same line."""
    corners = RECTANGLE[:-1]
    shapes = tuple(
        Shape(np.array([at, after]), Role.OUTLINE, name, known_to=5.0)
        for at, after, name in zip(
            corners, np.roll(corners, -1, 0), ("hem", "side", "waist", "centre"), strict=True
        )
    )
    text = PAIR.replace(NAMES, "") + SEAM + NOTCH
    (result,) = walk(build(text, leg=Drawing(shapes)))
    assert result.sure
    assert result.known_to == 0.0
    assert result.notes == ()


def test_a_crotch_goes_over_front_and_back(build: Build) -> None:
    """Left front and back, 300 and 200 mm, to right front and back."""
    back = PAIR.replace("Leg", "Back").replace('"leg"', '"back"')
    side = '[{ piece = "Leg", edges = ["centre"] }, { piece = "Back", edges = ["-hem"] }]'
    text = PAIR + back + f'[[seam]]\nname = "crotch"\nfirst = {side}\nsecond = {side}\n'
    (result,) = walk(build(text, leg=RECTANGLE, back=RECTANGLE))
    assert (result.first, result.second, result.faults) == (500.0, 500.0, ())


@pytest.mark.parametrize(
    ("change", "problem"),
    [
        (('second = { piece = "Leg", edges = ["centre"]',
          'second = { piece = "Leg", edges = ["-centre"]'), "has edge 'centre' of 'Leg' twice"),
        (('second = { piece = "Leg", edges = ["centre"]',
          'second = { piece = "Leg", edges = ["centre", "hem"]'), "'centre' of 'Leg' twice"),
        (('edges = ["centre"] }', 'edges = ["centre", "centre"] }'), "twice"),
        (("[[seam.notch]]", 'ease = ["2 mm", "3 mm"]\n[[seam.notch]]'), "with ease"),
        (('at = "40 mm"', 'at = "40 mm"\nease = "3 mm"'), "with ease"),
    ],
)  # fmt: skip
def test_what_cant_be_is_refused(build: Build, change: tuple[str, str], problem: str) -> None:
    with pytest.raises(UserError, match=problem):
        build((PAIR + SEAM + NOTCH).replace(*change), leg=RECTANGLE)


def test_check_says_that_both_sides_are_one_edge(tmp_path: Path) -> None:
    path = tmp_path / "set.toml"
    path.write_text(
        '[set]\nname = "T"\nstyle = "T-1"\n[[piece]]\nname = "Leg"\n'
        'rectangle = ["200 mm", "300 mm"]\nedges = ["hem", "side", "waist", "centre"]\n'
        'grain = { along = "side" }\ncut = [{ cloth = "self", pair = true }]\n' + SEAM
    )
    done = CliRunner().invoke(plotout, ["check", str(path)])
    assert done.exit_code == 0, done.output
    assert "same edge" in done.output
