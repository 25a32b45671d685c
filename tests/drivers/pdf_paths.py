"""Reads lines off a PDF's pages with pypdf: their layer, place and clip. No code of plotout's."""

import io

import numpy as np
from pypdf import PdfReader
from pypdf.generic import ContentStream

MM = 25.4 / 72.0


def pages(data):
    """Each page's label, size in mm, and lines: (layer's title, points in the page's mm)."""
    reader = PdfReader(io.BytesIO(data))
    for label, page in zip(reader.page_labels, reader.pages, strict=True):
        unit = float(page.user_unit) * MM
        size = (float(page.mediabox.width) * unit, float(page.mediabox.height) * unit)
        known = page["/Resources"].get("/Properties", {})
        layers = {key: group.get_object()["/Name"] for key, group in known.items()}
        yield label, size, list(_lines(ContentStream(page.get_contents(), reader), layers, unit))


def _lines(content, layers, unit):
    matrix, stack, layer, path = np.eye(3), [], [], []
    for operands, operator in content.operations:
        match operator:
            case b"q":
                stack.append(matrix)
            case b"Q":
                matrix = stack.pop()
            case b"cm":
                a, b, c, d, e, f = map(float, operands)
                matrix = np.array([[a, b, 0], [c, d, 0], [e, f, 1]]) @ matrix
            case b"BDC":
                assert operands[0] == "/OC"
                layer.append(layers[operands[1]])
            case b"EMC":
                layer.pop()
            case b"m":
                path = [list(map(float, operands))]
            case b"l":
                path.append(list(map(float, operands)))
            case b"c":
                path += _curve(path[-1], list(map(float, operands)))
            case b"S":
                points = np.column_stack([np.array(path), np.ones(len(path))]) @ matrix
                yield layer[-1], points[:, :2] * unit
    assert not stack
    assert not layer


def _curve(start, numbers):
    """Points along a Bezier curve, by de Casteljau's construction."""
    corners = np.array([*start, *numbers]).reshape(4, 2)
    for t in np.arange(1, 257) / 256:
        points = corners
        while len(points) > 1:
            points = (1 - t) * points[:-1] + t * points[1:]
        yield points[0].tolist()
