"""100 random corruptions or more of a PDF, tiles, SVG and DXF: all that move a line are caught.

Whether a corruption moves a line is told by others: pdfminer (as pdfplumber brings it) for PDF,
svgpathtools for SVG, GDAL's DXF reader for DXF. Hausdorff distance (shapely) never says more than
the real change.
"""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Iterator
from itertools import islice

import numpy as np
import pyogrio
import pypdf
import pytest
import shapely
import svgpathtools
from pdfminer.pdfdevice import PDFDevice
from pdfminer.pdfinterp import PDFPageInterpreter, PDFResourceManager
from pdfminer.pdfpage import PDFPage
from pypdf.generic import NameObject, StreamObject

from plotout.proof import verify

from .conftest import HEIGHT, emitted, interpreter
from .mutations import mutations

COUNT, SOME = 100, 40
MARGIN = 5.0  # mm of a page that can't be printed, where the profile says nothing
BAND = 23.0  # mm of a tile that lies on its side, at its left, for the page's own words


class Drawn(PDFDevice):
    """What is stroked, mm of the page, but for what lies in the layer of page marks."""

    def __init__(self, furniture: set[str]) -> None:
        super().__init__(None)
        self.furniture = furniture
        self.layers: list[str] = []
        self.lines: list[np.ndarray] = []

    def begin_tag(self, _tag, props=None):
        self.layers.append(getattr(props, "name", ""))

    def end_tag(self):
        self.layers.pop()

    def paint_path(self, _state, stroke, _fill, _evenodd, path):
        if not stroke or self.furniture & set(self.layers):
            return
        points: list[tuple[float, ...]] = []
        for operator, *numbers in [*path, ("m",)]:
            if operator == "m":
                self._keep(points)
                points = []
            points += (
                [points[0]] if operator == "h" else zip(numbers[::2], numbers[1::2], strict=True)
            )

    def _keep(self, points) -> None:
        if len(points) > 1:
            a, b, c, d, e, f = self.ctm
            self.lines.append((np.array(points) @ [[a, b], [c, d]] + [e, f]) * 25.4 / 72)


def pdf_pages(data: bytes) -> list[shapely.Geometry]:
    """Return what each page draws within its margins, mm."""
    manager = PDFResourceManager()
    pages = []
    for page in PDFPage.get_pages(io.BytesIO(data)):
        layers = page.resources.get("Properties", {})
        named = {key: ref.resolve()["Name"] for key, ref in layers.items()}
        device = Drawn({key for key, name in named.items() if name == b"page marks"})
        PDFPageInterpreter(manager, device).process_page(page)
        right, top = np.array(page.mediabox[2:]) * 25.4 / 72
        lines = shapely.MultiLineString(device.lines)
        left = MARGIN + (BAND if right < 220.0 else 0.0)  # A5: a tile
        pages.append(shapely.clip_by_rect(lines, left, MARGIN, right - MARGIN, top - MARGIN))
    return pages


def svg_lines(data: bytes) -> shapely.Geometry:
    lines = []
    for said in re.findall(rb'<path[^>]* d="([^"]*)"', data):
        for way in svgpathtools.parse_path(said.decode()).continuous_subpaths():
            points = [complex(way[0].start), *(complex(piece.end) for piece in way)]
            lines.append([(point.real, HEIGHT - point.imag) for point in points])
    circle = rb'<circle[^>]*cx="([^"]*)"[^>]*cy="([^"]*)"[^>]*r="([^"]*)"'
    for said in re.findall(circle, data):
        x, y, r = (float(value) for value in said)
        y = HEIGHT - y
        lines.append([(x + r, y), (x, y + r), (x - r, y), (x, y - r), (x + r, y)])
    return shapely.MultiLineString(lines)


def dxf_lines(data: bytes) -> shapely.Geometry:
    """Return all lines as GDAL sees them; words have a text, and are left out."""
    _, _, shapes, (text,) = pyogrio.raw.read(data, columns=["Text"])
    return shapely.union_all(
        shapely.from_wkb([shape for shape, words in zip(shapes, text, strict=True) if not words])
    )


def as_it_is(data: bytes) -> Iterator[tuple[str, bytes]]:
    """Corrupt the whole file."""
    yield from mutations(data, 2 * COUNT, seed=4)


def as_it_is_drawn(data: bytes) -> Iterator[tuple[str, bytes]]:
    """Corrupt the work on a PDF's pages, one after the other, as it is before it is packed."""
    pages = [content.rpartition(b"/layer0 BDC") for content in contents(data)]  # the page's marks
    heads = [head + mid + tail[: tail.index(b"EMC")] for head, mid, tail in pages]
    works = [tail[tail.index(b"EMC") :] for _, _, tail in pages]
    drawn = [nth for nth, lines in enumerate(pdf_pages(data)) if not lines.is_empty]
    spoilt = {nth: mutations(works[nth], COUNT, seed=4 + nth) for nth in drawn}
    for turn in range(COUNT):
        nth = drawn[turn % len(drawn)]
        kind, content = next(spoilt[nth])
        yield f"{kind} on page {nth}", packed(data, nth, heads[nth] + content)


def some_as_it_is_drawn(data: bytes) -> Iterator[tuple[str, bytes]]:
    """Corrupt a PDF as above, less often: to read one back by three libraries takes its time."""
    yield from islice(as_it_is_drawn(data), SOME)


def contents(data: bytes) -> list[bytes]:
    return [page.get_contents().get_data() for page in pypdf.PdfReader(io.BytesIO(data)).pages]


def packed(data: bytes, nth: int, content: bytes) -> bytes:
    """Return the PDF with one page drawn anew."""
    writer = pypdf.PdfWriter(io.BytesIO(data))
    stream = StreamObject()
    stream.set_data(content)
    writer.pages[nth][NameObject("/Contents")] = writer._add_object(stream)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def apart(one, other) -> float:
    """Return by how many mm a line moved; pages are compared each with its own."""
    pairs = zip(one, other, strict=True) if isinstance(one, list) else [(one, other)]
    return max(
        999.0 if before.is_empty != after.is_empty else shapely.hausdorff_distance(before, after)
        for before, after in pairs
        if not before.is_empty or not after.is_empty
    )


SMALL = {"options": {"page": "A5"}}


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize(
    ("driver", "changes", "read", "corrupted"),
    [
        ("pdf-page", {}, pdf_pages, some_as_it_is_drawn),
        pytest.param("pdf-page", {}, pdf_pages, as_it_is_drawn, marks=pytest.mark.thorough),
        pytest.param("pdf-tiles", SMALL, pdf_pages, as_it_is_drawn, marks=pytest.mark.thorough),
        ("svg", {}, svg_lines, as_it_is),
        ("dxf", {}, dxf_lines, as_it_is),
    ],
)
def test_every_corruption_that_moves_a_line_is_caught(sheet, driver, changes, read, corrupted):
    program, data = emitted(driver, sheet, **changes)
    reader = interpreter(driver)
    assert verify(program, sheet, data, reader) == ()
    good = read(data)
    moved, missed = 0, []
    for nth, (kind, spoilt) in enumerate(corrupted(data)):
        try:
            with warnings.catch_warnings(action="ignore"):
                change = apart(good, read(spoilt))
        except Exception:
            continue
        if change > max(program.machine.step, 0.02) + 0.005:
            moved += 1
            if not verify(program, sheet, spoilt, reader):
                missed.append((nth, kind, change))
    assert missed == []
    assert moved >= 15


def test_a_page_shifted_from_its_marks_is_caught(sheet):
    """Half a millimetre: what the marks at the joints are there to show."""
    program, data = emitted("pdf-tiles", sheet, **SMALL)
    before, shift, after = contents(data)[-1].rpartition(b"1 0 0 1 -152.5 ")
    assert shift
    spoilt = packed(data, -1, before + shift.replace(b"152.5", b"153") + after)
    (fault, *_) = verify(program, sheet, spoilt, interpreter("pdf-tiles"))
    assert "0.50 mm apart" in fault


def test_what_only_one_page_of_two_draws_is_caught(sheet):
    """Where pages overlap, a line that one of them lacks would be missing on the table."""
    program, data = emitted("pdf-tiles", sheet, options={"page": "A5", "overlap": "60 mm"})
    line = b"200.0000 140.0000 l"
    assert [line in page for page in contents(data)[-2:]] == [True, True]
    spoilt = packed(data, -1, contents(data)[-1].replace(line, b"200.0000 101.0000 l"))
    faults = verify(program, sheet, spoilt, interpreter("pdf-tiles"))
    said = r"pages \d and \d don't draw the same where they overlap"
    assert any(re.search(said, fault) for fault in faults)
