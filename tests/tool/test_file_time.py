"""The time that is told, against an integration of the file that is sent.

The integration reads the file's own words (G0 to G4, F, Z and A; PU, PD, VS, SP) and drives each
move through the trapezoid of `test_time`, which shares no code with the estimate. What a file can't
say is the profile's: acceleration, speed of travel, junction, the time of a change of tool, and how
long an HP-GL machine takes to lift its pen.
"""

from __future__ import annotations

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from test_time import integrated

from plotout import job, plugins
from plotout.geometry.lettering import text_lines
from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.layout.stock.model import StockSheet, window_of
from plotout.model import Card, Placed, Sheet
from plotout.proof.summary import summarise
from plotout.route import order
from plotout.sheet_job import make_sheet
from plotout.tool import compile_sheet

ARC = 0.004  # mm: how far a flattened arc may be off, as in what was drawn


def card(nth: int) -> Card:
    """Return a card with a round side, acute corners, slits, a hole and lettering."""
    turn = np.linspace(0.0, np.pi / 2, 60)
    bow = np.column_stack([60 + 50 * np.sin(turn), 70 * np.cos(turn)])[::-1]
    ring = np.vstack([[[0, 0]], bow, [[18, 66], [0, 0]]])
    name = f"c{nth}"

    def stroke(points, work, mark, size=0.0):
        return Stroke(np.asarray(points, float), work, mark, name, size)

    strokes = [stroke(ring, Work.CUT, Mark.OUTLINE), stroke([[50, 60]], Work.PUNCH, Mark.HOLE, 8.0)]
    strokes += [stroke([[x, 0], [x, 5]], Work.CUT, Mark.NOTCH) for x in (25.0, 60.0, 90.0)]
    strokes += [
        stroke(line + np.array([22, 20]), Work.DRAW, Mark.LETTERING)
        for line in text_lines(f"Cut 2 of card {nth}", 5)
    ]
    return Card(name, name, name, nth, 6, ring, tuple(strokes))


def sheet() -> Sheet:
    placed = [Placed(card(n), 8.0 * n, (70.0 + 165.0 * (n % 3), 40.0 + 125.0 * (n // 3)))
              for n in range(6)]  # fmt: skip
    return Sheet("sheet", 1, 600.0, 300.0, tuple(placed))


def rest(distance: float, speed: float, rate: float) -> float:
    ramp = speed * speed / rate
    if distance <= ramp:
        return 2.0 * math.sqrt(distance / rate)
    return distance / speed + speed / rate


class Clock:
    """Adds up the seconds of moves; what goes on without stopping is driven as one."""

    def __init__(self, motion) -> None:
        self.motion, self.seconds = motion, 0.0
        self.points, self.feeds = [], []

    def along(self, at, to, feed) -> None:
        self.points = self.points or [at]
        if math.dist(self.points[-1], to) > 1e-9:
            self.points.append(to)
            self.feeds.append(feed)

    def stop(self) -> None:
        if len(self.points) > 1:
            self.seconds += integrated(np.array(self.points), self.feeds, self.motion)
        self.points, self.feeds = [], []

    def travel(self, at, to, turn=0.0) -> None:
        self.stop()
        far = [abs(a - b) for a, b in zip(at, to, strict=True)]
        whole = max(far) if self.motion.independent else math.hypot(*far)
        self.seconds += max(rest(whole, self.motion.travel_speed, self.motion.acceleration), turn)


def arc(at, to, middle, way):
    radius = math.dist(at, middle)
    begin = math.atan2(at[1] - middle[1], at[0] - middle[0])
    sweep = math.atan2(to[1] - middle[1], to[0] - middle[0]) - begin
    sweep = way * ((way * sweep) % (2 * math.pi) or 2 * math.pi)
    count = max(1, math.ceil(abs(sweep) / (2 * math.acos(1 - min(0.5, ARC / radius)))))
    return [
        (middle[0] + radius * math.cos(begin + sweep * k / count),
         middle[1] + radius * math.sin(begin + sweep * k / count))
        for k in range(1, count + 1)
    ]  # fmt: skip


def gcode_seconds(data: bytes, machine) -> float:
    motion, changes = machine.motion, 0
    clock, at, z, a, feed, mode = Clock(motion), (0.0, 0.0), None, 0.0, 0.0, 0
    for line in re.sub(r"\(.*?\)", "", data.decode()).splitlines():
        words = [(letter, float(value)) for letter, value in re.findall(r"([A-Z])(-?[\d.]+)", line)]
        value = dict(words)
        codes = [int(v) for letter, v in words if letter == "G"]
        feed = value.get("F", feed * 60.0) / 60.0
        changes += value.get("M") == 6
        if 4 in codes:
            clock.stop()
            clock.seconds += value["P"]
            continue
        mode = next((code for code in codes if code in (0, 1, 2, 3)), mode)
        to = (value.get("X", at[0]), value.get("Y", at[1]))
        if "Z" in value:
            clock.stop()
            if z is not None:
                speed = motion.travel_speed if mode == 0 else feed
                clock.seconds += rest(abs(value["Z"] - z), speed, motion.acceleration)
            z = value["Z"]
        turn = abs(value.get("A", a) - a)
        if mode == 0 and (to != at or turn):
            clock.travel(at, to, turn / machine.motion.turning)
        elif mode == 1 and to != at:
            clock.along(at, to, feed)
        elif mode == 1 and turn:
            clock.stop()
            clock.seconds += turn / feed
        elif mode in (2, 3) and "I" in value:
            middle = (at[0] + value["I"], at[1] + value["J"])
            for point in arc(at, to, middle, 1 if mode == 3 else -1):
                clock.along(clock.points[-1] if clock.points else at, point, feed)
        at, a = to, value.get("A", a)
    clock.stop()
    start = float(machine.options.get("start", 0.0))
    return clock.seconds + changes * (motion.change - start)


def hpgl_seconds(data: bytes, machine) -> float:
    motion, clock, at, speed, down, pens = (
        machine.motion,
        Clock(machine.motion),
        (0, 0),
        0,
        False,
        0,
    )
    for word in re.findall(r"[A-Z]{2}[^;A-Z]*", data.decode("latin-1")):
        name, rest_of = word[:2], [float(v) for v in re.findall(r"-?[\d.]+", word[2:])]
        if name == "VS":
            speed = 10.0 * rest_of[0]
        if name == "SP" and rest_of and rest_of[0] > 0:
            pens += 1
        if name not in ("PU", "PD"):
            continue
        if down is not (name == "PD"):
            clock.stop()
            clock.seconds += motion.lower if name == "PD" else motion.lift
        down = name == "PD"
        for x, y in zip(rest_of[::2], rest_of[1::2], strict=True):
            to = (x * machine.step, y * machine.step)
            if down:
                clock.along(at, to, speed)
            elif to != at:
                clock.travel(at, to)
            at = to
    clock.stop()
    return clock.seconds + pens * motion.change


@pytest.mark.parametrize(
    "name", ["craft-cutter", "roll-plotter", "gantry-knife", "router", "laser"]
)
def test_the_told_time_is_that_of_the_file_within_five_per_cent(name):
    machine = job.load_machine(name)
    if machine.driver == "hpgl2":
        machine = replace(machine, options=dict(machine.options) | {"polylines": "absolute"})
    driver = plugins.driver(machine.driver)
    laid = sheet()
    strokes = order(laid.strokes, machine=machine, steps=200).strokes
    program = compile_sheet(laid, strokes, machine, arcs=driver.arcs)
    data = driver.emit(program, laid)
    read = gcode_seconds if driver.name == "gcode" else hpgl_seconds
    there = read(data, machine)
    assert program.seconds == pytest.approx(there, rel=0.05)
    interpreter = plugins.interpreter_for(driver.name)
    assert interpreter is not None
    proved = summarise(interpreter.read(data, machine), machine)
    assert proved.seconds == pytest.approx(there, rel=0.05)
    assert sum(program.seconds_by_tool.values()) == pytest.approx(program.seconds)


@pytest.mark.parametrize("advance", ["automatic", "by hand"])
def test_a_roll_in_frames_takes_the_time_of_its_files(advance):
    """Each file asks for its pen; one file for all frames asks for it again only where it changes.

    The integration knows no frames: the moves between them, some 2 s, are left to the tolerance.
    """
    machine = job.load_machine("roll-plotter")
    machine = replace(
        machine, bed=replace(machine.bed, window=250.0, advance=advance),
        options=dict(machine.options) | {"polylines": "absolute"},
        motion=replace(machine.motion, change=60.0),
    )  # fmt: skip
    laid = sheet()
    kind = StockSheet("roll", laid.width, laid.height, roll=True, window=window_of(machine, 250.0),
                      even=advance == "automatic")  # fmt: skip
    made = make_sheet(laid, machine, "roll", kind=kind)
    files = list(made.files.values())
    assert (len(files) == 1) == (advance == "automatic")
    there = sum(hpgl_seconds(data, machine) for data in files)
    assert made.program.seconds == pytest.approx(there, rel=0.05)
    assert sum(made.program.seconds_by_tool.values()) == pytest.approx(made.program.seconds)


def test_a_speed_that_a_file_cannot_say_is_told_and_timed_as_it_is_said(tmp_path):
    text = (plugins_folder() / "craft-cutter.toml").read_text()
    path = tmp_path / "mine.toml"
    path.write_text(text.replace('speed = "150 mm/s"', 'speed = "48 mm/s"'))
    machine = job.load_machine(str(path))
    assert machine.tools[0].speed == 40.0
    assert any("40 mm/s, not 48" in note for note in machine.notes)


def plugins_folder():
    from pathlib import Path

    import plotout

    return Path(plotout.__file__).parent / "machine" / "shipped"
