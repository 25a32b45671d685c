"""A circle skirt and an ellipse neck, read from a drawing and graded: lengths in closed form.

A circle's by pi; an ellipse's by the incomplete elliptic integral of scipy; within 0.01 % in every
size, as long as the fitted curves are read from arcs of SVG (W3C, SVG 1.1, 8.3.8).
"""

from math import pi

import numpy as np
import pytest
from scipy.special import ellipeinc

from plotout import job
from plotout.geometry.polyline import length
from plotout.pattern.walk import walk

SIZES = ["XS", "S", "M", "L", "XL", "XXL"]
BASE = 2
WAIST, LONG = 720.0, 550.0  # mm: the girth of the waist, and the skirt's length in the base size
WAIST_STEP, LONG_STEP = 50.0, 12.0
ACROSS, DOWN = 75.0, 95.0  # mm: the neck's half axes, which grow by:
ACROSS_STEP, DOWN_STEP = 3.5, -2.0

SET = f"""[set]
name = "Skirt and top"
style = "ST-1"
[sizes]
base = "M"
range = {SIZES}
[sizes.measure]
waist = "{WAIST_STEP} mm"
long = "{LONG_STEP} mm"

[[grade]]
name = "waist"
x = "waist / {2 * pi}"
[[grade]]
name = "hem"
x = "waist / {2 * pi} + long"

[[piece]]
name = "Skirt"
from = {{ file = "skirt.svg", outline = "#cut" }}
edges = ["front", "hem", "back", "waist"]
start = [{WAIST / (2 * pi)}, 0]
cut = [{{ cloth = "self", count = 4 }}]
[[piece.grade]]
corner = ["waist", "front"]
along = "front"
y = "waist / {2 * pi}"
[[piece.grade]]
corner = ["back", "waist"]
along = "back"
y = "waist / {2 * pi}"
[[piece.grade]]
corner = ["hem", "back"]
y = "waist / {2 * pi} + long"
[[piece.grade]]
corner = ["front", "hem"]
rule = "hem"

[[piece]]
name = "Waistband"
rectangle = [{WAIST}, 40]
cut = [{{ cloth = "self" }}]
[[piece.grade]]
corner = ["bottom", "right"]
x = "waist"
[[piece.grade]]
corner = ["right", "top"]
x = "waist"

[[piece]]
name = "Top"
from = {{ file = "top.svg", outline = "#cut" }}
edges = ["neck", "centre", "hem", "side", "shoulder"]
start = [{ACROSS}, 400]
cut = [{{ cloth = "self" }}]
[[piece.grade]]
corner = ["shoulder", "neck"]
x = "{ACROSS_STEP} mm"
[[piece.grade]]
corner = ["neck", "centre"]
y = "{-DOWN_STEP} mm"

[[seam]]
name = "waist"
ease = ["-0.1 mm", "0.1 mm"]
first = {{ piece = "Skirt", edges = ["waist"], times = 4 }}
second = {{ piece = "Waistband", edges = ["bottom"] }}
"""


def svg(path, size=900):
    """A drawing at true size, with y up from its foot."""
    return (f'<svg xmlns="http://www.w3.org/2000/svg" width="{size}mm" height="{size}mm" '
            f'viewBox="0 {-size} {size} {size}"><path id="cut" d="{path}"/></svg>')  # fmt: skip


@pytest.fixture(scope="module")
def graded(tmp_path_factory):
    folder = tmp_path_factory.mktemp("closed")
    r = WAIST / (2 * pi)
    far = r + LONG
    (folder / "skirt.svg").write_text(
        svg(f"M {r},0 A {r} {r} 0 0 0 0,{-r} L 0,{-far} A {far} {far} 0 0 1 {far},0 Z")
    )
    low = 400 - DOWN
    (folder / "top.svg").write_text(
        svg(f"M {ACROSS},-400 A {ACROSS} {DOWN} 0 0 1 0,{-low} L 0,0 L 240,0 L 240,-400 Z")
    )
    (folder / "set.toml").write_text(SET)
    whole = job.open_set(folder / "set.toml")
    return {size: whole.in_size(size) for size in SIZES}


def ellipse_quarter(a, b):
    """Length of a quarter of an ellipse with half axes a, b: b E(pi/2 | 1 - a2/b2)."""
    return b * ellipeinc(pi / 2, 1 - (a / b) ** 2)


@pytest.mark.parametrize("size", SIZES)
def test_every_size_of_a_circle_skirt_is_one(graded, size):
    step = SIZES.index(size) - BASE
    skirt = graded[size].piece("Skirt")
    waist = WAIST + step * WAIST_STEP
    radius, far = waist / (2 * pi), waist / (2 * pi) + LONG + step * LONG_STEP
    assert length(skirt.edge("waist").points) == pytest.approx(waist / 4, rel=1e-4)
    assert length(skirt.edge("hem").points) == pytest.approx(pi / 2 * far, rel=1e-4)
    for name, at in (("waist", radius), ("hem", far)):  # and all of it, not only its length
        assert np.hypot(*skirt.edge(name).points.T) == pytest.approx(at, rel=1e-4)
    (seam,) = walk(graded[size])
    assert not seam.faults
    assert seam.first == pytest.approx(waist, rel=1e-4)


@pytest.mark.parametrize("size", SIZES)
def test_every_size_of_an_ellipse_neck_is_one(graded, size):
    step = SIZES.index(size) - BASE
    top = graded[size].piece("Top")
    a, b = ACROSS + step * ACROSS_STEP, DOWN + step * DOWN_STEP
    neck = top.edge("neck").points
    assert length(neck) == pytest.approx(ellipse_quarter(a, b), rel=1e-4)
    assert (neck[:, 0] / a) ** 2 + ((neck[:, 1] - 400) / b) ** 2 == pytest.approx(1, abs=2e-4)


def test_the_integral_is_the_circle_s_where_both_axes_are_equal():
    assert ellipse_quarter(80.0, 80.0) == pytest.approx(pi * 40.0)


SHIRT = """[set]
name = "Shirt"
style = "SH-1"
[sizes]
base = "M"
range = ["S", "M", "L"]
[[piece]]
name = "Back"
from = { file = "back.svg", outline = "#cut" }
edges = ["hem", "side", "raglan", "neck", "fold"]
start = [0, 0]
fold = "fold"
cut = [{ cloth = "self", on-fold = true }]
grade = [
  { corner = ["hem", "side"], x = 0 }, { corner = ["side", "raglan"], x = 0, y = 0 },
  { corner = ["raglan", "neck"], y = 0 }, { edge = "hem", at = "40 %", y = X },
]
"""


@pytest.mark.parametrize("growth", ["0", "[0, 0, 9]"])
def test_no_growth_gives_the_very_same_curves(tmp_path, growth):
    """Bit by bit: an edge cut off at its own length must not be computed anew."""
    (tmp_path / "back.svg").write_text(
        svg("M 0 0 L 260 0 L 260 -480 C 220 -500 140 -620 80 -800 A 80 30 0 0 1 0 -770 Z")
    )
    (tmp_path / "set.toml").write_text(SHIRT.replace("y = X", f"y = {growth}"))
    (tmp_path / "plain.toml").write_text(SHIRT[: SHIRT.index("grade = [")])
    plain = job.open_set(tmp_path / "plain.toml").in_size("M").pieces[0]
    whole = job.open_set(tmp_path / "set.toml")
    for size in whole.sizes:
        same = [
            one.points.tobytes() == other.points.tobytes()
            for one, other in zip(whole.in_size(size).pieces[0].edges, plain.edges, strict=True)
        ]
        moved = growth != "0" and size == "L"  # a point of the hem: no other edge changes
        assert same == [not moved, True, True, True, True]
