"""Fold lines of card boxes are scored, before anything is cut; the box is the guide's own example.

Reference: the floor's four sides are read off the guide's numbers by tomllib, and looked for in the
file by ezdxf (HP-GL, DXF) or by the words of RS-274/NGC themselves.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

from plotout import UserError, job
from plotout.geometry.strokes import Mark, Work
from plotout.machine import ToolKind
from plotout.pattern.model import InternalLine
from plotout.pattern.setfile import load

GUIDE = Path(__file__).resolve().parents[2] / "samples" / "guides" / "set-file.md"
HEAD = '[set]\nname = "Tray"\nstyle = "T-1"\n'


def example() -> str:
    section = GUIDE.read_text("utf-8").split("## Card that is folded")[1]
    return HEAD + re.search(r"```toml\n(.*?)```", section, re.DOTALL)[1]


@pytest.fixture
def box(tmp_path: Path) -> Path:
    (tmp_path / "box.toml").write_text(example())
    return tmp_path / "box.toml"


def planned(path: Path, machine):
    return job.plan(job.Request(job.read_set(path), machine, seconds=0.0))


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("gantry-knife", ToolKind.CREASER),
        ("craft-cutter", ToolKind.TRAILING_BLADE),
        ("laser", ToolKind.BEAM),
    ],
)
def test_a_box_is_scored_before_it_is_cut(box, name, kind):
    made = planned(box, job.load_machine(name))
    (each,) = made.results
    assert not each.faults
    marks = [run.stroke.mark for run in each.program.runs]
    scored = [run for run in each.program.runs if run.stroke.work is Work.SCORE]
    assert {run.tool.kind for run in scored} == {kind}
    last = max(nth for nth, run in enumerate(each.program.runs) if run in scored)
    assert last < marks.index(Mark.OUTLINE)
    floor = tomllib.loads(example())["piece"][0]["line"][0]["points"]
    placed = next(one for one in each.sheet.placed if one.card.piece == "Tray")
    meant = shapely.LineString(np.array(floor) @ placed.matrix[:, :2].T + placed.matrix[:, 2])
    whole = shapely.union_all([shapely.LineString(run.points) for run in scored])
    within = 1.1 if kind is ToolKind.TRAILING_BLADE else 0.02  # its pivot leads by 0.45 mm
    assert whole.buffer(within).covers(meant)
    assert meant.buffer(within).covers(whole)


def test_the_creaser_goes_round_the_floor_in_the_file_itself(box):
    made = planned(box, job.load_machine("gantry-knife"))
    text = made.results[0].data.decode()
    creased = re.search(r"T4 M6\n(.*?)\nT\d M6", text, re.DOTALL)[1]
    at = np.array(re.findall(r"X([\d.]+) Y([\d.]+)", creased), float)
    assert sorted(np.ptp(at, axis=0)) == pytest.approx([60.0, 90.0], abs=0.01)
    assert "Z-0.4" in creased


@pytest.mark.parametrize("name", ["router", "roll-plotter"])
def test_a_machine_that_draws_its_scores_is_read_back(box, name):
    made = planned(box, job.load_machine(name))
    assert not made.results[0].faults


def test_a_machine_without_a_tool_to_score_draws_and_says_so(box):
    machine = job.load_machine("gantry-knife")
    without = tuple(tool for tool in machine.tools if Work.SCORE not in tool.does)
    made = planned(box, replace(machine, tools=without))
    assert any("no tool to score with: 1 line drawn instead" in text for text in made.warnings)
    drawn = [run for run in made.results[0].program.runs if run.stroke.work is Work.SCORE]
    assert {run.tool.kind for run in drawn} == {ToolKind.PEN}
    assert not made.results[0].faults


def test_fold_lines_of_a_drawing_are_scored_too(tmp_path):
    (tmp_path / "box.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" viewBox="0 0 100 80">'
        '<path id="a" d="M0 0H100V80H0Z"/><path class="fold" d="M30 0V80"/>'
        '<path class="fold" d="M60 0V80"/></svg>'
    )
    (tmp_path / "box.toml").write_text(
        HEAD + '[[piece]]\nname = "Box"\nallowance = 0\n'
        'from = { file = "box.svg", outline = "#a", score = ".fold" }\n'
        'cut = [{ cloth = "self", count = 1 }]\n'
    )
    card, *_ = planned(tmp_path / "box.toml", job.load_machine("gantry-knife")).cards
    scored = [stroke for stroke in card.strokes if stroke.work is Work.SCORE]
    assert [stroke.mark for stroke in scored] == [Mark.INTERNAL, Mark.INTERNAL]
    assert [stroke.length for stroke in scored] == pytest.approx([80.0, 80.0])


def test_a_line_of_a_half_is_scored_on_both_sides(tmp_path):
    (tmp_path / "half.toml").write_text(
        HEAD + '[[piece]]\nname = "Half"\nallowance = 0\nrectangle = [100, 80]\n'
        'fold = "left"\nwhole = true\ncut = [{ cloth = "self", count = 1, on-fold = true }]\n'
        '[[piece.line]]\nname = "bend"\nwork = "score"\npoints = [[50, 0], [50, 80]]\n'
    )
    card, *_ = planned(tmp_path / "half.toml", job.load_machine("gantry-knife")).cards
    assert len([stroke for stroke in card.strokes if stroke.work is Work.SCORE]) == 2


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ('work = "score"\nkind = "cut-out"\n', "can't be scored"),
        ('work = "score"\nkind = "stripe"\n', "can't be scored"),
        ('work = "cut"\n', "'cut'"),
    ],
)
def test_work_that_a_line_can_not_have_is_told(tmp_path, line, words):
    (tmp_path / "a.toml").write_text(
        HEAD + '[[piece]]\nname = "A"\nrectangle = [100, 80]\n'
        '[[piece.line]]\nname = "bend"\npoints = [[50, 0], [50, 80]]\n' + line
    )
    with pytest.raises(UserError, match=words):
        load(tmp_path / "a.toml")


def test_a_cutting_line_with_lines_inside_is_written_with_outline(tmp_path):
    """The trial: `line = "cutting"` with [[piece.line]] ended in "it is not TOML"."""
    text = HEAD + '[[piece]]\nname = "A"\nline = "cutting"\nrectangle = [100, 80]\n'
    inner = '[[piece.line]]\nname = "bend"\npoints = [[50, 0], [50, 80]]\n'
    (tmp_path / "a.toml").write_text(text + inner)
    with pytest.raises(UserError, match=r'line 8: .*\n.*outline = "cutting"'):
        load(tmp_path / "a.toml")
    (tmp_path / "a.toml").write_text(text.replace("line =", "outline =") + inner)
    (piece,) = load(tmp_path / "a.toml").pieces
    assert piece.cutting
    assert isinstance(piece.lines[0], InternalLine)
