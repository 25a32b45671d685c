"""Cards laid on few pages: counted here anew, by shapely's boxes and what the printed file says.

Least pages by area: no page holds more card than its own area. Invented cards.
"""

from __future__ import annotations

import itertools
import sys
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
import shapely

from plotout import job, plugins
from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.layout.nesting.filling import Ground
from plotout.layout.nesting.grid import Raster
from plotout.layout.nesting.paged import fewest, paged
from plotout.layout.nesting.shape import shape
from plotout.machine import Calibration
from plotout.model import Card
from plotout.pattern.model import PatternSet

paging = sys.modules[paged.__module__]
SET = PatternSet(name="Set", style="s", size="", date="", pieces=())


def card(number: int, *corners: tuple[float, float]) -> Card:
    ring = np.array([*corners, corners[0]], dtype=float)
    name = f"c{number}"
    stroke = Stroke(ring, Work.CUT, Mark.OUTLINE, name)
    return Card(name, name, name, number, 1, ring, (stroke,))


def box(number: int, wide: float, tall: float) -> Card:
    return card(number, (0, 0), (wide, 0), (wide, tall), (0, tall))


def made(cards, name="home-a4", seconds=0.0, calibration=None, **options):
    machine = job.load_machine(name)
    machine = replace(machine, calibration=calibration or Calibration(),
                      options={**machine.options, **options})  # fmt: skip
    request = job.Request(job.Finished(SET, tuple(cards)), machine, seconds=seconds)
    return job.plan(request)


def printed(made_) -> int:
    """Pages of the file; by shapely, what remains of them holds the cards, and none is idle."""
    total = 0
    for result in made_.results:
        plan = result.tiled[0].plan
        lines = [shapely.Polygon(run.points) for run in result.program.runs if len(run.points) > 3]
        boxes = [shapely.box(*tile.cell) for tile in plan.printed]
        met = sum(any(each.intersects(cell) for each in lines) for cell in boxes)
        assert met == len(plan.printed)
        paper = shapely.union_all(boxes).buffer(1e-6)
        assert all(paper.covers(each) for each in lines)
        windows = [shapely.box(t.x0, t.y0, t.x0 + t.width, t.y0 + t.height) for t in plan.printed]
        assert all(
            window.buffer(1e-6).covers(cell) for window, cell in zip(windows, boxes, strict=True)
        )
        assert result.faults == ()
        bodies = [shapely.Polygon(each.outline) for each in result.sheet.placed]
        for nth, one in enumerate(bodies):
            assert all(one.distance(other) > 5.98 for other in bodies[:nth])
        total += met
    return total


@pytest.mark.parametrize("calibration", [None, Calibration(1.01, 0.99, 0.5)])
def test_cards_that_fill_a_page_each_take_no_more(calibration):
    """Four cards, each nearly a page: four pages, though close together they lie on more."""
    cards = [box(nth, 165.0, 225.0) for nth in range(1, 5)]
    assert printed(made(cards, calibration=calibration)) == 4


def test_small_cards_share_pages():
    """Thirty of 40 x 30 mm with 6 mm between: 26 go on a page of 188 x 252 mm and a little."""
    assert printed(made([box(nth, 40.0, 30.0) for nth in range(1, 31)])) <= 2


@pytest.mark.parametrize("options", [{}, {"style": "lap", "page": "letter"}])
def test_one_card_and_one_greater_than_a_page(options):
    assert printed(made([box(1, 60.0, 90.0)], **options)) == 1
    # 300 x 400: by its sides it takes two pages each way
    assert printed(made([box(1, 300.0, 400.0), box(2, 50.0, 50.0)], **options)) in (4, 5)


@pytest.mark.parametrize(
    ("wide", "tall", "pages"), [(195, 258, 1), (258, 195, 1), (380, 250, 2), (376, 508, 4)]
)
@pytest.mark.parametrize("style", ["trim", "lap"])
def test_what_a_page_shows_beyond_its_cell_counts(wide, tall, pages, style):
    """A4 in ISO 216 less 6 mm each side and a band of 23 mm shows 198 x 262; pages share 10 mm."""
    assert printed(made([box(1, wide, tall)], style=style)) == pages


@pytest.mark.parametrize("calibration", [None, Calibration(1.004, 0.997, -0.3)])
def test_cards_at_pages_edges_take_no_page_more(calibration):
    """Three cards that fill a page each but for 2 mm, which is less than neighbours share."""
    cards = [box(nth, 194.0, 258.0) for nth in range(1, 4)]
    assert printed(made(cards, calibration=calibration)) <= 5


def test_the_paper_inside_a_card_is_printed_too():
    """A card of 3 x 3 pages and more: what lies inside it is a page of the card."""
    result = made([box(1, 800.0, 900.0)]).results[0]
    plan = result.tiled[0].plan
    assert len(plan.printed) == len(plan.tiles)
    assert len(plan.tiles) >= 16


def test_a_search_finds_no_more_pages_and_keeps_to_its_time_and_seed():
    rng = np.random.default_rng(4)
    cards = [box(nth, *rng.uniform(40, 180, 2)) for nth in range(1, 9)]
    machine = job.load_machine("home-a4")
    request = job._settled(job.Request(job.Finished(SET, tuple(cards)), machine))
    [kind] = request.stock.sheets
    turned = [tuple(shape(each, angle) for angle in kind.angles) for each in cards]
    ground = Ground(kind, 6.0, (), 900.0)
    quick = [fewest(lay) for lay in paged(turned, ground, 0.0, 1, lambda _share: None)]
    longer = list(paged(turned, ground, 4.0, 1, lambda _share: None))
    assert len(quick) == 2
    assert min(fewest(lay) for lay in longer) <= min(quick)
    area = sum(shapely.Polygon(each.outline).area for each in cards)
    assert min(quick) >= area / (198.0 * 262.0)
    assert plugins.driver("pdf-tiles").grids is not None


def test_the_clock_is_looked_at_before_each_turn_of_a_card(monkeypatch):
    """By a clock that moves on a second at each look: of 9 cards of 4 turns, 5 s see few."""
    seen = []
    looks = itertools.count()
    monkeypatch.setattr(paging, "time", SimpleNamespace(monotonic=lambda: float(next(looks))))
    places = Raster.places
    monkeypatch.setattr(Raster, "places", lambda *given: seen.append(1) or places(*given))
    cards = [box(nth, 40.0 + nth, 30.0) for nth in range(1, 10)]
    request = job._settled(
        job.Request(job.Finished(SET, tuple(cards)), job.load_machine("home-a4"))
    )
    [kind] = request.stock.sheets
    turned = [tuple(shape(each, angle) for angle in kind.angles) for each in cards]
    assert not list(paged(turned, Ground(kind, 6.0, (), 900.0), 5.0, 1, lambda _share: None))
    assert 0 < len(seen) <= 5
