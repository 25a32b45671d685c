"""A drawing whose lines stand in a wrong layer, group, colour or line style fails its read-back.

The files are spoilt by others: DXF by ezdxf, SVG by the standard library's XML, PDF by pypdf.
Each line of every mark and work is moved to the places of the other kinds, one at a time.
"""

from __future__ import annotations

import io
import itertools
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator

import ezdxf
import numpy as np
import pytest
from plotout_pdf.style import pen_for

from plotout import plugins
from plotout.geometry.strokes import Mark, NotchKind, Stroke, Work
from plotout.model import Card, Placed, Program, Run, Sheet
from plotout.proof import verify

from .conftest import PEN, interpreter, machine_for
from .test_drawn_mutations import contents, packed

SVG = "{http://www.w3.org/2000/svg}"
SIZE = 400.0


def strokes() -> list[Stroke]:
    """Return a line of every mark and work, and of every kind of notch, each in a place of its own.

    An angle of two legs; a grain line is straight.
    """
    kinds = [(mark, work, None) for mark in Mark if mark is not Mark.NOTCH for work in Work]
    kinds += [(Mark.NOTCH, work, kind) for kind in NotchKind for work in (Work.DRAW, Work.CUT)]
    found = []
    for nth, (mark, work, kind) in enumerate(kinds):
        corner = np.array([20.0 + 36.0 * (nth % 10), 20.0 + 36.0 * (nth // 10)])
        line = corner + np.array([[0.0, 0.0], [25.0, 0.0], [25.0, 20.0]])
        line = line[:2] if mark is Mark.GRAIN else line
        found.append(Stroke(line, work, mark, "one" if nth % 2 else "two", notch=kind))
    return found


@pytest.fixture(scope="module")
def sheet() -> Sheet:
    placed = []
    for number, name in enumerate(("one", "two"), start=1):
        own = tuple(stroke for stroke in strokes() if stroke.card == name)
        card = Card(name, name, name.title(), number, 2, own[0].points, own)
        placed.append(Placed(card, 0.0, (0.0, 0.0)))
    return Sheet("sheet", 1, SIZE, SIZE, tuple(placed), stock="card")


def written(driver: str, sheet: Sheet) -> tuple[Program, bytes]:
    machine = machine_for(driver)
    runs = tuple(Run(stroke.points, PEN, stroke, 10.0) for stroke in strokes())
    program = Program("sheet", machine, SIZE, SIZE, runs)
    return program, plugins.driver(driver).emit(program, sheet)


def faults(driver: str, sheet: Sheet, program: Program, data: bytes) -> tuple[str, ...]:
    return verify(program, sheet, data, interpreter(driver))


@pytest.mark.parametrize("driver", ["svg", "dxf", "pdf-page", "pdf-tiles"])
def test_every_kind_in_its_place_is_as_meant(sheet, driver):
    program, data = written(driver, sheet)
    assert faults(driver, sheet, program, data) == ()


def swapped_in_dxf(data: bytes) -> Iterator[tuple[str, bytes]]:
    """Put lines on the layer, then in the colour, of the next kind that has another."""

    def read():
        return ezdxf.read(io.StringIO(data.decode()))

    def lines(document):
        return [e for block in document.blocks for e in block
                if e.dxftype() in ("LINE", "LWPOLYLINE", "POLYLINE")]  # fmt: skip

    looks = [(line.dxf.layer, line.dxf.color) for line in lines(read())]
    for nth, (layer, colour) in enumerate(looks):
        if nth % 6:
            continue  # quicker
        others = looks[nth + 1 :] + looks[:nth]
        for key, value in (("layer", next(one for one, _ in others if one != layer)),
                           ("color", next(one for _, one in others if one != colour))):  # fmt: skip
            document = read()
            lines(document)[nth].dxf.set(key, value)
            out = io.StringIO()
            document.write(out)
            yield f"{layer}, {colour}: {key} {value}", out.getvalue().encode()


def swapped_in_svg(data: bytes) -> Iterator[tuple[str, bytes]]:
    """Give each line the class of the next, move it to the next group, give it another colour."""
    ET.register_namespace("", SVG.strip("{}"))

    def groups(root):
        return [group for group in root.iter(f"{SVG}g") if group.get("stroke")]

    def paths(root):
        return [(group, path) for group in groups(root) for path in group.iter(f"{SVG}path")]

    many = len(paths(ET.fromstring(data)))
    for nth, change in itertools.product(range(0, many, 4), ("class", "group", "colour")):
        root = ET.fromstring(data)
        every = paths(root)
        (group, path), (_, other) = every[nth], every[(nth + 1) % many]
        if change == "class":
            if other.get("class") == path.get("class"):
                continue
            path.set("class", other.get("class"))
        elif change == "group":
            group.remove(path)
            beside = groups(root)
            beside[(beside.index(group) + 1) % len(beside)].append(path)
        else:
            path.set("stroke", "#e69f00" if "score" not in path.get("class") else "#000000")
        yield f"{change} of {path.get('class')}", ET.tostring(root)


def swapped_in_pdf(data: bytes) -> Iterator[tuple[str, bytes]]:
    """Give each layer's lines to the next, and each line another width, dashes or colour."""
    (content,) = contents(data)
    head, mark, work = content.partition(b"/layer1 BDC")
    assert mark
    work = mark + work
    layers = re.findall(rb"/(layer\d+) BDC", work)
    for one, other in itertools.pairwise(layers):
        yield (
            f"{one} to {other}",
            packed(data, 0, head + re.sub(rb"/%s BDC" % one, b"/%s BDC" % other, work)),
        )
    for found in re.finditer(rb"(?<=\n)(\S+) w(?=\s)", work):
        for width in (b".19", b".99"):
            spoilt = work[: found.start(1)] + width + work[found.end(1) :]
            yield f"width {found[1]} as {width}", packed(data, 0, head + spoilt)
        break
    for found in itertools.islice(re.finditer(rb"\[([^]]*)\] 0 d", work), 0, None, 7):
        spoilt = work[: found.start(1)] + b"5 5" + work[found.end(1) :]
        yield f"dashes {found[1]}", packed(data, 0, head + spoilt)
    yield "white", packed(data, 0, head + work.replace(b" w\n", b" w 1 G\n", 1))
    yield "in no width", packed(data, 0, head + re.sub(rb"\n\S+ w", b"\n0 w", work, count=1))


@pytest.mark.parametrize(
    ("driver", "swapped", "least"),
    [("dxf", swapped_in_dxf, 25), ("svg", swapped_in_svg, 50), ("pdf-page", swapped_in_pdf, 25)],
)
def test_every_line_in_a_wrong_place_is_told(sheet, driver, swapped, least):
    program, data = written(driver, sheet)
    missed, tried = [], 0
    for what, spoilt in swapped(data):
        tried += 1
        if not faults(driver, sheet, program, spoilt):
            missed.append(what)
    assert missed == []
    assert tried >= least


@pytest.mark.parametrize("mark", list(Mark))
def test_on_paper_a_line_to_score_looks_like_no_other(mark):
    """A page has no colours: an internal line is dashed, so a crease needs dashes of its own."""
    line = np.array([[0.0, 0.0], [9.0, 0.0]])
    crease = pen_for(Stroke(line, Work.SCORE, mark))
    others = {pen_for(Stroke(line, Work.DRAW, other)).dashes for other in Mark}
    assert crease.dashes not in others
