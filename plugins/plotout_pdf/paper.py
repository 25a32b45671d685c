"""Drawing on pages: work and furniture, each in its layer, in millimetres."""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from reportlab.pdfgen.canvas import Canvas

from plotout import FloatArray, Run
from plotout_pdf.style import Pen, pen_for

POINTS = 72.0 / 25.4  # in a millimetre
FURNITURE = "page marks"


class Paper:
    """Pages in the making. The same calls give the same bytes."""

    def __init__(self, unit: float = 1.0) -> None:
        """unit: how many 1/72 in one of the pages' units is."""
        self._bytes = io.BytesIO()
        self._canvas = Canvas(self._bytes, invariant=1, pageCompression=1)
        self._scale = POINTS / unit
        self.layers: dict[str, str] = {}

    def page(self, width: float, height: float) -> None:
        """Begin a page, mm; what is drawn next is in mm from its lower left corner."""
        self._canvas.setPageSize((width * self._scale, height * self._scale))
        self._canvas.scale(self._scale, self._scale)
        self._canvas.setLineCap(1)
        self._canvas.setLineJoin(1)

    def end_page(self) -> None:
        """End the page."""
        self._canvas.showPage()

    def close(self) -> bytes:
        """Return the pages as a PDF."""
        self._canvas.save()
        return self._bytes.getvalue()

    @contextmanager
    def within(self, box: Sequence[float], shift: tuple[float, float]) -> Iterator[None]:
        """Draw within a box (left, bottom, right, top of the page), shifted."""
        left, bottom, right, top = box
        self._canvas.saveState()
        window = self._canvas.beginPath()
        window.rect(left, bottom, right - left, top - bottom)
        self._canvas.clipPath(window, stroke=0, fill=0)
        self._canvas.translate(*shift)
        yield
        self._canvas.restoreState()

    def work(self, runs: Sequence[Run]) -> None:
        """Draw the runs, a layer for each kind of mark in the order in which they come."""
        by_mark: dict[str, list[Run]] = {}
        for run in runs:
            by_mark.setdefault(run.stroke.layer or run.stroke.mark.value, []).append(run)
        for mark, group in by_mark.items():
            with self.layer(mark):
                for run in group:
                    self._pen(pen_for(run.stroke))
                    self.line(run.points)

    @contextmanager
    def layer(self, title: str) -> Iterator[None]:
        """Draw in the layer of that title."""
        key = next((k for k, v in self.layers.items() if v == title), f"layer{len(self.layers)}")
        self.layers[key] = title
        self._raw(f"/OC /{key} BDC q")
        yield
        self._raw("Q EMC")

    def line(self, points: FloatArray) -> None:
        """Draw a polyline (n, 2); a single point makes a dot."""
        pairs = points.tolist() if len(points) > 1 else points.tolist() * 2
        (x, y), *rest = pairs
        self._raw(f"{x:.5f} {y:.5f} m")
        self._raw("\n".join([f"{x:.5f} {y:.5f} l" for x, y in rest]))
        self._raw("S")

    def pen(self, width: float, dashes: Sequence[float] = (), *, grey: float = 0.0) -> None:
        """Choose a line, mm; grey from 0, black, to 1, white."""
        self._pen(Pen(width, tuple(dashes)))
        self._canvas.setStrokeGray(grey)

    def text(
        self, text: str, x: float, y: float, height: float, *, grey: float = 0.0, anchor: str = ""
    ) -> None:
        """Write text from x (anchor "middle": about x), its baseline at y.

        Capitals are `height` mm high.
        """
        self._canvas.setFillGray(grey)
        self._canvas.setFont("Helvetica", height / 0.718)  # as high are its capitals (Adobe's AFM)
        draw = self._canvas.drawCentredString if anchor else self._canvas.drawString
        draw(x, y, printable(text))

    def _pen(self, line: Pen) -> None:
        self._canvas.setLineWidth(line.width)
        self._canvas.setDash(list(line.dashes))

    def _raw(self, operators: str) -> None:
        self._canvas._code.append(operators)


def printable(text: str) -> str:
    """Return `text` in letters that every PDF viewer's own font has, on one line."""
    line = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    return line.encode("cp1252", "replace").decode("cp1252")
