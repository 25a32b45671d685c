"""Whole sets in other sizes, against sums by hand and closed forms."""

import json
import re

import numpy as np
import pytest
from scipy.special import ellipe

from plotout import UserError, job
from plotout.geometry.polyline import length
from plotout.pattern.model import PatternSet

BIB = """x,y,run,kind
0,10,left,straight
0,290,left,straight
10,300,top,straight
190,300,top,straight
200,290,right,straight
200,10,right,straight
190,0,foot,straight
10,0,foot,straight
"""

SET = """
[set]
name = "Apron"
style = "AP-01"

[sizes]
base = "M"
range = ["S", "M", "L", "XL"]
[sizes.measure]
chest = ["-40 mm", 0, "40 mm", "100 mm"]
length = "20 mm"

[[grade]]
name = "right side"
x = "chest / 4"

[[piece]]
name = "Bib"
from = { file = "bib.csv" }
edges = ["foot", "right", "top", "left"]
grain = { along = "left", inset = "60 mm" }
cut = [{ cloth = "self", count = 2 }]
[[piece.grade]]
corner = ["foot", "right"]
rule = "right side"
[[piece.grade]]
corner = ["right", "top"]
x = "chest / 4"
y = "length"
[[piece.grade]]
corner = ["top", "left"]
y = "length"
[[piece.notch]]
edge = "right"
at = "50 mm"
[[piece.notch]]
edge = "right"
at = "50 %"
[[piece.drill]]
at = [100, 150]
"""


@pytest.fixture
def read(tmp_path):
    def reading(size="", text=SET, files=(("bib.csv", BIB),)) -> PatternSet:
        for name, body in files:
            (tmp_path / name).write_text(body)
        (tmp_path / "set.toml").write_text(text)
        return job.read_set(tmp_path / "set.toml", size)

    return reading


@pytest.mark.parametrize(
    ("size", "wide", "tall"), [("S", 190, 280), ("M", 200, 300), ("L", 210, 320), ("XL", 225, 340)]
)
def test_a_rectangle_grows_by_its_measurements(read, size, wide, tall):
    """A quarter of the chest wider, the length longer; sums by hand."""
    graded = read(size)
    (bib,) = graded.pieces
    assert graded.size == size
    assert np.ptp(bib.outline, axis=0) == pytest.approx([wide, tall], abs=1e-6)
    assert [notch.along for notch in bib.notches] == pytest.approx([50, tall / 2])
    assert bib.drills[0].at == pytest.approx((wide / 2, tall / 2), abs=1e-6)
    assert bib.grain[:, 0] == pytest.approx([60, 60])


def test_the_base_size_is_the_drawing_itself(read):
    asked, plain = read("M").pieces[0], read().pieces[0]
    assert np.array_equal(asked.outline, plain.outline)
    assert read().size == "M"


def test_a_neck_grows_as_its_ellipse(read):
    """A quarter ellipse 75 x 90 grown by 5 and 6: its length by the elliptic integral (scipy)."""
    t = np.radians(np.linspace(0, 90, 9)[1:-1])
    pricks = [f"{75 * np.sin(a):.6f},{400 - 90 * np.cos(a):.6f},neck,curve" for a in t]
    rows = ["0,10,centre,straight", "10,0,hem,straight", "190,0,hem,straight",
            "200,10,side,straight", "200,390,side,straight", "190,400,top,straight",
            "85,400,top,straight", *reversed(pricks), "0,300,centre,straight"]  # fmt: skip
    text = (
        SET.partition("[[piece]]")[0]
        + """
[[piece]]
name = "Front"
from = { file = "front.csv", square = ["neck"] }
[[piece.grade]]
corner = ["top", "neck"]
x = "5 mm"
[[piece.grade]]
corner = ["neck", "centre"]
y = "-6 mm"
"""
    )
    table = "x,y,run,kind\n" + "\n".join(rows)
    neck = {size: read(size, text, [("front.csv", table)]).pieces[0].edge("neck") for size in "ML"}
    grown = 96 * ellipe(1 - (80 / 96) ** 2) - 90 * ellipe(1 - (75 / 90) ** 2)
    assert length(neck["L"].points) - length(neck["M"].points) == pytest.approx(grown, abs=0.02)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('rule = "right side"', 'rule = "rigth side"', "there is no grade rule 'rigth side'"),
        ('x = "chest / 4"\ny', 'x = "chests / 4"\ny', "no measurement 'chests'"),
        ('x = "chest / 4"\ny', 'x = ["1 mm", "2 mm"]\ny', "lists 2 lengths for 4 sizes"),
        ('corner = ["top", "left"]', 'corner = ["top", "foot"]', "don't meet at a corner"),
        ('y = "length"\n[[piece.notch]]', 'y = "-400 mm"\n[[piece.notch]]', "is reversed"),
        ('base = "M"', 'base = "XXL"', "base size 'XXL' is not in the range"),
    ],
)
def test_wrong_growth_is_named(read, old, new, says):
    assert old in SET
    with pytest.raises(UserError, match=says):
        read("L", SET.replace(old, new, 1))


def test_an_unknown_size_names_those_there_are(read):
    with pytest.raises(UserError) as refused:
        read("XS")
    assert "S, M, L, XL" in str(refused.value)


SEAM = """
[[seam]]
name = "side"
ease = [0, "2 mm"]
first = { piece = "Bib", edges = ["right"] }
second = { piece = "Bib", edges = ["left"] }
"""


def checked(tmp_path, *more):
    from click.testing import CliRunner

    from plotout.cli.check_command import check

    return CliRunner().invoke(check, [str(tmp_path / "set.toml"), *more])


def drifting(read, step):
    """Read a bib whose right side grows by `step` mm from size to size, the left not at all."""
    text = SET.replace('y = "length"\n[[piece.grade]]', f'y = "{step} mm"\n[[piece.grade]]', 1)
    text = text.replace('y = "length"\n[[piece.notch]]', "y = 0\n[[piece.notch]]", 1)
    text = text.replace('[[piece.notch]]\nedge = "right"\nat = "50 mm"\n', "")
    text = text.replace('[[piece.notch]]\nedge = "right"\nat = "50 %"\n', "")
    read("M", text + SEAM)


def test_a_seam_that_drifts_is_a_fault_though_its_pricks_show_it_in_no_size(read, tmp_path):
    """It is -1.5, 0, 1.5 and 3 mm, of which 0 to 2 may be eased, and the tolerance is 0.5.

    By hand: an error of the pricks is the same in all sizes, so the sides are 4.5 mm apart between
    S and XL whatever it is, and 2 + 2 x 0.5 are allowed.
    """
    drifting(read, 1.5)
    done = checked(tmp_path)
    assert done.exit_code == 2
    assert (
        "Fault: seam 'side': first less second is -1.5 mm in size S, but 3.0 mm in size XL, and "
        "ease and tolerance together allow a change of 3 mm"
    ) in done.output
    assert re.search(r"side( +[-+]\d\.\d){4} +FAULT", done.output), done.output
    assert "seam 'side' in size XL: its pricks can't show to 0.5 mm" in done.output
    laser = job.load_machine("laser")
    made = job.plan(job.Request(tmp_path / "set.toml", laser, sizes=("all",), seconds=0.0))
    assert any("can't match in both" in fault for fault in made.faults)
    assert checked(tmp_path, "--size", "L").exit_code == 0


def test_a_seam_that_drifts_within_ease_and_tolerance_may_match_in_all_sizes(read, tmp_path):
    """-0.9, 0, 0.9 and 1.8 mm: 2.7 mm of 3, so that both can be well within them."""
    drifting(read, 0.9)
    done = checked(tmp_path)
    assert done.exit_code == 0, done.output
    assert json.loads(checked(tmp_path, "--json").output)["good"] is False  # but not surely


def test_what_two_pricks_cannot_tell_is_unsure_in_every_size(read, tmp_path):
    read("M", SET.split("[[piece.notch]]", maxsplit=1)[0] + SEAM)
    done = checked(tmp_path)
    assert done.exit_code == 0, done.output
    assert re.search(r"side( +[-+]0\.0){4} +NOT SURE", done.output), done.output


def test_sizes_are_made_one_by_one_or_together(read, tmp_path):
    read("M")
    machine = job.load_machine("svg-file")
    source = tmp_path / "set.toml"
    one = job.plan(job.Request(source, machine, sizes=("L",), seconds=0.0))
    assert one.stem == "apron-ap-01-l-svg-file"
    assert np.ptp(one.cards[0].outline, axis=0) == pytest.approx([210 + 25.4, 320 + 25.4], abs=0.1)
    laser = job.load_machine("laser")
    both = job.plan(job.Request(source, laser, sizes=("S", "L"), seconds=0.0))
    assert {card.id for card in both.cards} >= {"s-bib", "l-bib"}
    laid = {placed.card.id for sheet in both.sheets for placed in sheet.placed}
    assert laid == {card.id for card in both.cards}
    assert {card.title for card in both.cards} >= {"Bib, size S", "Bib, size L"}
    assert any(len({placed.card.size for placed in sheet.placed}) > 1 for sheet in both.sheets)
    for result in both.results:  # a file that mixes up their cards would fail its proof
        assert result.read_back
        assert not result.faults
        for placed in result.sheet.placed:
            assert {stroke.card for stroke in placed.card.strokes} == {placed.card.id}
