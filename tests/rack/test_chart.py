"""The chart and the cutter's must: on their page, all pieces there, counts right."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from plotout import job
from plotout.cli import plotout
from plotout.finish import finish
from plotout.finish.derive import all_pieces
from plotout.geometry.polyline import length
from plotout.geometry.strokes import Mark
from plotout.layout.paper.pages import page_size
from plotout.pattern.model import Cut, Edge, Piece
from plotout.rack import chart as paper
from plotout.rack.leaf import Leaf
from plotout.rack.must import by_cloth, must


@pytest.fixture(scope="module")
def smock(request):
    root = request.config.rootpath
    pattern_set = job.read_set(root / "samples" / "beekeepers-smock" / "set.toml")
    return pattern_set, all_pieces(pattern_set), finish(pattern_set)


@pytest.mark.parametrize("page", ["A4", "A3", "letter"])
def test_everything_is_on_the_page(smock, page):
    size = page_size(page)
    for sheet in (*paper.chart(*smock, size), *must(*smock[:2], size)):
        points = np.vstack([stroke.points for stroke in sheet.marks])
        assert points.min() >= 5.0
        assert (points.max(axis=0) <= np.array(size) - 5.0).all()


def test_every_piece_is_drawn(smock):
    (sheet,) = paper.chart(*smock, page_size("A4"))
    sewn = [edge for piece in smock[1] for edge in piece.edges if edge.name != piece.fold]
    outlines = [stroke for stroke in sheet.marks if stroke.mark is Mark.OUTLINE]
    assert len(outlines) == len(sewn)


def test_pieces_are_to_one_scale_and_halves_show_their_fold(smock):
    """Lengths on the page over lengths of the pieces, edge by edge."""
    _, pieces, _ = smock
    (sheet,) = paper.chart(*smock, page_size("A4"))
    drawn = [stroke.length for stroke in sheet.marks if stroke.mark is Mark.OUTLINE]
    true = [length(e.points) for piece in pieces for e in piece.edges if e.name != piece.fold]
    assert np.array(drawn) / np.array(true) == pytest.approx(drawn[0] / true[0])
    assert round(true[0] / drawn[0], 6) in paper.SCALES
    folds = [length(piece.edge(piece.fold).points) for piece in pieces if piece.fold]
    dashes = [s for s in sheet.marks if s.mark is Mark.FOLD]
    assert len(dashes) >= 3 * len(folds)
    inked = sum(stroke.length for stroke in dashes) / sum(folds) / (drawn[0] / true[0])
    assert 0.5 < inked < 0.95  # dashes, not a whole line


@pytest.mark.thorough
def test_a_chart_of_very_many_pieces_goes_on_overleaf_at_one_scale(smock):
    pattern_set, pieces, cards = smock
    sheets = paper.chart(pattern_set, pieces * 20, cards, page_size("A4"))
    assert 1 < len(sheets) < 12
    for sheet in sheets:
        points = np.vstack([stroke.points for stroke in sheet.marks])
        assert points.min() >= 5.0
        assert (points.max(axis=0) <= np.array(page_size("A4")) - 5.0).all()


def test_long_lines_of_a_must_wrap(smock):
    pattern_set, pieces, _ = smock
    long = [replace(piece, name=f"{piece.name} of the veil that is taken off") for piece in pieces]
    for sheet in must(pattern_set, long, page_size("A4")):
        points = np.vstack([stroke.points for stroke in sheet.marks])
        assert (points.max(axis=0) <= np.array(page_size("A4")) - 5.0).all()
        heights = {round(float(np.ptp(s.points[:, 1])), 2) for s in sheet.marks}
        assert 3.5 in heights  # no letter was made smaller


def test_counts_are_those_of_the_set_file(smock):
    """Counted by hand from the set file."""
    rows = by_cloth(smock[1])
    assert sum(many for _, _, many in rows["self"]) == 19
    assert {name: many for name, _, many in rows["fusing"]} == {
        "Neck band": 1,
        "Neck fusing": 2,
    }


def test_a_long_must_goes_on_overleaf(smock):
    pattern_set, pieces, _ = smock
    sheets = must(pattern_set, pieces * 5, page_size("A4"))
    assert [sheet.number for sheet in sheets] == [1, 2, 3, 4]


def test_chart_card_hangs_like_the_rest(smock):
    (card,) = paper.chart_cards(*smock, (200.0, 280.0))
    defaults = smock[0].defaults
    assert card.hole == (100.0, 280.0 - defaults.hole_inset)
    assert any(s.size == defaults.hole for s in card.strokes)


def test_what_the_command_prints_was_read_back(few, tmp_path):
    """By the PDF interpreter, which shares no code with the driver; sizes by pypdf: US Letter."""
    words = ["chart", str(few), "--out", str(tmp_path), "--page", "Letter"]
    done = CliRunner().invoke(plotout, words, catch_exceptions=False)
    assert done.exit_code == 0
    files = [Path(line) for line in done.stdout.splitlines()]
    assert [file.name for file in files] == [
        # a page that failed its proof would end in .refused
        "beekeepers-smock-bk-01-m-chart-sheet-01.pdf",
        "beekeepers-smock-bk-01-m-must-sheet-01.pdf",
    ]
    for file in files:
        (page,) = PdfReader(file).pages
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(
            (612.0, 792.0), abs=0.1
        )


def test_allowances_that_are_not_the_usual_are_told(smock):
    """As the set file has them."""
    pattern_set, pieces, _ = smock
    usual = pattern_set.defaults.allowance
    told = {piece.name: paper.allowance_words(piece, usual) for piece in pieces}
    assert told["Gusset"] == ""
    assert told["Elbow patch"] == "allowance 8 mm"
    assert told["Sleeve"] == "hem 15 mm"
    assert told["Pocket"] == "top 30 mm"


def test_a_chart_of_all_sizes_draws_each_piece_in_every_one(request):
    """The room that each piece takes is that of its sizes together, to scale; its lines differ."""
    root = request.config.rootpath
    whole = job.open_set(root / "samples" / "beekeepers-smock" / "set.toml")
    sets = [whole.in_size(size) for size in whole.sizes]
    by_size = {one.size: all_pieces(one) for one in sets}
    base = whole.in_size()
    (sheet,) = paper.chart(base, by_size["M"], finish(base), page_size("A3"), sizes=by_size)
    thick = [stroke for stroke in sheet.marks if stroke.mark is Mark.OUTLINE]
    thin = [stroke for stroke in sheet.marks if stroke.mark is Mark.INTERNAL]
    sewn = [edge for piece in by_size["M"] for edge in piece.edges if edge.name != piece.fold]
    assert len(thick) == len(sewn) + 1  # and its sample in the legend
    body = [size[0].outline for size in by_size.values()]
    scale = thick[1].length / length(by_size["M"][0].edges[0].points)
    left = min(stroke.points[:, 0].min() for stroke in thick[1:])
    near = [stroke.points for stroke in thin if stroke.points[:, 0].max() < left + 200 * scale * 2]
    wide = max(points[:, 0].max() for points in near if points[:, 1].max() < 380) - left
    assert wide == pytest.approx(max(np.ptp(one[:, 0]) for one in body) * scale, rel=0.02)


@pytest.fixture
def written(monkeypatch):
    """Return all that is written on pages from now on."""
    texts, letters = [], Leaf.letters

    def noted(leaf, text, *where):
        texts.append(text)
        letters(leaf, text, *where)

    monkeypatch.setattr(Leaf, "letters", noted)
    return texts


def test_papers_say_how_a_piece_is_laid_as_its_card_does(smock, written):
    """Who cuts by the must doesn't read the cards: both straps would be for the wrong hand."""
    corners = np.array([[0, 0], [60, 0], [60, 300], [0, 300], [0, 0]], float)
    edges = tuple(Edge(str(k), corners[k : k + 2], (10.0, 10.0)) for k in range(4))
    strap = Piece("Strap", edges, cuts=(Cut("self", 2, reversed=True),), bias=True, one_way=True)
    made = replace(smock[0], pieces=(strap,), cautions=("Wash first.",), version="7")
    for drawn in (must, lambda *given: paper.chart(*given[:2], (), given[2])):
        written.clear()
        assert drawn(made, [strap], page_size("A4"))
        told = " ".join(written)
        for words in ("cut 2 self, reversed", "cut on the bias", "lay one way", "Wash first."):
            assert words in told
        assert "version 7" in told
    (order,) = finish(made)[0].orders
    assert order == "cut 2 self, reversed"
