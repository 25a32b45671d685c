"""The QR code on a card (ISO/IEC 18004), read by zxing-cpp, which knows nothing of strokes."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
import zxingcpp
from PIL import Image, ImageDraw

from plotout import job
from plotout.finish import finish
from plotout.finish.code import CLEAR, QUIET, code_side, code_strokes, code_text, coded
from plotout.geometry.strokes import Mark, Work

DOTS = 10  # a mm


@pytest.fixture(scope="module")
def smock(request):
    root = request.config.rootpath
    pattern_set = job.read_set(root / "samples" / "beekeepers-smock" / "set.toml")
    defaults = replace(pattern_set.defaults, qr=True)
    return replace(pattern_set, version="2", defaults=defaults)


@pytest.fixture(scope="module")
def cards(smock):
    return {card.id: card for card in finish(smock)}


def scanned(lines, pen):
    """What a reader finds on paper that a round pen of this width, mm, drew `lines` on."""
    everything = np.vstack(lines)
    low, high = everything.min(axis=0) - 5.0, everything.max(axis=0) + 5.0
    wide, tall = ((high - low) * DOTS).astype(int).tolist()
    paper = Image.new("L", (wide, tall), 255)
    draw = ImageDraw.Draw(paper)
    r = pen * DOTS / 2
    for points in lines:
        dots = [((x - low[0]) * DOTS, (high[1] - y) * DOTS) for x, y in points]
        draw.line(dots, fill=0, width=max(1, round(2 * r)))
        for x, y in dots:
            draw.ellipse([x - r, y - r, x + r, y + r], fill=0)
    return [found.text for found in zxingcpp.read_barcodes(paper)]


@pytest.mark.parametrize("pen", [0.3, 0.4, 0.6])
@pytest.mark.parametrize("card", ["gusset", "loop", "contents"])
def test_a_finished_card_scans(cards, card, pen):
    lines = [stroke.points for stroke in cards[card].strokes]
    assert scanned(lines, pen) == [f"BK-01:M:2/{card}"]


def test_every_card_of_the_sample_has_its_code(cards):
    warned = [card.id for card in cards.values() if any("QR" in text for text in card.warnings)]
    assert warned == []


def test_words_that_gave_way_to_the_code_are_told(smock, cards):
    """The loop holds its allowance without the code; never do its orders and its date give way."""
    plain = finish(replace(smock, defaults=replace(smock.defaults, qr=False)))
    assert next(card for card in plain if card.id == "loop").warnings == ()
    assert cards["loop"].warnings == ("it has no room for: 'allowance 8 mm'",)


def test_the_code_keeps_clear(smock, cards):
    """Nothing else comes within the code's white margin (4 modules: ISO/IEC 18004)."""
    for name in ("body", "gusset", "loop", "contents"):
        card = cards[name]
        size = len(code_strokes(code_text(smock, name)))
        kinds = [
            s.mark is Mark.LETTERING and len(s.points) == 8 and len(set(s.points[:, 0])) == 2
            for s in card.strokes
        ]
        code = [s for s, kind in zip(card.strokes, kinds, strict=True) if kind]
        assert len(code) == size
        box = shapely.MultiPoint(np.vstack([s.points for s in code])).envelope
        rest = [
            shapely.LineString(s.points) if len(s.points) > 1 else shapely.Point(s.points[0])
            for s, kind in zip(card.strokes, kinds, strict=True)
            if not kind
        ]
        assert min(box.distance(each) for each in rest) >= QUIET
        assert shapely.Polygon(card.outline).contains(box.buffer(QUIET))


def test_no_room_no_code():
    side = code_side("A:1/b")
    room = shapely.box(0.0, 0.0, side + 2 * CLEAR - 1.0, 300.0)
    assert coded("A:1/b", room, ()) == []
    assert coded("A:1/b", room.buffer(2.0, join_style="mitre"), ())


def test_a_cards_file_for_a_machine_scans_when_it_is_read_back(smock):
    """From the plotter's file itself, as the HP-GL interpreter reads it."""
    from plotout import plugins

    made = job.plan(
        job.Request(smock, job.load_machine("craft-cutter"), seconds=0, cards=("gusset",))
    )
    driver = plugins.interpreter_for(made.machine.driver)
    reading = driver.read(made.results[0].data, made.machine)
    tools = {run.tool.number: run.tool for run in made.results[0].program.runs}
    pens = {run.tool.number for run in made.results[0].program.runs if run.stroke.work is Work.DRAW}
    assert set(tools) > pens
    lines = [traced.points for traced in reading.traced if traced.tool in pens]
    assert scanned(lines, 0.4) == ["BK-01:M:2/gusset"]
