"""G-code is read back with pygcode, an independent parser and virtual machine of RS-274/NGC."""

import re

import numpy as np
import pytest
import shapely
from hand_built import (
    BLADE,
    HEIGHT,
    HOSTILE,
    PEN,
    WIDTH,
    chains,
    machine,
    program,
    run,
    scattered,
    sheet,
)
from plotout_gcode import plotout_drivers
from pygcode import Line, Machine
from scipy.interpolate import CubicSpline

from plotout import Mark, Stroke, Tool, ToolKind, UserError, Work
from plotout.tool import compile_sheet

[DRIVER] = plotout_drivers()
KNIFE = Tool("knife", 3, ToolKind.TANGENTIAL_KNIFE, (Work.CUT,), 100.0, depth=1.5)


def emit(runs, options=None, name="sheet 1", **changes):
    return DRIVER.emit(program(runs, machine(options, **changes), name), sheet()).decode("ascii")


def obeyed(text):
    """Each stretch with the tool down, in mm, as pygcode's machine moves; whether it ends up."""
    device, unit = Machine(), 1.0
    level, on, by_z, found, path = 1.0, False, False, [], None
    for line in text.splitlines():
        block = Line(line).block
        device.process_block(block)
        words = {str(code.word_key or code.word) for code in block.gcodes}
        unit = {"G20": 25.4}.get(next(iter(words), ""), unit)
        on = (on or bool(words & {"M03", "M04"})) and "M05" not in words
        moves = [code for code in block.gcodes if str(code.word_key) in ("G00", "G01")]
        by_z = by_z or (" Z" in line and not line.startswith("("))
        level = float(device.pos.Z) if by_z else (0.0 if on else 1.0)
        at = (float(device.pos.X) * unit, float(device.pos.Y) * unit)
        if level > 0.0:
            path = None
        elif path is None:
            path = [at]
            found.append(path)
        elif moves and at != path[-1]:
            assert "G00" not in words, "a rapid move with the tool down"
            path.append(at)
    return [np.array(each) for each in found], level > 0.0 and not on


def apart(one, other):
    """The Hausdorff distance between two lines, mm; each is asked every 0.3 mm along."""
    if len(one) < 2 or len(other) < 2:
        return float(np.abs(one[:1] - other[:1]).max())
    lines = [shapely.LineString(each) for each in (one, other)]
    dense = [shapely.points(shapely.get_coordinates(shapely.segmentize(e, 0.3))) for e in lines]
    return max(
        shapely.distance(dense[0], lines[1]).max(), shapely.distance(dense[1], lines[0]).max()
    )


@pytest.mark.parametrize("tool", ["z", "spindle", "laser"])
@pytest.mark.parametrize("units", ["mm", "inch"])
def test_read_back_is_what_was_meant(tool, units):
    runs = scattered()
    wanted = chains(runs)
    paths, ends_up = obeyed(emit(runs, {"tool": tool, "units": units}, step=0.01))
    assert ends_up
    assert len(paths) == len(wanted)
    for path, meant in zip(paths, wanted, strict=True):
        assert np.abs(path[[0, -1]] - meant[[0, -1]]).max() < 0.001  # a tenth of a step
        assert apart(path, meant) < 0.005


def test_ends_with_tool_up_output_off_and_the_end():
    for tool, end in (("z", "G0 Z5.000\nM5\nM2\n"), ("laser", "M5\nM2\n")):
        assert emit(scattered(4), {"tool": tool}).endswith(end)
    assert emit(()).endswith("M5\nM2\n")


def test_a_beam_is_off_while_it_travels():
    lines = emit(scattered(6), {"tool": "laser", "change": "none"}).splitlines()
    on = False
    for line in lines:
        on = (on or line.startswith("M4")) and line != "M5"
        assert not (on and line.startswith("G0"))
    assert any(line.startswith("M4 S200") for line in lines)  # 20 % of 1000


def test_power_changes_with_the_beam_on():
    runs = (
        run([[0, 0], [10, 0]], BLADE),
        run([[10, 0], [20, 0]], BLADE, follows=True, power=30.0),
    )
    text = emit(runs, {"tool": "laser", "change": "none", "full": 255})
    assert "M4 S153\nG1 X10.000 Y0.000 F2100\nS76.5\nG1 X20.000 Y0.000" in text


def test_depth_is_below_the_face_and_feeds_are_a_minute():
    text = emit((run([[1, 2], [3, 4]], BLADE),), {"plunge": 8})
    assert "G0 X1.000 Y2.000\nG1 Z-1.200 F480\nG1 X3.000 Y4.000 F2100\nG0 Z5.000" in text
    inch = emit((run([[25.4, 0], [50.8, 0]], BLADE, feed=25.4),), {"units": "inch"})
    assert "G1 X2.00000 Y0.00000 F60\n" in inch


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("by hand", "(tool 2 blade)\nT2 M6\nM0\n"),
        ("automatic", "(tool 2 blade)\nT2 M6\nG0"),
        ("none", "M5\nG0"),
    ],
)
def test_tools_are_changed(change, words):
    runs = (run([[0, 0], [1, 1]], PEN), run([[5, 5], [6, 6]], BLADE))
    text = emit(runs, {"change": change})
    assert "G0 Z5.000\nM5\n" + words.removeprefix("M5\n") in text


@pytest.mark.parametrize(("axes", "meant"), [("xy", (0, 90)), ("yx", (90, 0)), ("-xy", (180, 90))])
def test_a_knife_is_turned_along_its_way(axes, meant):
    """The blade's heading follows the machine's own axes, and it turns alone in a corner."""
    runs = (
        run([[30, 30], [40, 30], [40, 30], [40, 50]], KNIFE, angles=np.array([0, 0, 90, 90.0])),
    )
    text = emit(runs, {"rotary": "A"}, axes=axes, tools=(KNIFE,))
    found = [float(angle) for angle in re.findall(r"A(-?[\d.]+)", text)]
    assert found == [meant[0], meant[0], meant[1], meant[1]]
    alone = f"G1 A{meant[1]:.3f} F10800\n"
    assert alone in text
    assert text.split(alone)[1].startswith("G1 X")
    assert text.split(alone)[1].splitlines()[0].endswith("F6000")


def test_runs_worked_on_in_turns_are_as_those_worked_on_at_once(monkeypatch):
    round_ = 50.0 + 30.0 * np.column_stack([np.cos(np.arange(40) / 20), np.sin(np.arange(40) / 20)])
    angles = np.linspace(0.0, 90.0, 40)
    runs = (run(round_), run([[1, 1], [9, 9]], follows=True), run(round_, KNIFE, angles=angles),
            run(round_[::-1], KNIFE, angles=angles, follows=True), run([[5, 5]]))  # fmt: skip
    options = {"rotary": "A", "change": "automatic"}
    at_once = emit(runs, options, tools=(PEN, KNIFE))
    for points in (1, 45, 100):
        monkeypatch.setattr("plotout_gcode.motion.AT_ONCE", points)
        assert emit(runs, options, tools=(PEN, KNIFE)) == at_once


def test_a_dot_of_a_beam_stands_and_a_dot_of_a_tool_dips():
    """In laser mode a beam burns only after G1, G2 or G3 (the public notes of the most used
    open-source three-axis control, version 1.1, from memory).
    """
    beam = emit((run([[1, 1]]),), {"tool": "laser", "change": "none"})
    assert re.search(r"G0 X1.000 Y1.000\nG1 F[\d.]+\nM3 S200\nG4 P0.05\nM5\nM2", beam)
    dipped = emit((run([[1, 1]], BLADE),))
    assert "G0 X1.000 Y1.000\nG1 Z-1.200 F600\nG0 Z5.000" in dipped


@pytest.mark.parametrize("hostile", HOSTILE)
def test_a_name_stays_within_its_comment(hostile):
    runs = scattered(6)
    text = emit(runs, name=hostile, tools=(PEN, Tool(hostile, 2, BLADE.kind, BLADE.does, 1.0,
                depth=1.0)))  # fmt: skip
    plain = emit(runs)

    def commands(lines):
        return [line for line in lines.splitlines() if not re.fullmatch(r"\([^()]*\)", line)]

    assert commands(text) == commands(plain)
    comments = "".join(line for line in text.splitlines() if line.startswith("("))
    assert re.fullmatch(r"[A-Za-z0-9 .,_+()-]*", comments)
    assert max(len(line) for line in text.splitlines()) <= 80


@pytest.mark.parametrize(
    ("options", "tool"),
    [
        ({"units": "furlong"}, PEN),
        ({"tool": "lazer"}, PEN),
        ({"up": 0}, PEN),
        ({"up": "high"}, PEN),
        ({"tool": "laser"}, Tool("beam", 1, ToolKind.BEAM, (Work.CUT,), 10.0)),
        ({}, Tool("blade", 1, ToolKind.TRAILING_BLADE, (Work.CUT,), 10.0)),
        ({}, KNIFE),
    ],
)
def test_a_profile_that_cannot_be_served_is_refused(options, tool):
    with pytest.raises(UserError):
        DRIVER.check(machine(options, tools=(tool,)))


@pytest.mark.parametrize(("units", "per_mm"), [("mm", 1.0), ("inch", 1 / 25.4)])
@pytest.mark.parametrize(("axes", "word", "turn"), [("xy", "G03", 1.0), ("yx", "G02", -1.0)])
def test_a_flattened_circle_is_cut_as_arcs(units, per_mm, axes, word, turn):
    """NIST IR 6556, 3.5.3.1: the radii to both ends must agree to 0.002 mm, or 0.0002 in."""
    radius, chord_error, middle = 80.0, 0.004, np.array([200.0, 150.0])
    angle = np.linspace(0.0, 2.0 * np.pi, int(np.pi / np.arccos(1 - chord_error / radius)) + 2)
    circle = middle + radius * np.column_stack([np.cos(angle), np.sin(angle)])
    text = emit((run(circle),), {"units": units}, axes=axes, step=0.01)
    there = middle[::-1] if axes == "yx" else middle
    device, sweeps, at = Machine(), [], None
    for line in text.splitlines():
        block = Line(line).block
        device.process_block(block)
        for code in block.gcodes:
            if str(code.word_key) in ("G02", "G03"):
                assert str(code.word_key) == word
                said = {letter: value.value for letter, value in code.params.items()}
                centre = at + np.array([said["I"], said["J"]])
                spokes = at - centre, np.array([said["X"], said["Y"]]) - centre
                sizes = [np.hypot(*spoke) for spoke in spokes]
                assert abs(sizes[0] - sizes[1]) < (0.0002 if units == "inch" else 0.002)
                assert abs(sizes[0] / per_mm - radius) < 0.01
                assert np.hypot(*(centre / per_mm - there)) < 0.01
                one, two = (np.arctan2(spoke[1], spoke[0]) for spoke in spokes)
                sweeps.append(float((two - one) * turn % (2.0 * np.pi)))
        at = np.array([float(device.pos.X), float(device.pos.Y)])
    assert sum(sweeps) == pytest.approx(2.0 * np.pi, abs=1e-4)
    assert len(sweeps) <= 4


def followed(text):
    """Where G1, G2 and G3 lead from the only G0 in X and Y on, mm: arcs by I, J, densely."""
    points = []
    for line in text.splitlines():
        words = dict(re.findall(r"([GXYIJ])(-?[\d.]+)", line))
        if "X" not in words or line.startswith("("):
            continue
        end = np.array([float(words["X"]), float(words["Y"])])
        if "I" in words:
            centre = points[-1] + [float(words["I"]), float(words["J"])]
            (x, y), (u, v) = points[-1] - centre, end - centre
            sense = 1.0 if words["G"] == "3" else -1.0
            sweep = sense * ((np.arctan2(v, u) - np.arctan2(y, x)) * sense % (2.0 * np.pi))
            widest = 2.0 * np.arccos(1.0 - min(2e-4 / np.hypot(x, y), 1.0))  # 0.0002 mm of sagitta
            share = np.linspace(0.0, 1.0, 3 + int(abs(sweep) / widest))[1:-1]
            turn = np.arctan2(y, x) + sweep * share
            radius = np.hypot(x, y) + (np.hypot(u, v) - np.hypot(x, y)) * share
            points += list(centre + radius[:, None] * np.column_stack([np.cos(turn), np.sin(turn)]))
        points.append(end)
    return np.array(points)


@pytest.mark.parametrize("seed", range(4))
def test_arcs_stay_within_half_a_step_of_a_curve(seed):
    """A spline (scipy), flattened to 0.003 mm; rounding of coordinates adds a tenth of a step."""
    corners = np.random.default_rng(seed).uniform((60, 60), (540, 240), (6, 2))
    curve = CubicSpline(np.arange(6), corners)(np.linspace(0.0, 5.0, 20001))
    curve = np.clip(curve, 1.0, (WIDTH - 1.0, HEIGHT - 1.0))
    line = np.asarray(shapely.LineString(curve).simplify(0.003).coords)
    device = machine({"units": "mm"}, step=0.01)
    data = DRIVER.emit(program((run(line),), device), sheet())
    assert len(re.findall(rb"\nG[123] ", data)) < len(line) / 2
    assert re.search(rb"\nG[23] ", data)
    assert apart(followed(data.decode()), line) <= 0.005 + 0.001


@pytest.mark.parametrize("step", [0.01, 0.025])
def test_what_is_drawn_and_what_the_file_holds_are_half_a_step_apart(step):
    """From stroke to file, arcs and all; rounding of coordinates comes to a tenth of a step."""
    angle = np.linspace(0.0, 2.0 * np.pi, 400)
    waves = 60.0 + 9.0 * np.cos(5 * angle) + 3.0 * np.sin(11 * angle)
    curve = waves[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
    across = CubicSpline(angle, np.vstack([curve[:-1], curve[:1]]), bc_type="periodic")
    ring = across(np.linspace(0.0, 2.0 * np.pi, 3000)) + np.array([150.0, 150.0])
    ring[-1] = ring[0]
    beam = Tool("beam", 2, ToolKind.BEAM, (Work.CUT,), 20.0, power=80.0)
    device = machine({"tool": "laser", "change": "none"}, step=step, tools=(beam,))
    stroke = Stroke(ring, Work.CUT, Mark.INTERNAL)
    made = compile_sheet(sheet(), [stroke], device, arcs=DRIVER.arcs)
    data = DRIVER.emit(made, sheet())
    assert len(re.findall(rb"\nG[23] ", data)) > 20
    assert len(data.splitlines()) < 150
    assert apart(followed(data.decode()), ring) <= 0.5 * step + 0.1 * step
