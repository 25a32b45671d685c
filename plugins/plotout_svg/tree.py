"""Walks a document as it is rendered: transforms, uses, nested views, what is hidden.

Source: W3C SVG 1.1 (second edition), 5 (groups, defs, symbol, use), 7.9, 11.5 (display).
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from plotout import FloatArray, UserError
from plotout_svg.document import Document, local, number, view
from plotout_svg.shapes import SHAPES
from plotout_svg.transform import after, transform

MOST_SHAPES = 100_000
MOST_USES = 30  # within each other
_GROUPS = ("svg", "g", "a", "switch")
_RULE = re.compile(r"([^{}]+)\{([^{}]*)\}")


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """A shape as it is rendered. matrix: (2, 3), its user units to mm, y up.

    line: the elements that it lies in, outermost first, itself last; an element that was used
    follows its use.
    """

    element: ET.Element
    matrix: FloatArray
    line: tuple[ET.Element, ...]


def drawn(document: Document) -> list[Drawn]:
    """Return every shape that is rendered, in the document's order. Raises UserError."""
    walk = _Walk(document)
    return list(walk.inside(document.root, document.matrix, (document.root,), 0))


class _Walk:
    """What a walk needs to know of the whole document."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.ids = {each.get("id"): each for each in document.root.iter() if each.get("id")}
        self.hiding = _hiding_selectors(document.root)
        self.count = 0

    def inside(
        self, element: ET.Element, matrix: FloatArray, line: tuple[ET.Element, ...], uses: int
    ) -> Iterator[Drawn]:
        for child in element:
            yield from self.one(child, matrix, (*line, child), uses)

    def one(
        self, element: ET.Element, matrix: FloatArray, line: tuple[ET.Element, ...], uses: int
    ) -> Iterator[Drawn]:
        name, place = local(element.tag), self.document.place(element)
        if name not in (*SHAPES, *_GROUPS, "use") or self._hidden(element):
            return
        if re.search(r"(^|[;\s])transform\s*:", element.get("style", "")):
            raise UserError("a transform in a style is not read",
                            fix="Write it as the attribute transform.", place=place)  # fmt: skip
        self.count += 1
        if self.count > MOST_SHAPES:
            raise UserError(f"more than {MOST_SHAPES} shapes are drawn", place=place)
        matrix = after(matrix, transform(element.get("transform"), place))
        if name in SHAPES:
            yield Drawn(element, matrix, line)
        elif name == "use":
            yield from self._used(element, matrix, line, uses)
        else:
            if name == "svg":
                matrix = after(matrix, self._nested(element, element))
            yield from self.inside(element, matrix, line, uses)

    def _used(
        self, use: ET.Element, matrix: FloatArray, line: tuple[ET.Element, ...], uses: int
    ) -> Iterator[Drawn]:
        place = self.document.place(use)
        link = next((value for key, value in use.attrib.items() if local(key) == "href"), "")
        target = self.ids.get(link[1:]) if link.startswith("#") else None
        if target is None:
            raise UserError(f"what it uses, '{link}', is not in this file", place=place)
        if target in line or uses >= MOST_USES:
            raise UserError(f"'{link}' uses itself", place=place)
        x, y = (number(use.get(key), 0.0, place) for key in ("x", "y"))
        matrix = after(matrix, np.array([[1.0, 0.0, x], [0.0, 1.0, y]]))
        line = (*line, target)
        if local(target.tag) in ("symbol", "svg"):
            own = transform(target.get("transform"), self.document.place(target))
            matrix = after(after(matrix, own), self._nested(target, use))
            yield from self.inside(target, matrix, line, uses + 1)
        else:
            yield from self.one(target, matrix, line, uses + 1)

    def _nested(self, element: ET.Element, sized: ET.Element) -> FloatArray:
        """The map from a nested view to what it lies in; `sized`: who says how large it is."""
        place = self.document.place(element)
        sides = []
        for key in ("width", "height"):
            text = sized.get(key, element.get(key))
            sides.append(number(text, 0.0, place) if text and "%" not in text else None)
        x, y = (number(element.get(key), 0.0, place) for key in ("x", "y"))
        if local(element.tag) == "symbol":
            x = y = 0.0
        inner = view(element, sides[0], sides[1], place)
        own = np.array([[1.0, 0.0, x], [0.0, 1.0, y]])
        return own if inner is None else after(own, inner)

    def _hidden(self, element: ET.Element) -> bool:
        style = element.get("style", "").replace(" ", "").lower()
        if "display:none" in style or "visibility:hidden" in style:
            return True
        if element.get("display") == "none" or element.get("visibility") == "hidden":
            return True
        names = {local(element.tag), f"#{element.get('id', '')}"}
        names |= {f".{name}" for name in element.get("class", "").split()}
        return bool(names & self.hiding)


def _hiding_selectors(root: ET.Element) -> set[str]:
    """Return the plain selectors (tag, .class, #id) that style sheets hide."""
    hiding: set[str] = set()
    for sheet in root.iter():
        if local(sheet.tag) == "style":
            text = re.sub(r"/\*.*?\*/", "", "".join(sheet.itertext()), flags=re.DOTALL)
            for selectors, rules in _RULE.findall(text):
                if re.search(r"display\s*:\s*none|visibility\s*:\s*hidden", rules):
                    hiding |= {each.strip() for each in selectors.split(",")}
    return hiding
