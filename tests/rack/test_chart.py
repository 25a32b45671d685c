"""The chart and the cutter's must: on their page, all pieces there, counts right."""

from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from plotout import job
from plotout.cli import plotout
from plotout.finish import finish
from plotout.finish.derive import all_pieces
from plotout.geometry.strokes import Mark
from plotout.layout.paper.pages import page_size
from plotout.rack import chart as paper


@pytest.fixture(scope="module")
def smock(request):
    root = request.config.rootpath
    pattern_set = job.read_set(root / "samples" / "beekeepers-smock" / "set.toml")
    return pattern_set, all_pieces(pattern_set), finish(pattern_set)


@pytest.mark.parametrize("page", ["A4", "A3", "letter"])
def test_everything_is_on_the_page(smock, page):
    size = page_size(page)
    for sheet in (paper.chart(*smock, size), *paper.must(*smock[:2], size)):
        points = np.vstack([stroke.points for stroke in sheet.marks])
        assert points.min() >= 5.0
        assert (points.max(axis=0) <= np.array(size) - 5.0).all()


def test_every_piece_is_drawn(smock):
    sheet = paper.chart(*smock, page_size("A4"))
    outlines = [stroke for stroke in sheet.marks if stroke.mark is Mark.OUTLINE]
    assert len(outlines) == len(smock[1]) == 12


def test_counts_are_those_of_the_set_file(smock):
    """Counted by hand from the set file."""
    rows = paper.by_cloth(smock[1])
    assert sum(many for _, _, many in rows["self"]) == 19
    assert {name: many for name, _, many in rows["fusing"]} == {
        "Neck band": 1,
        "Neck fusing": 2,
    }


def test_a_long_must_goes_on_overleaf(smock):
    pattern_set, pieces, _ = smock
    sheets = paper.must(pattern_set, pieces * 5, page_size("A4"))
    assert [sheet.number for sheet in sheets] == [1, 2, 3]


def test_chart_card_hangs_like_the_rest(smock):
    card = paper.chart_card(*smock, (200.0, 280.0))
    defaults = smock[0].defaults
    assert card.hole == (100.0, 280.0 - defaults.hole_inset)
    assert any(s.size == defaults.hole for s in card.strokes)


def test_what_the_command_prints_was_read_back(few, tmp_path):
    """By the PDF interpreter, which shares no code with the driver; sizes by pypdf: US Letter."""
    words = ["chart", str(few), "--out", str(tmp_path), "--page", "Letter"]
    done = CliRunner().invoke(plotout, words, catch_exceptions=False)
    assert done.exit_code == 0
    files = [Path(line) for line in done.output.splitlines()]
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
