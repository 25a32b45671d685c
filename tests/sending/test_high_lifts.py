"""Files that lift the tool to several heights, as over a clamp, stopped where it is high.

The machines are those from the notes (tests/bench/machines_from_notes), on a simulated clock; where
the tool truly is, they know.
"""

import signal
import sys
import time
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "bench"))

from machines_from_notes import gcode
from test_lines import sent as sent_in_lines  # noqa: F401  a fixture

FIRST, HIGHEST, STOCK = 1.5, 5.0, -41.3


def job():
    """Strokes after which the tool is lifted to 1.5 mm first, later also to 5 mm and to 3 mm."""
    strokes = "".join(
        f"G0 X{x} Y9\nG1 Z-1 F600\nG1 X{x + 5} F900\nG0 Z{z}\n"
        for x, z in zip(range(5, 275, 10), (1.5, 1.5, 1.5) + (5, 3, 1.5) * 8, strict=True)
    )
    return f"G21\nG90\nG0 Z{HIGHEST}\n{strokes}M5\nM2\n".encode()


def stopped(machine, when):
    """Return what stops the job once, at a moment, and the tool's height over the stock then."""
    heights = []

    def during(sender):
        height = machine.head.true_place()[2] - machine.surface
        if not heights and when(height, len(machine.head.marks)):
            heights.append(height)
            sender.signal(signal.SIGINT)

    return during, heights


MOMENTS = {
    "on its way to the first stroke": lambda height, marks: 4.9 < height < 5.1 and not marks,
    "on a high travel": lambda height, marks: height > 4.9 and marks > 2,
    "while it is lifted": lambda height, marks: 1.8 < height < 2.9 and marks > 2,
    "on a travel between": lambda height, marks: 2.9 < height < 3.1 and marks > 2,
}


@pytest.mark.parametrize("when", MOMENTS.values(), ids=MOMENTS)
@pytest.mark.parametrize("work_place", [True, False])
def test_a_tool_that_the_file_has_lifted_high_is_up(sent, when, work_place):
    habits = gcode.Habits(offset=(3.0, 4.0, STOCK), work_place=work_place, deceleration=0.1)
    machine = gcode.Controller(habits)
    during, heights = stopped(machine, when)
    code, said, _, at_rest = sent(machine, job(), during=during)
    assert len(heights) == 1
    assert (code, at_rest, "Stopped, tool up" in said) == (1, True, True), said
    assert machine.head.true_place()[2] - machine.surface >= FIRST


@pytest.mark.parametrize("strokes", [0, 1, 2, 4])
@pytest.mark.parametrize("high", [3.0, HIGHEST, 41.3])
def test_a_height_by_a_wrong_count_is_not_up(sent, strokes, high):
    """Its power fails in the stock, and it says nothing of it: it counts from its stored zero."""
    machine = gcode.Controller(gcode.Habits(offset=(3.0, 4.0, -high), greeting=b""))
    depths = []

    def during(sender):
        height = machine.head.true_place()[2] - machine.surface
        if not depths and height < -0.9 and len(machine.head.marks) > strokes:
            depths.append(height)
            machine.head.lose_place((0.0, 0.0, 0.0))
            machine.lose_power()
            sender.signal(signal.SIGINT)

    code, said, _, _ = sent(machine, job(), during=during)
    assert len(depths) == 1
    assert (code, "tool up" in said) == (1, False), said
    assert "see that the tool is up and off" in said


@pytest.mark.parametrize("marks", range(1, 8))
def test_a_board_that_reads_lines_is_up_as_well(sent_in_lines, marks):  # noqa: F811
    def at(_machine, sender):
        sender.signal(signal.SIGINT)
        time.sleep(0.05)  # real time, in which the sender sees it

    code, said, _, machine = sent_in_lines(job(), at=at, marks=marks)
    assert (code, "Stopped, tool up" in said) == (1, True), said
    assert machine.head.true_place()[2] >= FIRST
