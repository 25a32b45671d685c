"""Encoded polylines: as short as they can be in a file, and apart where a job is sent.

The reference reader and writer are ezdxf's (ezdxf.addons.hpgl2). By the HP-GL/2 and HP RTL
Reference Guide, `<` lifts the pen for the next pair, and `=` makes that pair absolute.
"""

import re
from dataclasses import replace

import numpy as np
import pytest
from ezdxf.addons.hpgl2.tokenizer import pe_encode
from hand_built import PEN, machine, program, run, scattered, sheet
from hypothesis import given
from hypothesis import strategies as st
from plotout_hpgl import encoding, plotout_drivers
from test_hpgl import read_back

from plotout import ToolKind, plugins

ENCODED = machine({"polylines": "encoded"})
DRIVER = next(driver for driver in plotout_drivers() if driver.name == "hpgl2")


def emitted(runs):
    return DRIVER.emit(program(runs, ENCODED), sheet())


def sent(data):
    """Return the file as it is sent."""
    made, done = b"", 0
    for start, end, instead in plugins.language("hpgl").strokes_apart(data):
        made += data[done:start] + instead
        done = end
    return made + data[done:]


def lettering(count=400, seed=3):
    """Short strokes near each other: most of a card's."""
    rng = np.random.default_rng(seed)
    starts = 50.0 + np.cumsum(rng.uniform(-2.0, 2.0, (count, 2)), axis=0)
    return tuple(run(at + rng.uniform(-1.5, 1.5, (4, 2)), PEN) for at in starts)


def test_many_short_strokes_take_hardly_more_than_the_shortest_encoding():
    """That has one instruction, each stroke begun relative to the end of the one before."""
    runs = lettering()
    steps = [np.rint(each.points * 40.0).astype(int) for each in runs]
    least, at = len(b"PE;"), np.zeros(2, dtype=int)
    for path in steps:
        moves = np.vstack([path[:1] - at, np.diff(path, axis=0)])
        least += 1 + sum(len(pe_encode(int(value))) for value in moves.ravel())
        at = path[-1]
    frame = len(emitted(runs[:1])) - len(emitted(())) - len(b"PE<=;\n")
    frame -= sum(len(pe_encode(int(v))) for v in [*steps[0][0], *np.diff(steps[0], axis=0).ravel()])
    assert len(emitted(runs)) - len(emitted(())) - frame < 1.05 * least


@pytest.mark.parametrize("seed", [3, 4])
def test_a_pens_dots_are_lines_of_one_step_among_the_others(seed):
    """Each is read back by ezdxf at its place, to a step; a punch goes down, and stays there."""
    dots = np.random.default_rng(seed).uniform(5.0, 150.0, (300, 2)).cumsum(axis=0) % 180.0 + 5.0
    strokes = read_back(emitted(tuple(run(at[None], PEN) for at in dots)))
    assert len(strokes) == len(dots)
    for at, (_, line) in zip(dots, strokes, strict=True):
        stroke = np.array(line) * 0.025
        assert np.hypot(*np.diff(stroke, axis=0)[0]) == pytest.approx(0.025)
        assert np.hypot(*(stroke - at).T).max() <= 0.025 + 1e-9
    punched = emitted(tuple(run(at[None], replace(PEN, kind=ToolKind.PUNCH)) for at in dots))
    assert punched.count(b"PD;") == len(dots)


def test_a_byte_lost_in_the_file_displaces_few_strokes():
    data = emitted(lettering())
    instructions = re.findall(rb"PE[^;]*;", data)
    assert len(instructions) > 5
    assert all(each.startswith(b"PE<=") for each in instructions)
    assert max(map(len, instructions)) < encoding.MOST + 40


def test_a_job_can_be_resumed_at_every_encoded_stroke():
    runs = (*scattered(), *lettering(40))
    file = emitted(runs)
    data = sent(file)
    assert read_back(data) == read_back(file)
    language = plugins.language("hpgl")
    *starts, _ending = language.unit_starts(data)
    assert len(starts) == sum(not run.follows for run in runs)
    whole = [line for _, line in read_back(data)]
    for at, line in zip(starts[1:], whole[1:], strict=True):
        resumed = read_back(language.state(data, at) + data[at:])
        assert resumed[0][1] == line
    assert not list(language.doubtful(data, lambda _at: None))


def pair(x, y):
    return pe_encode(x) + pe_encode(y)


@pytest.mark.parametrize(
    "polyline",
    [
        b"<" + pair(3, 4) + pair(5, 6) + b"<" + pair(7, 8) + pair(1, 1),  # begins who knows where
        b">\xc5<=" + pair(3, 4) + pair(5, 6) + b"<" + pair(7, 8) + pair(1, 1),  # fractions
        b"<=" + pair(3, 4) + pair(5, 6) + b":\xc3<" + pair(7, 8) + pair(1, 1),  # another pen
        b"<=" + pair(3, 4) + pair(5, 6) + b"<",  # nowhere
        b"<=" + pair(2**40, 4) + pair(5, 6) + b"<" + pair(7, 8) + pair(1, 1),  # off any plotter
    ],
)
def test_what_can_t_be_told_apart_is_left_as_it_is(polyline):
    data = b"IN;SP1;PU;PE" + polyline + b";PU;SP0;"
    assert sent(data) == data


MOVES = st.tuples(st.booleans(), st.booleans(), st.integers(-999, 999), st.integers(-999, 999))


@given(st.lists(MOVES, min_size=1, max_size=12))
def test_strokes_apart_draw_what_they_drew_together(moves):
    """Whatever is lifted, and whatever is absolute, also with the pen down."""
    polyline = b"<=" + pair(10, 10)
    for up, absolute, x, y in moves:
        polyline += (b"<" if up else b"") + (b"=" if absolute else b"") + pair(x, y)
    data = b"\x1b%1BIN;SP1;PU;PE" + polyline + b";PU;SP0;"
    assert read_back(sent(data)) == read_back(data)
    assert all(b"<" not in each[4:] for each in re.findall(rb"PE[^;]*", sent(data)))
