"""The chart and the cutter's must: on their page, all pieces there, counts right."""

import numpy as np
import pytest

from plotout import job
from plotout.finish import finish
from plotout.finish.derive import derived
from plotout.geometry.strokes import Mark
from plotout.rack import chart as paper


@pytest.fixture(scope="module")
def smock(request):
    root = request.config.rootpath
    pattern_set = job.read_set(root / "samples" / "beekeepers-smock" / "set.toml")
    return pattern_set, derived(pattern_set), finish(pattern_set)


@pytest.mark.parametrize("page", sorted(paper.PAGES))
def test_everything_is_on_the_page(smock, page):
    size = paper.PAGES[page]
    for sheet in (paper.chart(*smock, size), *paper.must(*smock[:2], size)):
        points = np.vstack([stroke.points for stroke in sheet.marks])
        assert points.min() >= 5.0
        assert (points.max(axis=0) <= np.array(size) - 5.0).all()


def test_every_piece_is_drawn(smock):
    sheet = paper.chart(*smock, paper.PAGES["A4"])
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
    sheets = paper.must(pattern_set, pieces * 5, paper.PAGES["A4"])
    assert [sheet.number for sheet in sheets] == [1, 2, 3]


def test_chart_card_hangs_like_the_rest(smock):
    card = paper.chart_card(*smock, (200.0, 280.0))
    defaults = smock[0].defaults
    assert card.hole == (100.0, 280.0 - defaults.hole_inset)
    assert any(s.size == defaults.hole for s in card.strokes)


def test_chart_prints_and_reads_back(smock):
    """Read back by the PDF interpreter, which shares no code with the driver."""
    sheet = paper.chart(*smock, paper.PAGES["A4"])
    made = job.work(sheet, job.printer(*paper.PAGES["A4"]), "chart")
    assert made.faults == ()
    assert made.data.startswith(b"%PDF")
