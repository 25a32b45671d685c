"""A small sheet with every kind of work on it, and what reads its files."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from plotout import plugins
from plotout.geometry.lettering import text_lines
from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.machine import Bed, Machine, Tool, ToolKind
from plotout.model import Card, Placed, Program, Run, Sheet
from plotout.tool.timing import timed

WIDTH, HEIGHT = 300.0, 200.0
PEN = Tool("pen", 1, ToolKind.PEN, (Work.DRAW, Work.SCORE), 100.0, depth=0.2, power=20.0)
BLADE = Tool(
    "blade", 2, ToolKind.TRAILING_BLADE, (Work.CUT, Work.PUNCH), 50.0, depth=1.0, power=80.0
)


def machine_for(driver: str, **changes) -> Machine:
    kind = {"gcode": "router", "hpgl": "knife", "hpgl2": "pen"}.get(driver, "file")
    step = 0.01 if driver == "gcode" else 0.025
    machine = Machine("table", "The table", kind, driver, Bed(600, 400), (PEN, BLADE), step=step)
    return replace(machine, **changes)


def strokes() -> list[Stroke]:
    def card(points, work, mark, size=0.0):
        return Stroke(np.asarray(points, float), work, mark, "front", size)

    turn = np.linspace(0.0, 2.0 * np.pi, 181)
    curve = np.column_stack(
        [90 + 60 * np.cos(turn), 100 + 70 * np.sin(turn) * (1 + 0.2 * np.cos(3 * turn))]
    )
    curve[-1] = curve[0]
    box = [
        [180, 30],
        [280, 30],
        [280, 150],
        [262, 150],
        [260, 145],
        [258, 150],
        [180, 150],
        [180, 30],
    ]
    lines = [
        card(line + np.array([60, 100]), Work.DRAW, Mark.LETTERING)
        for line in text_lines("Cut 2", 7)
    ]
    return [
        *lines,
        card([[200, 40], [200, 140]], Work.DRAW, Mark.GRAIN),
        card([[190, 60], [270, 90]], Work.SCORE, Mark.INTERNAL),
        card([[90, 150]], Work.PUNCH, Mark.HOLE, 8.0),
        card(curve, Work.CUT, Mark.OUTLINE),
        card(box, Work.CUT, Mark.OUTLINE),
    ]  # fmt: skip


@pytest.fixture
def sheet() -> Sheet:
    drawn = tuple(strokes())
    card = Card("front", "Front", "Front", 1, 1, drawn[-1].points, drawn, (90.0, 150.0))
    return Sheet("sheet", 1, WIDTH, HEIGHT, (Placed(card, 0.0, (0.0, 0.0)),), stock="card")


def program_for(machine: Machine) -> Program:
    runs = []
    for stroke in strokes():
        tool = next(tool for tool in machine.tools if stroke.work in tool.does)
        runs.append(
            Run(stroke.points, tool, stroke, tool.speed, tool.force, tool.power, tool.depth)
        )
    runs[-1:] = split_in_two(runs[-1])
    return Program("sheet", machine, WIDTH, HEIGHT, tuple(runs), timed(runs, machine)[0])


def split_in_two(run: Run) -> list[Run]:
    return [
        replace(run, points=run.points[:4]),
        replace(run, points=run.points[3:], follows=True, feed=run.feed / 2),
    ]


def emitted(driver: str, sheet: Sheet, **changes) -> tuple[Program, bytes]:
    program = program_for(machine_for(driver, **changes))
    return program, plugins.driver(driver).emit(program, sheet)


def interpreter(driver: str):
    found = plugins.interpreter_for(driver)
    assert found is not None
    return found


@pytest.fixture(scope="package")
def html():
    from .in_browser import html_page

    return html_page()


@pytest.fixture(scope="package")
def browser(html, tmp_path_factory):
    from .in_browser import shown

    yield from shown(html, tmp_path_factory.mktemp("page"))
