"""Pictures: to scale (measured with svgpathtools and Pillow), told apart without colour."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest
import svgpathtools
from click.testing import CliRunner
from PIL import Image

from plotout.proof.picture import card_picture, laid_picture, sheet_picture, to_png, to_svg
from plotout.proof.scene import STYLES
from plotout.proof.summary import summarise

from .conftest import emitted, interpreter, machine_for, program_for


@pytest.fixture
def scene(sheet):
    return sheet_picture(program_for(machine_for("hpgl")), sheet)


def test_svg_is_at_true_size(scene):
    root = ElementTree.fromstring(to_svg(scene))
    box = [float(value) for value in root.get("viewBox", "").split()]
    assert root.get("width") == f"{box[2]:.2f}mm"
    (stock,) = [e for e in root.iter() if e.get("class") == "stock"]
    left, right, low, high = svgpathtools.parse_path(stock.get("d")).bbox()
    assert (right - left, high - low) == pytest.approx((300.0, 200.0), abs=0.02)


def test_kinds_differ_by_more_than_colour(scene):
    looks = [(STYLES[kind].width, STYLES[kind].dashes) for kind in scene.kinds if kind != "words"]
    assert len(looks) == len(set(looks))


def test_png_is_as_wide_as_asked_and_has_the_drawing(scene):
    image = Image.open(io.BytesIO(to_png(scene, 900)))
    assert image.width == 900
    ratio = (scene.high[1] - scene.low[1]) / (scene.high[0] - scene.low[0])
    assert image.height / image.width == pytest.approx(ratio, abs=0.01)
    pixels = np.asarray(image.convert("RGB")).astype(int)
    blue = np.abs(pixels - np.array([0x06, 0x1F, 0x55])).sum(axis=2) < 30
    _, xs = np.nonzero(blue)
    across = (xs.max() - xs.min()) / 900 * (scene.high[0] - scene.low[0])
    assert across > 200.0  # the outlines reach from x 30 to x 280 mm


def test_the_same_scene_gives_the_same_bytes(scene):
    assert to_png(scene) == to_png(scene)
    assert to_svg(scene) == to_svg(scene)


def test_titles_are_text_not_markup(sheet):
    card = replace(sheet.placed[0].card, title="<b>&\"'")
    root = ElementTree.fromstring(to_svg(card_picture(card)))
    assert root[0].text == "<b>&\"': card 1 of 1"
    assert to_svg(laid_picture(sheet))


def test_summary_of_a_good_file(sheet):
    program, data = emitted("hpgl", sheet)
    told = summarise(interpreter("hpgl").read(data, program.machine), program.machine)
    assert told.faults == ()
    assert told.changes == 1
    assert told.bounds == pytest.approx((30.0, 22.9, 280.0, 177.1), abs=1.0)


def test_summary_of_a_file_that_would_do_harm():
    machine = machine_for("hpgl")
    data = b"IN;SP7;VS99;PU0,0;PD99999,0;"
    told = summarise(interpreter("hpgl").read(data, machine), machine)
    words = " ".join(told.faults)
    for part in ("tool up", "off the bed", "tool 7", "feed to 990"):
        assert part in words


def test_the_command_reports_a_file_from_elsewhere(tmp_path):
    from plotout.cli.proof_command import proof

    file = tmp_path / "odd.plt"
    file.write_bytes(b"IN;SP1;PU0,0;PD400,0;PU;ZZ9;SP0;")
    result = CliRunner().invoke(proof, [str(file), "--machine", "craft-cutter", "--json"])
    told = json.loads(result.output)
    assert told["work_mm"] == 10.0
    assert told["bounds_mm"] == [0.0, 0.0, 10.0, 0.0]
    assert told["unknown"] == ["ZZ: not followed"]
