"""Nests: every size there, each with a line of its own, over one another where nothing moves."""

from dataclasses import replace

import numpy as np
import pytest
from garments import a_set, rectangle
from shapely.geometry import LineString, box

from plotout import Mark, UserError
from plotout.finish.nest import LINES, nests
from plotout.model import Placed, Sheet
from plotout.pattern.model import Cut, Drill, InternalLine

SIZES = {"S": 180.0, "M": 200.0, "L": 220.0}


def a_nest():
    sets = {
        size: replace(a_set(rectangle("Bib", wide, 300.0)), size=size)
        for size, wide in SIZES.items()
    }
    (card,) = nests(sets, "M")
    return card


def lines_of(card, size):
    return [s for s in card.strokes if s.layer == f"size {size}" and s.mark is Mark.OUTLINE]


def outlines_of(card, size):
    """Without the samples of the legend, which lie below all pieces."""
    return [s for s in lines_of(card, size) if s.points[:, 1].min() > -13.0]


@pytest.mark.parametrize("size", SIZES)
def test_each_size_is_drawn_where_it_lies(size):
    """Its cutting line by hand: half an inch (12.7 mm) outside the rectangle."""
    points = np.vstack([stroke.points for stroke in outlines_of(a_nest(), size)])
    low, high = points.min(axis=0), points.max(axis=0)
    assert low == pytest.approx([-12.7, -12.7], abs=0.01)
    assert high == pytest.approx([SIZES[size] + 12.7, 312.7], abs=3.1)  # a gap may hold the corner


def test_the_base_size_is_whole_and_others_are_broken_otherwise():
    card = a_nest()
    assert len(outlines_of(card, "M")) == 1
    longest = {size: max(s.length for s in outlines_of(card, size)) for size in ("S", "L")}
    assert longest["S"] == pytest.approx(6.0, abs=0.01)  # 12 line widths of 0.5 mm
    assert longest["L"] == pytest.approx(12.0, abs=0.01)  # 24


def test_drill_holes_and_inner_lines_are_drawn_in_every_size():
    inner = InternalLine("pleat", np.array([[20.0, 20.0], [20.0, 280.0]]))
    sets = {}
    for size, wide in SIZES.items():
        plain = rectangle("Bib", wide, 300.0)
        piece = replace(plain, drills=(Drill((wide / 2.0, 150.0)),), lines=(inner,))
        sets[size] = replace(a_set(piece), size=size)
    (card,) = nests(sets, "M")
    for size, wide in SIZES.items():
        mine = [stroke for stroke in card.strokes if stroke.layer == f"size {size}"]
        cross = np.vstack([s.points for s in mine if s.mark is Mark.DRILL])
        assert cross.mean(axis=0) == pytest.approx([wide / 2.0, 150.0])
        assert any(np.allclose(s.points[:, 0], 20.0) for s in mine if s.mark is Mark.OUTLINE)


def test_its_name_on_a_picture_is_clear_of_every_size():
    from plotout.proof.card_names import names_on

    card = a_nest()
    placed = Placed(card, 0.0, (20.0, 20.0))
    sheet = Sheet("S", 1, 400.0, 400.0, (placed,))
    words = [LineString(line.points) for line in names_on(sheet, 12.0, placed.strokes)]
    assert words
    for size in SIZES:
        outlines = [LineString(each.points + 20.0) for each in outlines_of(card, size)]
        assert min(word.distance(line) for word in words for line in outlines) > 1.0


def test_its_name_on_a_picture_is_clear_of_its_words():
    from plotout.proof.card_names import names_on

    card = a_nest()
    placed = Placed(card, 0.0, (20.0, 20.0))
    sheet = Sheet("S", 1, 400.0, 400.0, (placed,))
    own = [LineString(s.points) for s in placed.strokes if s.mark is Mark.LETTERING]
    assert own
    words = [LineString(line.points) for line in names_on(sheet, 8.0, placed.strokes)]
    assert min(word.distance(letter) for word in words for letter in own) > 0.35 * 8.0


def test_a_piece_on_the_fold_shows_its_fold_once():
    sets = {}
    for size, wide in SIZES.items():
        half = rectangle("Bib", wide, 300.0, fold="left", cuts=(Cut("self", on_fold=True),))
        edges = [replace(e, allowance=(0.0, 0.0)) if e.name == "left" else e for e in half.edges]
        sets[size] = replace(a_set(replace(half, edges=tuple(edges))), size=size)
    (card,) = nests(sets, "M")
    fold = [stroke.points for stroke in card.strokes if stroke.mark is Mark.FOLD]
    (bracket,) = [points for points in fold if len(points) == 4]
    assert bracket[[0, -1], 0] == pytest.approx(0.5)  # its arrows point to the fold, x = 0
    assert max(points[:, 0].max() for points in fold) < 20.0


def test_the_legend_is_drawn_with_the_lines_that_it_explains():
    """The samples lie below all pieces; their longest dashes are those of the outlines."""
    card = a_nest()
    for size in SIZES:
        mine = lines_of(card, size)
        sample = [s for s in mine if s.points[:, 1].max() < -13.0]
        longest = max(s.length for s in sample)
        assert longest == pytest.approx({"S": 6.0, "M": 30.0, "L": 12.0}[size], abs=0.01)


def test_lines_are_all_different():
    assert len(set(LINES)) == len(LINES)


def test_the_frame_holds_all_of_it():
    card = a_nest()
    low, high = card.outline.min(axis=0), card.outline.max(axis=0)
    for stroke in card.strokes:
        assert (stroke.points >= low).all()
        assert (stroke.points <= high).all()
    assert not any(stroke.work.value == "cut" for stroke in card.strokes)


def test_more_sizes_than_lines_are_refused():
    many = {f"{nth}": a_set(rectangle("Bib", 100.0 + nth, 300.0)) for nth in range(len(LINES) + 1)}
    with pytest.raises(UserError, match="too many"):
        nests(many, "0")


def test_dashes_lie_on_their_cutting_line():
    ring = box(-12.7, -12.7, 180.0 + 12.7, 300.0 + 12.7).exterior
    assert all(ring.distance(LineString(s.points)) < 0.01 for s in outlines_of(a_nest(), "S"))


def test_a_nest_fits_any_printer_of_tiles(tmp_path):
    """A piece of 1.9 m is longer than the sheet that a home printer's profile gives, 1.6 m.

    Every size is a layer (ISO 32000, optional content), read by pypdf, from the smallest on.
    """
    import json

    from click.testing import CliRunner
    from pypdf import PdfReader

    from plotout.cli.nest_command import nest

    (tmp_path / "set.toml").write_text(
        '[set]\nname = "Coat"\nstyle = "C-1"\n[sizes]\nbase = "M"\nrange = ["S", "M", "L"]\n'
        '[[piece]]\nname = "Belt"\nrectangle = [1900, 20]\ncut = [{ cloth = "self" }]\n'
        '[[piece.grade]]\ncorner = ["bottom", "right"]\nx = 40\n'
        '[[piece.grade]]\ncorner = ["right", "top"]\nx = 40\n'
    )
    words = [str(tmp_path / "set.toml"), "--machine", "home-a4", "--seconds", "0", "--json",
             "--out", str(tmp_path / "out")]  # fmt: skip
    done = CliRunner().invoke(nest, words)
    assert done.exit_code == 0, done.output
    told = json.loads(done.output)
    assert told["pages"]
    layers = PdfReader(told["files"][0]).trailer["/Root"]["/OCProperties"]
    for titles in (layers["/OCGs"], layers["/D"]["/Order"], layers["/D"]["/ON"]):
        names = [one.get_object()["/Name"] for one in titles]
        assert [name for name in names if name.startswith("size")] == ["size S", "size M", "size L"]


def test_a_map_s_legend_leaves_the_sizes_lines_to_their_own():
    from plotout_pdf.overview import kinds_of

    from plotout import Run, Tool, ToolKind, Work

    pen = Tool(name="pen", number=1, kind=ToolKind.PEN, does=(Work.DRAW,), speed=100.0)
    card = a_nest()
    runs = [Run(stroke.points, pen, stroke, 100.0) for stroke in card.strokes]
    assert {stroke.layer for stroke in kinds_of(runs).values()} == {""}
    assert {mark for mark, _ in kinds_of(runs)} == {Mark.LETTERING}


def test_a_size_s_line_is_not_that_of_a_fold():
    """ISO 128-2, type 04, long dash and dot: a chart has it along folds; the last one left."""
    assert LINES[-1] == (24, 3, 0.5, 3)
