"""PDF is read back with pypdf, and by eye of poppler: ISO 32000-1 for what a document says."""

import io
import shutil
import subprocess

import numpy as np
import pytest
import shapely
from hand_built import HEIGHT, HOSTILE, WIDTH, machine, program, run, scattered, sheet
from pdf_paths import pages
from plotout_pdf import plotout_drivers
from pypdf import PdfReader

from plotout import Card, Mark, Placed, Program, UserError
from plotout.kit import length, page_size, tile_plan

DRIVERS = {driver.name: driver for driver in plotout_drivers()}
PAGE, TILES = DRIVERS["pdf-page"].emit, DRIVERS["pdf-tiles"].emit
FURNITURE = "page marks"
HALF = 0.0125  # mm: half a step of the machine, which its paths may be off
WAYS = [
    {"page": "A4", "style": "trim"},
    {"page": "letter", "style": "lap", "overlap": "1/2 in", "orientation": "portrait"},
    {"page": "200 mm x 150 mm", "margin": [3, 4, 5, 6]},
]


def named(name="Front", number=1):
    """Runs of one card, and where it lies."""
    points = np.array([[20.0, 20.0], [380.0, 20.0], [380.0, 120.0], [20.0, 20.0]])
    card = Card(f"card-{number}", name, name, number, 2, points, ())
    return run(points, card=card.id), Placed(card, 0.0, (0.0, 0.0))


def worked(data):
    """Label and lines of work for each page."""
    return [(label, [p for layer, p in lines if layer != FURNITURE]) for label, _, lines in
            pages(data)]  # fmt: skip


def plan_of(options, runs):
    sides = options.get("margin", 5.0)
    return tile_plan(
        WIDTH,
        HEIGHT,
        [each.points for each in runs],
        page=page_size(options["page"]),
        margin=tuple(map(float, sides)) if isinstance(sides, list) else sides,
        overlap=length(options.get("overlap", 10.0)),
        style=options.get("style", "trim"),
        orientation=options.get("orientation", "auto"),
        band=23.0,
    )


def test_a_page_is_the_sheet_at_true_size():
    runs = scattered()
    [(_, size, drawn)] = list(pages(PAGE(program(runs), sheet())))
    lines = [(layer, line) for layer, line in drawn if layer != FURNITURE]
    assert size == pytest.approx((WIDTH, HEIGHT), abs=1e-3)
    assert len(lines) == len(runs)
    for (layer, line), meant in zip(lines, runs, strict=True):
        assert layer == meant.stroke.mark.value
        assert shapely.LineString(line).hausdorff_distance(shapely.LineString(meant.points)) < HALF
        assert np.abs(line[[0, -1]] - meant.points[[0, -1]]).max() < 0.001


def test_curves_are_drawn_as_curves():
    """A hole, an ellipse, and arcs of 2 m radius and of nearly half a turn, by their equations."""
    turn = np.linspace(0.0, 2.0 * np.pi, 2001)
    round_ = np.column_stack([np.cos(turn), np.sin(turn)])
    flat = np.linspace(-0.1, 0.1, 501) + np.pi / 2.0
    curves = (
        round_ * 4.0 + (30.0, 40.0),
        round_ * (90.0, 60.0) + (300.0, 150.0),
        np.column_stack([np.cos(flat), np.sin(flat)]) * 2000.0 + (300.0, -1750.0),
        round_[:940] * 100.0 + (300.0, 100.0),
    )
    ((_, _, lines),) = pages(PAGE(program([run(curve) for curve in curves]), sheet()))
    drawn = [points for layer, points in lines if layer == "outline"]
    for points, curve in zip(drawn, curves, strict=True):
        assert shapely.LineString(points).hausdorff_distance(shapely.LineString(curve)) < HALF
        assert len(points) % 256 == 1  # nothing but curves


def test_a_long_page_counts_in_larger_units():
    """ISO 32000-1, annex C: a page's side is at most 14,400 units; 7.7.3.3: UserUnit."""
    runs = (run([[0, 0], [7900, 500]]),)
    data = PAGE(Program("long", machine(), 8000.0, 600.0, runs), sheet())
    page = PdfReader(io.BytesIO(data)).pages[0]
    assert page.user_unit == 2
    assert float(page.mediabox.width) <= 14400
    [(_, size, drawn)] = list(pages(data))
    [line] = [line for layer, line in drawn if layer != FURNITURE]
    assert size == pytest.approx((8000.0, 600.0), abs=0.01)
    assert np.abs(line - runs[0].points).max() < 0.005


@pytest.mark.parametrize("options", WAYS)
def test_tiles_make_the_whole_drawing(options):
    """Every page is cut to its cell and put in its place: within 0.02 mm of what was meant."""
    runs = scattered()
    plan = plan_of(options, runs)
    tiles = {tile.name: tile for tile in plan.printed}
    (label, _), *found = worked(TILES(program(runs, machine(options)), sheet()))
    assert label == "map"
    assert [label for label, _ in found] == list(tiles)
    parts = []
    for label, lines in found:
        tile = tiles[label]
        shift = np.array([tile.x0 - plan.margins[0], tile.y0 - plan.margins[1]])
        drawn = shapely.MultiLineString([line + shift for line in lines])
        parts.append(drawn.intersection(shapely.box(*tile.cell)))
    whole = shapely.union_all(parts)
    meant = shapely.union_all([shapely.LineString(each.points) for each in runs])
    assert shapely.hausdorff_distance(whole, meant, densify=0.1) < 0.02
    assert whole.length == pytest.approx(meant.length, abs=0.5)


@pytest.mark.parametrize("options", WAYS)
def test_neighbours_share_their_match_marks(options):
    """Both pages draw the mark about one place on their joint, and cut there."""
    runs = scattered()
    plan = plan_of(options, runs)
    tiles = {tile.name: tile for tile in plan.printed}
    found = {label: lines for label, _, lines in pages(TILES(program(runs, machine(options)),
             sheet()))}  # fmt: skip
    assert plan.marks
    for mark in plan.marks:
        middles = []
        for name in (mark.first, mark.second):
            tile = tiles[name]
            shift = np.array([tile.x0 - plan.margins[0], tile.y0 - plan.margins[1]])
            rings = [line + shift for layer, line in found[name] if layer == FURNITURE
                     and len(line) == 5]  # fmt: skip
            diamonds = [
                ring for ring in rings if np.ptp(ring, axis=0) == pytest.approx(8.0, abs=0.01)
            ]
            middle = [(line.min(axis=0) + line.max(axis=0)) / 2.0 for line in diamonds]
            middles += [at for at in middle if np.abs(at - mark.at).max() < 0.01]
        assert len(middles) == 2


def test_the_map_page_has_both_squares():
    _, _, lines = next(pages(TILES(program(scattered()), sheet())))
    sides = [np.ptp(line, axis=0) for layer, line in lines if len(line) == 5]
    for side in (100.0, 4 * 25.4):
        assert any(np.abs(size - side).max() < 0.001 for size in sides)


def test_pages_that_hold_nothing_are_left_out():
    runs = (run([[10, 10], [30, 30]]), run([[570, 270], [590, 290]]))
    labels = [label for label, *_ in pages(TILES(program(runs), sheet()))]
    assert len(labels) == 3
    assert labels[0] == "map"


def test_card_by_card():
    first, where = named()
    second, beside = named("Back", 2)
    options = {"by-card": True, "page": "A4"}
    data = TILES(program((first, second), machine(options)), sheet(placed=(where, beside)))
    labels = [label for label, *_ in pages(data)]
    assert labels[0] == "map"  # one for all
    assert labels.count("map") == 1
    ones, twos = ([text for text in labels if text.startswith(n)] for n in ("1-", "2-"))
    assert len(ones) == len(twos) >= 1
    assert labels == ["map", *ones, *twos]


@pytest.mark.parametrize("emit", [PAGE, TILES])
def test_what_the_document_says(emit):
    first, where = named("Sleeve")
    notch = run([[30, 30], [40, 40]], mark=Mark.NOTCH, card="card-1")
    data = emit(program((first, notch), name="BK-01"), sheet(placed=(where,)))
    assert data == emit(program((first, notch), name="BK-01"), sheet(placed=(where,)))
    reader = PdfReader(io.BytesIO(data))
    root = reader.trailer["/Root"]
    assert root["/ViewerPreferences"]["/PrintScaling"] == "/None"
    assert reader.metadata.title == "BK-01"
    assert "/CreationDate" not in reader.metadata
    names = {group.get_object()["/Name"] for group in root["/OCProperties"]["/OCGs"]}
    assert {"outline", "notch"} <= names
    titles = [item.title for item in reader.outline if not isinstance(item, list)]
    assert "Sleeve" in titles


@pytest.mark.parametrize("hostile", HOSTILE)
@pytest.mark.parametrize("emit", [PAGE, TILES])
def test_a_name_draws_and_does_nothing(emit, hostile):
    def lines(name):
        work, where = named(name)
        data = emit(program((work,), name=name), sheet(placed=(where,)))
        assert not any(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)
        return [(label, size, [(layer, p.tolist()) for layer, p in found if layer != FURNITURE])
                for label, size, found in pages(data)]  # fmt: skip

    assert lines(hostile) == lines("Front")


def test_bad_pages_are_refused():
    check = DRIVERS["pdf-tiles"].check
    for options in ({"page": "A9x"}, {"margin": [1, 2]}, {"margin": 110}, {"style": "glue"}):
        with pytest.raises(UserError):
            check(machine(options))


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="needs poppler's pdftoppm")
def test_poppler_sees_on_the_tiles_what_it_sees_on_the_page(tmp_path):
    """At 150 dpi every dark spot of the full-size page is dark on the joined tiles."""
    from PIL import Image
    from scipy import ndimage

    runs = scattered(12)
    options = {"page": "A4", "overlap": 10}
    plan = plan_of(options, runs)
    (tmp_path / "page.pdf").write_bytes(PAGE(program(runs), sheet()))
    (tmp_path / "tiles.pdf").write_bytes(TILES(program(runs, machine(options)), sheet()))
    for name in ("page", "tiles"):
        command = ["pdftoppm", "-r", "150", "-gray", str(tmp_path / f"{name}.pdf")]
        subprocess.run([*command, str(tmp_path / name)], check=True, timeout=60)
    px = 150 / 25.4
    [page] = tmp_path.glob("page-*.pgm")
    rows, columns = np.nonzero(np.array(Image.open(page)) < 64)
    x, y = (columns + 0.5) / px, HEIGHT - (rows + 0.5) / px
    x, y = x[x > 27.0], y[x > 27.0]  # left of it are the full-size page's own words
    assert len(x) > 1000
    seen = np.zeros(len(x), dtype=bool)
    shots = sorted(tmp_path.glob("tiles-*.pgm"))[1:]
    for tile, shot in zip(plan.printed, shots, strict=True):
        around = np.ones((3, 3), dtype=bool)  # by one pixel
        dark = ndimage.binary_dilation(np.array(Image.open(shot)) < 128, around)
        left, bottom, right, top = tile.cell
        here = (x >= left) & (x <= right) & (y >= bottom) & (y <= top)
        across = (x[here] - tile.x0 + plan.margins[0]) * px
        down = dark.shape[0] - (y[here] - tile.y0 + plan.margins[1]) * px
        seen[here] = dark[down.astype(int), across.astype(int)]
    assert seen.all()
