"""A test strip's fields are worked with what is written on them.

The reference walks through the file as its standard says: HP-GL's VS is cm/s for all that follows
and FS the force (HP 7550A manual); RS-274/NGC's F is mm/min, S the power, Z the depth (NIST IR
6556). It knows nothing of readers or drivers of plotout's.
"""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from plotout import UserError, job, plugins
from plotout.machine import ToolKind
from plotout.tool.strip import EDGE, FIELD, TURNING, strip, trials

CASES = [
    ("craft-cutter", "blade", None),
    ("craft-cutter", "blade", "speed"),
    ("craft-cutter", "pen", None),
    ("roll-plotter", "pen", None),
    ("gantry-knife", "knife", None),
    ("gantry-knife", "punch", None),
    ("gantry-knife", "creaser", None),
    ("laser", "cut", None),
    ("laser", "mark", None),
    ("router", "cutter", None),
    ("router", "cutter", "power"),
    ("router", "pen", None),
]


def hpgl(data: bytes, machine) -> list[tuple[np.ndarray, dict[str, float]]]:
    """Where the pen goes down, and the speed and force in force there."""
    found, now = [], {}
    for name, rest in re.findall(rb"([A-Z]{2})([-\d,]*);", data):
        numbers = [int(each) for each in rest.split(b",") if each]
        if name == b"VS":
            now = now | {"speed": 10.0 * numbers[0]}
        elif name == b"FS":
            now = now | {"force": float(numbers[0])}
        elif name == b"PD" and numbers:
            found += [(np.array(numbers[:2]) * machine.step, now)]
    return found


def gcode(data: bytes, machine) -> list[tuple[np.ndarray, dict[str, float]]]:
    """Where it works, and the feed, power and depth in force there."""
    found, now, at, z, mode = [], {}, [0.0, 0.0], 1.0, 0
    full = float(machine.options.get("full", 1000.0))
    for line in re.sub(r"\([^)]*\)", "", data.decode()).splitlines():
        words = {letter: float(value) for letter, value in re.findall(r"([A-Z])(-?[\d.]+)", line)}
        mode = int(words.get("G", mode)) if words.get("G", 9) < 4 else mode
        if "F" in words:
            now = now | {"speed": words["F"] / 60.0}
        if "S" in words:
            now = now | {"power": 100.0 * words["S"] / full}
        z = words.get("Z", z)
        at = [words.get("X", at[0]), words.get("Y", at[1])]
        working = z <= 0.0 if machine.options["tool"] == "z" else mode > 0
        if working and ("X" in words or "Z" in words):
            kept = now if "Z" not in words else {k: v for k, v in now.items() if k != "speed"}
            found.append((np.array(at), kept | {"depth": -z}))
    return found


@pytest.mark.parametrize(("name", "tool_name", "down"), CASES)
def test_each_field_is_worked_as_it_says(name, tool_name, down):
    machine = job.load_machine(name)
    if machine.driver == "hpgl2":
        machine = replace(machine, options=dict(machine.options) | {"polylines": "absolute"})
    tool = next(each for each in machine.tools if each.name == tool_name)
    tool = replace(tool, passes=1)
    fields = trials(machine, tool, down)
    rows, columns = ({each.name[at] for each in fields} for at in (0, 1))
    for key in fields[0].settings:
        values = sorted({each.settings[key] for each in fields})
        assert len(values) in (len(rows), len(columns))
        assert len(values) >= 4
        assert values[-1] <= {"speed": machine.motion.travel_speed, "power": 100.0}.get(key, 5000)
        assert key == "overcut" or getattr(tool, key) in values
    sheet, program = strip(machine, tool, fields)
    data = plugins.driver(machine.driver).emit(program, sheet)
    worked = (hpgl if "hpgl" in machine.driver else gcode)(data, machine)
    corner = np.array([max(side, 2.0) + machine.reach for side in machine.bed.margins[:2]])
    corner += np.array([0.0, TURNING]) + EDGE
    for nth, each in enumerate(fields):
        row, column = divmod(nth, len(columns))
        low = corner + np.array([column, len(rows) - 1 - row]) * FIELD
        inside = [
            told for at, told in worked
            if (low < at).all() and (at < low + np.array([24.0, 23.0])).all()
        ]  # fmt: skip
        assert inside
        for key in {"speed", "force", "power", "depth"} & each.settings.keys():
            most = max(told[key] for told in inside if key in told)
            assert most == pytest.approx(each.settings[key], rel=1e-3), (each.name, key)


def test_a_slow_pen_of_hpgl_gets_speeds_that_differ():
    """VS is whole cm/s: of 12 to 28 mm/s it can say 10 and 20 only; more apart are chosen."""
    machine = job.load_machine("craft-cutter")
    slow = replace(machine.tools[0], speed=20.0)
    speeds = sorted({each.settings["speed"] for each in trials(machine, slow, "speed")})
    assert speeds == [10.0, 20.0, 30.0]


def test_a_tool_at_the_greatest_speed_goes_no_faster():
    machine = job.load_machine("laser")
    fast = replace(machine.tools[1], speed=machine.motion.travel_speed, power=100.0)
    fields = trials(machine, fast)
    assert len(fields) == 25
    assert max(each.settings["speed"] for each in fields) == machine.motion.travel_speed
    assert max(each.settings["power"] for each in fields) == 100.0


def test_offsets_are_whole_steps_of_a_coarse_machine():
    machine = replace(job.load_machine("craft-cutter"), step=0.1)
    offsets = {each.settings["offset"] for each in trials(machine, machine.tools[2])}
    assert all(each / 0.1 == pytest.approx(round(each / 0.1)) for each in offsets)
    assert len(offsets) >= 4
    assert max(offsets) <= 1.5


def test_force_is_not_promised_where_the_language_has_none():
    """HP-GL/2 has no FS in this driver: a pen with a force can't be tried with others."""
    machine = job.load_machine("roll-plotter")
    pressed = replace(machine.tools[0], force=50.0)
    assert set(trials(machine, pressed)[0].settings) == {"speed", "overcut"}
    with pytest.raises(UserError, match="don't set it"):
        trials(machine, pressed, "force")


def test_a_speed_too_low_to_vary_is_told_as_such():
    """HP-GL has whole cm/s (HP 7550A manual): all that is near 10 mm/s is 1 cm/s."""
    machine = job.load_machine("roll-plotter")
    with pytest.raises(UserError, match="speed: files for 'roll-plotter' can't set it finely"):
        trials(machine, replace(machine.tools[0], speed=10.0))


def test_a_punch_makes_holes_and_is_varied_in_depth_alone():
    machine = job.load_machine("gantry-knife")
    punch = next(each for each in machine.tools if each.kind is ToolKind.PUNCH)
    fields = trials(machine, punch)
    _, program = strip(machine, punch, fields)
    assert len([run for run in program.runs if run.tool.number == punch.number]) == 2 * len(fields)
