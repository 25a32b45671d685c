"""Reads what a PDF's pages draw, at printed size, and joins tiles.

Source: ISO 32000-1, 8.2 to 8.5 (graphics state, paths, clipping). pypdf opens the file. One unit of
user space is 1/72 in, times the page's UserUnit.
"""

from __future__ import annotations

import io
import logging
import math
import re
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely

from plotout import FloatArray, Machine, Mark, Meaning, Reading, Traced, Work
from plotout_readback.tiles import Shown, disagreements

FURNITURE = "page marks"  # title of the layer for everything but work
_POINT = 25.4 / 72.0
_TOKEN = re.compile(
    rb"\((?:\\.|[^\\()]|\([^()]*\))*\)|<<.*?>>|<[0-9A-Fa-f\s]*>|\[[^\]]*\]"
    rb"|/[^\s/<>\[\](){}%]*|[^\s/<>\[\](){}%]+|%[^\r\n]*|\S",
    re.DOTALL,
)
_NUMBER = frozenset(b"0123456789+-.")
_STILL = frozenset(
    b"J j M ri i gs g rg k cs sc scn BT ET Tf TL Td TD Tm T* Tj TJ Tc Tw "
    b"Tz Tr Ts BDC BMC EMC MP DP".split()
)
_BLACK = {b"G": (0.0,), b"RG": (0.0, 0.0, 0.0), b"K": (0.0, 0.0, 0.0, 1.0)}
_PAINT = {b"S": False, b"s": True, b"B": False, b"b": True, b"B*": False, b"b*": True}
_OPERANDS = {b"m": 2, b"l": 2, b"c": 6, b"v": 4, b"y": 4, b"h": 0, b"re": 4}
_SCORED = (2.0, 1.0)
_STYLES = {
    Mark.OUTLINE: (0.7, ()),
    Mark.STITCHING: (0.25, (3.0, 1.5)),
    Mark.NOTCH: (0.7, ()),
    Mark.GRAIN: (0.35, ()),
    Mark.FOLD: (0.35, ()),
    Mark.INTERNAL: (0.25, (8.0, 1.5)),
    Mark.DRILL: (0.25, ()),
    Mark.HOLE: (0.5, ()),
    Mark.CUTOUT: (0.7, ()),
    Mark.LETTERING: (0.35, ()),
    Mark.JOIN: (0.35, (6.0, 2.0)),
    Mark.UNDERLAP: (0.13, ()),
    Mark.AREA: (0.13, ()),
    Mark.STRIPE: (0.25, (1.0, 1.5)),
    Mark.PLAID: (0.25, (4.0, 1.0, 1.0, 1.0)),
    Mark.REGISTRATION: (0.25, ()),
    Mark.PAGE: (0.18, ()),
}
"""Width and dashes, mm; a scored line has the dashes of _SCORED. Widths: ISO 128-2."""
_FLAT = 0.002  # mm by which chords may deviate from a curve
_MOST_CHORDS = 1000  # of a curve: enough for one of 500 m
_FARTHEST = 1e9  # points


def read(data: bytes, machine: Machine) -> Reading:
    """Return the stroked lines of all pages, mm, in their places on the whole sheet.

    A page that shows a window of a larger drawing is moved to that window, by the shift with which
    it is drawn. Only the visible parts of its lines count. Successive pages with page marks are to
    be joined, so they must agree; if they have names such as "3-B2", those of one card are joined.
    """
    import pypdf

    logging.getLogger("pypdf").addHandler(logging.NullHandler())  # its findings are reported here

    unknown: Counter[str] = Counter()
    traced: list[Traced] = []
    joined: list[Shown] = []
    try:
        file = pypdf.PdfReader(io.BytesIO(data), strict=True)
        pages = list(file.pages)
        unknown.update(_hidden(file.trailer["/Root"]))
        cards = [label.rpartition("-")[0] for label in file.page_labels]
        for number, page in enumerate(pages, start=1):
            content = page.get_contents()
            unit = _POINT * float(page.get("/UserUnit", 1.0))
            box = [float(value) for value in page.mediabox]
            if content is not None:
                drawing = _Page(box, unit, unknown, _layers(page))
                lines = list(drawing.lines(content.get_data()))
                traced += lines
                shown = drawing.shown(number, [line.points for line in lines])
                if shown is None or cards[number - 1] != cards[max(number - 2, 0)]:
                    unknown.update(disagreements(joined))
                    joined = []
                if shown is not None:
                    joined.append(shown)
        unknown.update(disagreements(joined))
    except Exception as fault:
        unknown[f"the file is broken: {fault}"] += 1
    distinguished = frozenset({*_STYLES, *Work})
    return Reading(tuple(traced), True, tuple(unknown), ordered=False, distinguished=distinguished)


def _layers(page: Any) -> dict[bytes, str]:
    """Return the titles of a page's optional content by their names on it."""
    named = page.get("/Resources", {}).get("/Properties", {})
    return {key.encode(): str(named[key].get("/Name", "")) for key in named}


def _hidden(root: Any) -> Iterator[str]:
    """Give in words which layers a document hides at first (ISO 32000-1, 8.11.4.3)."""
    shown = root.get("/OCProperties", {}).get("/D", {})
    for group in shown.get("/OFF", ()):
        yield f"the layer '{group.get_object().get('/Name', '')}', which is hidden"
    if shown.get("/BaseState", "/ON") != "/ON":
        yield "layers that are hidden at first"


@dataclass(frozen=True, slots=True)
class _Pen:
    """How lines are stroked: their width and dashes in user space, and whether in black."""

    width: float = 1.0
    dashes: tuple[float, ...] = ()
    black: bool = True

    def meaning(self, layer: str | None, scale: float) -> Meaning:
        """Return what a line in this style may be. scale: mm per unit of user space."""
        width, *dashes = (round(size * scale, 2) for size in (self.width, *self.dashes))
        scored = tuple(dashes) == _SCORED
        marks = {
            mark
            for mark, (wide, own) in _STYLES.items()
            if wide == width and (scored or own == tuple(dashes))
        }
        dashed = f", dashes of {' '.join(f'{size:g}' for size in dashes)} mm" if dashes else ""
        works = {Work.SCORE} if scored else set(Work) - {Work.SCORE}
        return Meaning(
            f"layer '{layer}', a line {width:g} mm wide{dashed}",
            frozenset(works),
            frozenset(marks),
            layer=layer,
        )


class _Page:
    """A page's graphics state. Boxes: left, bottom, right, top in user space."""

    def __init__(
        self, box: list[float], unit: float, unknown: Counter[str], layers: Mapping[bytes, str]
    ) -> None:
        """layers: their titles by their names on the page."""
        self.unit, self.unknown, self.layers = unit, unknown, layers
        self.marked: list[str | None] = []
        self.pen = _Pen()
        self.matrix = np.array([1.0, 0.0, 0.0, 1.0, 0.0, 0.0])
        self.clip = tuple(box)
        self.stack: list[tuple[FloatArray, tuple[float, ...], _Pen]] = []
        self.ways: list[list[float]] = []
        self.rectangle: list[float] | None = None
        self.clipping = False
        self.marks_shift: FloatArray | None = None
        self.work: tuple[FloatArray, FloatArray] | None = None  # its shift and its clip

    def shown(self, index: int, lines: list[FloatArray]) -> Shown | None:
        """Return what page `index` shows, for one that has both work and page marks."""
        if self.work is None or self.marks_shift is None:
            return None
        shift, clip = self.work
        left, bottom, right, top = ((clip - np.tile(shift, 2)) * self.unit).tolist()
        aside = (shift - self.marks_shift) * self.unit
        return Shown(index, (left, bottom, right, top), lines, aside)

    def lines(self, content: bytes) -> Iterator[Traced]:
        """Give the stroked lines in sheet mm, clipped as on the page."""
        numbers: list[float] = []
        array = b""
        others = 0  # operands that are not numbers
        name = b""
        for token in _TOKEN.findall(content):
            if token[:1] == b"/":
                name = token
            self._mark(token, name)
            if token[0] in _NUMBER:
                numbers.append(self._number(token))
            elif token[:1] in b"(<[/%" and len(token) > 1:
                others += token[:1] != b"%"
                array = token if token[:1] == b"[" else array
            else:
                if token in _OPERANDS and (others or len(numbers) != _OPERANDS[token]):
                    self.unknown[f"wrong operands of {token.decode()}"] += 1
                elif token in _PAINT:
                    yield from self._painted(closes=_PAINT[token])
                elif not (
                    self._path(token, numbers)
                    or self._state(token, numbers)
                    or self._style(token, numbers, array)
                    or token in _STILL
                ):
                    self.unknown[f"the operator {token.decode('latin-1')}"] += 1
                numbers, others = [], 0

    def _mark(self, token: bytes, name: bytes) -> None:
        """Track the open marked content, and whether it is page marks."""
        if token in (b"BDC", b"BMC"):
            self.marked.append(self.layers.get(name))
            if FURNITURE in self.marked:
                self.marks_shift = self.matrix[4:]
            else:
                self.work = self.matrix[4:], np.array(self.clip)
        elif token == b"EMC" and self.marked:
            self.marked.pop()

    def _number(self, token: bytes) -> float:
        try:
            value = float(token)
        except ValueError:
            self.unknown[f"the number {token.decode('latin-1')}"] += 1
            return 0.0
        if not abs(value) < _FARTHEST:
            self.unknown["a number too large"] += 1
            return 0.0
        return value

    def _state(self, token: bytes, numbers: list[float]) -> bool:
        if token == b"q":
            self.stack.append((self.matrix, self.clip, self.pen))
        elif token == b"Q" and self.stack:
            self.matrix, self.clip, self.pen = self.stack.pop()
        elif token == b"cm" and len(numbers) == 6:
            self.matrix = _times(np.array(numbers), self.matrix)
        elif token in (b"W", b"W*"):
            self.clipping = True
        elif token in (b"n", b"f", b"F", b"f*"):
            self._done()
        else:
            return False
        return True

    def _style(self, token: bytes, numbers: list[float], array: bytes) -> bool:
        if token == b"w" and numbers:
            self.pen = replace(self.pen, width=numbers[-1])
        elif token == b"d":
            dashes = tuple(map(self._number, array.strip(b"[]").split()))
            self.pen = replace(self.pen, dashes=dashes)
        elif token in _BLACK:
            self.pen = replace(self.pen, black=tuple(numbers) == _BLACK[token])
        elif token in (b"CS", b"SC", b"SCN"):
            self.pen = replace(self.pen, black=False)
        else:
            return False
        return True

    def _path(self, token: bytes, numbers: list[float]) -> bool:
        if token == b"m":
            self.ways.append(numbers[-2:])
        elif token == b"l" and self.ways:
            self.ways[-1] += numbers[-2:]
        elif token in (b"c", b"v", b"y") and self.ways:
            within = _FLAT / max(self._scale(), 1e-9)
            self.ways[-1] += _bezier(self.ways[-1][-2:], token, numbers, within)
        elif token == b"h" and self.ways:
            self.ways[-1] += self.ways[-1][:2]
        elif token == b"re":
            x, y, w, h = numbers
            self.rectangle = [x, y, x + w, y + h]
            self.ways.append([x, y, x + w, y, x + w, y + h, x, y + h, x, y])
        else:
            return False
        return True

    def _scale(self) -> float:
        """Return how many mm a unit of user space is."""
        return math.sqrt(abs(float(np.linalg.det(self.matrix[:4].reshape(2, 2))))) * self.unit

    def _painted(self, *, closes: bool) -> Iterator[Traced]:
        shift = self.matrix[4:]
        ways = [] if FURNITURE in self.marked else self.ways
        if ways and not self.pen.black:
            self.unknown["a line of work that is not black"] += 1
        meaning = self.pen.meaning(self.marked[-1] if self.marked else None, self._scale())
        for subpath in ways:
            points = np.array(subpath + subpath[:2] if closes else subpath).reshape(-1, 2)
            on_page = points @ self.matrix[:4].reshape(2, 2) + shift
            for seen in _seen(on_page, self.clip):
                yield Traced((seen - shift) * self.unit, meaning=meaning)
        self._done()

    def _done(self) -> None:
        """End a path, which may be a clipping path."""
        if self.clipping and self.rectangle is not None and len(self.ways) == 1:
            corners = np.array(self.rectangle).reshape(2, 2)
            placed = corners @ self.matrix[:4].reshape(2, 2) + self.matrix[4:]
            low, high = placed.min(axis=0), placed.max(axis=0)
            left, bottom, right, top = self.clip
            self.clip = (
                max(left, float(low[0])), max(bottom, float(low[1])),
                min(right, float(high[0])), min(top, float(high[1])),
            )  # fmt: skip
        elif self.clipping:
            self.unknown["clipping by a shape other than a rectangle"] += 1
        self.ways, self.rectangle, self.clipping = [], None, False


def _times(inner: FloatArray, outer: FloatArray) -> FloatArray:
    turn = inner[:4].reshape(2, 2) @ outer[:4].reshape(2, 2)
    shift = inner[4:] @ outer[:4].reshape(2, 2) + outer[4:]
    return np.concatenate([turn.ravel(), shift])


def _seen(points: FloatArray, clip: tuple[float, ...]) -> list[FloatArray]:
    """Return the parts of a line within the box."""
    low, high = points.min(axis=0), points.max(axis=0)
    left, bottom, right, top = clip
    if low[0] >= left and low[1] >= bottom and high[0] <= right and high[1] <= top:
        return [points]
    if high[0] < left or high[1] < bottom or low[0] > right or low[1] > top or len(points) < 2:
        return []
    parts = shapely.get_parts(shapely.clip_by_rect(shapely.linestrings(points), *clip))
    return [np.asarray(part.coords) for part in parts.tolist() if part.geom_type == "LineString"]


def _bezier(start: list[float], token: bytes, numbers: list[float], within: float) -> list[float]:
    """Return chords along a curve, x, y ..., without its start, at most `within` off it.

    A chord over 1/n of a cubic curve is at most 3/4 of its greatest second difference / n^2 off
    (by the second derivative, times 1/8).
    """
    if token == b"v":
        numbers = [*start, *numbers]
    elif token == b"y":
        numbers = [*numbers, *numbers[-2:]]
    corners = np.array([*start, *numbers[-6:]]).reshape(4, 2)
    bend = float(np.hypot(*np.diff(corners, 2, axis=0).T).max())
    count = min(math.ceil(math.sqrt(0.75 * bend / within)) + 1, _MOST_CHORDS)
    t = np.arange(1, count + 1)[:, None] / count
    powers = [(1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3]
    flat: list[float] = (
        sum(power * corner for power, corner in zip(powers, corners, strict=True)).ravel().tolist()
    )
    return flat
