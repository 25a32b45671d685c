"""HP-GL and HP-GL/2 are read back with ezdxf's HPGL/2 interpreter (ezdxf.addons.hpgl2)."""

import re
from dataclasses import replace

import numpy as np
import pytest
from ezdxf.addons.hpgl2.backend import Backend
from ezdxf.addons.hpgl2.interpreter import Interpreter
from ezdxf.addons.hpgl2.plotter import Plotter
from ezdxf.addons.hpgl2.tokenizer import hpgl2_commands, pe_encode
from hand_built import BLADE, HOSTILE, PEN, chains, machine, program, run, scattered, sheet
from hypothesis import given
from hypothesis import strategies as st
from plotout_hpgl import plotout_drivers
from plotout_hpgl.encoding import encode

from plotout import ToolKind, UserError, plugins
from plotout.machine import Bed
from plotout.proof import verify

DRIVERS = {driver.name: driver for driver in plotout_drivers()}
WAYS = [
    ("hpgl", "absolute"),
    ("hpgl", "relative"),
    ("hpgl2", "absolute"),
    ("hpgl2", "relative"),
    ("hpgl2", "encoded"),
]


class Chains(Backend):
    """Joins what is drawn without a lift: (pen, points in plotter units)."""

    def __init__(self):
        self.drawn = []

    def draw_polyline(self, properties, points):
        line = [(p.x, p.y) for p in points]
        if self.drawn and self.drawn[-1][1][-1] == line[0]:
            self.drawn[-1][1].extend(line[1:])
        else:
            self.drawn.append((properties.pen_index, line))

    def draw_paths(self, properties, paths, filled):
        raise AssertionError("nothing is filled")


def read_back(data):
    backend = Chains()
    interpreter = Interpreter(Plotter(backend))
    interpreter.run(hpgl2_commands(data if data.startswith(b"\x1b") else b"\x1b%1B" + data))
    assert not interpreter.errors
    assert interpreter.not_implemented_commands <= {"IN", "VS", "FS", "PG"}
    return backend.drawn


@pytest.mark.parametrize(("name", "polylines"), WAYS)
def test_read_back_is_what_was_meant(name, polylines):
    runs = scattered()
    wanted = chains(runs)
    data = DRIVERS[name].emit(program(runs, machine({"polylines": polylines})), sheet())
    drawn = read_back(data)
    assert len(drawn) == len(wanted)
    for (_, line), meant in zip(drawn, wanted, strict=True):
        steps = np.array(line)
        places = np.rint(meant / 0.025)
        kept = np.concatenate([[True], (np.diff(places, axis=0) != 0).any(axis=1)])
        assert np.abs(steps * 0.025 - meant[kept]).max() <= 0.0125 + 1e-9  # half a step


@pytest.mark.parametrize("step", [0.5, 0.1, 0.0254, 0.02488, 0.01, 0.001])
@pytest.mark.parametrize(("name", "polylines"), WAYS)
def test_a_machine_with_another_unit_is_given_its_own(name, polylines, step):
    """Half a unit off in x and y is as true as whole units can say."""
    runs = scattered(12)
    here = machine({"polylines": polylines}, driver=name, step=step)
    data = DRIVERS[name].emit(program(runs, here), sheet())
    for (_, line), meant in zip(read_back(data), chains(runs), strict=True):
        places = np.rint(meant / step)
        kept = np.concatenate([[True], (np.diff(places, axis=0) != 0).any(axis=1)])
        assert np.abs(np.array(line) * step - meant[kept]).max() <= step / 2.0 + 1e-9
    reader = plugins.interpreter_for(name)
    assert verify(program(runs, here), sheet(), data, reader) == ()
    other = replace(here, step=1.03 * step)
    assert "off course" in verify(program(runs, other), sheet(), data, reader)[0]
    (note,) = DRIVERS[name].as_driven(here).notes[:1]
    assert f"a coordinate unit is {step:g} mm" in note


def test_a_unit_too_small_for_the_numbers_of_hpgl_is_refused():
    DRIVERS["hpgl"].check(machine(step=0.0001))
    with pytest.raises(UserError, match="more than HP-GL's greatest number, 8388608"):
        DRIVERS["hpgl"].check(machine(step=0.0001, bed=Bed(840.0, 300.0)))


@pytest.mark.parametrize(("name", "polylines"), WAYS)
def test_pens_are_chosen(name, polylines):
    runs = (run([[1, 1], [2, 2]]), run([[3, 3], [4, 9]], BLADE), run([[5, 5], [6, 6]], PEN))
    data = DRIVERS[name].emit(program(runs, machine({"polylines": polylines})), sheet())
    assert [pen for pen, _ in read_back(data)] == [1, 2, 1]
    assert data.rstrip().endswith((b"PU;SP0;", b"PU;SP0;PG;"))


@pytest.mark.parametrize(
    ("axes", "origin", "at"),
    [
        ("xy", "lower left", (400, 800)),
        ("yx", "lower left", (800, 400)),
        ("x-y", "upper left", (400, 11200)),
        ("xy", "centre", (400 - 12000, 800 - 6000)),
    ],
)
def test_axes_and_origin(axes, origin, at):
    runs = (run([[10, 20], [11, 20]]),)
    data = DRIVERS["hpgl"].emit(program(runs, machine(axes=axes, origin=origin)), sheet())
    assert f"PU{at[0]},{at[1]};".encode() in data


def test_force_and_speed_change_with_the_tool_down():
    runs = (
        run([[0, 0], [10, 0]], BLADE),
        run([[10, 0], [20, 0]], BLADE, follows=True, force=80.4, feed=120.0),
    )
    text = DRIVERS["hpgl"].emit(program(runs), sheet()).decode()
    assert "VS3;FS120;PD400,0;\nVS12;FS80;PD800,0;\nPU;SP0;" in text


def test_hpgl2_has_no_force():
    text = DRIVERS["hpgl2"].emit(program((run([[0, 0], [10, 0]], BLADE),)), sheet())
    assert b"FS" not in text


@pytest.mark.parametrize(("name", "polylines"), WAYS)
def test_a_single_point_is_down_and_up(name, polylines):
    runs = (run([[10, 10]], BLADE), run([[20, 20]], BLADE))
    text = DRIVERS[name].emit(program(runs, machine({"polylines": polylines})), sheet()).decode()
    text = re.sub(r"(VS|FS|PR|PA)\d*;|\n", "", text)
    assert "PU400,400;PD;PU800,800;PD;PU;SP0;" in text


@given(st.lists(st.integers(-(2**31), 2**31), min_size=1, max_size=50))
def test_encoded_numbers_are_those_of_ezdxf(values):
    assert encode(values) == b"".join(pe_encode(value) for value in values)


def test_a_long_encoded_file_is_about_a_third_of_an_absolute_one():
    """The ratio is that of HP-GL/2's reference guide, which says about a third."""
    angle = np.linspace(0.0, 2.0 * np.pi, 5000)
    circle = np.column_stack([300 + 140 * np.cos(angle), 150 + 140 * np.sin(angle)])
    sizes = [
        len(DRIVERS["hpgl2"].emit(program((run(circle),), machine({"polylines": way})), sheet()))
        for way in ("absolute", "encoded")
    ]
    assert sizes[1] / sizes[0] < 0.4


@pytest.mark.parametrize("name", ["hpgl", "hpgl2"])
@pytest.mark.parametrize("hostile", HOSTILE)
def test_a_name_changes_nothing(name, hostile):
    runs = scattered(6)
    plain = DRIVERS[name].emit(program(runs), sheet())
    assert DRIVERS[name].emit(program(runs, name=hostile), sheet(name=hostile)) == plain


def test_an_empty_program_only_puts_the_pen_away():
    assert DRIVERS["hpgl"].emit(program(()), sheet()) == b"IN;PA;\nPU;SP0;\n"


def test_a_profile_that_cannot_be_served_is_refused():
    with pytest.raises(UserError, match="'encoded' is not one of its words"):
        DRIVERS["hpgl"].check(machine({"polylines": "encoded"}))
    with pytest.raises(UserError, match="number 0"):
        DRIVERS["hpgl"].check(machine(tools=(type(PEN)("pen", 0, PEN.kind, PEN.does, PEN.speed),)))
    knife = replace(PEN, kind=ToolKind.TANGENTIAL_KNIFE)
    with pytest.raises(UserError, match="no instruction that turns one"):
        DRIVERS["hpgl"].check(machine(tools=(knife,)))
