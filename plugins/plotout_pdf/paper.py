"""Drawing on pages: work and furniture, each in its layer, in millimetres."""

from __future__ import annotations

import io
import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

import numpy as np
from reportlab.pdfgen.canvas import Canvas

from plotout import FloatArray, Run, Sheet, Stroke
from plotout.kit import PLAIN, Tongue, text_lines, text_width
from plotout_pdf.curved import curved
from plotout_pdf.style import Pen, pen_for

POINTS = 72.0 / 25.4  # per millimetre
FURNITURE = "page marks"


class Paper:
    """Pages being drawn. The same calls give the same bytes."""

    def __init__(self, unit: float = 1.0, say: Tongue = PLAIN) -> None:
        """unit: one of the pages' units in 1/72 in. say: the language of their text."""
        self.say = say
        self._bytes = io.BytesIO()
        self._canvas = Canvas(self._bytes, invariant=1, pageCompression=1)
        self._scale = POINTS / unit
        self._map: FloatArray | None = None
        self.layers: dict[str, str] = {}

    def page(self, width: float, height: float) -> None:
        """Begin a page, mm; from now on draw in mm from its lower left corner."""
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

    @contextmanager
    def through(self, matrix: FloatArray) -> Iterator[None]:
        """Draw lines and text through a (2, 3) map, mm."""
        before, self._map = self._map, matrix
        yield
        self._map = before

    def work(self, runs: Sequence[Run], step: float) -> None:
        """Draw the runs, in a layer per kind of mark, in their order. step: the machine's, mm."""
        by_mark: dict[str, list[tuple[Run, str]]] = {}
        for run, path in zip(runs, curved(runs, step), strict=True):
            by_mark.setdefault(_layer_of(run.stroke), []).append((run, path))
        for mark, group in by_mark.items():
            with self.layer(mark):
                for run, path in group:
                    self._pen(pen_for(run.stroke))
                    self._raw(path)

    @contextmanager
    def layer(self, title: str) -> Iterator[None]:
        """Draw in the layer with that title."""
        key = next((k for k, v in self.layers.items() if v == title), f"layer{len(self.layers)}")
        self.layers[key] = title
        self._raw(f"/OC /{key} BDC q")
        yield
        self._raw("Q EMC")

    def layers_as_in(self, sheet: Sheet) -> dict[str, str]:
        """Return the titles of the layers by their keys, as a reader lists them.

        The work's are in the order in which its cards hold them: a nest's sizes from the smallest.
        """
        strokes = (stroke for placed in sheet.placed for stroke in placed.card.strokes)
        rank = {title: index for index, title in enumerate(dict.fromkeys(map(_layer_of, strokes)))}
        return dict(sorted(self.layers.items(), key=lambda layer: rank.get(layer[1], -1)))

    def line(self, points: FloatArray) -> None:
        """Draw a polyline (n, 2); a single point makes a dot."""
        if self._map is not None:
            points = points @ self._map[:, :2].T + self._map[:, 2]
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
        self,
        text: str,
        x: float,
        y: float,
        height: float,
        *,
        grey: float = 0.0,
        anchor: str = "",
        room: float = math.inf,
    ) -> None:
        """Write text in strokes from x (anchor "middle": about x), its baseline at y.

        Capitals are `height` mm high, or less if the text would be wider than `room` mm.
        """
        text = " ".join("".join(c if c.isprintable() else " " for c in text).split())
        wide = text_width(text, height)
        if wide > room:
            height *= room / wide
            wide = room
        self.pen(height / 10.0, grey=grey)  # ISO 3098: the stroke is a tenth of the height
        corner = np.array([x - wide / 2.0 if anchor else x, y])
        for line in text_lines(text, height):
            self.line(line + corner)

    def _pen(self, line: Pen) -> None:
        self._canvas.setLineWidth(line.width)
        self._canvas.setDash(list(line.dashes))

    def _raw(self, operators: str) -> None:
        self._canvas._code.append(operators)


def _layer_of(stroke: Stroke) -> str:
    return stroke.layer or stroke.mark.value
