"""Walks a document as rendered: transforms, uses, nested views, hidden elements.

Source: W3C SVG 1.1 (second edition), 5 (groups, defs, symbol, use), 7.9, 11.5 (display).
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from plotout import FloatArray, Place, UserError
from plotout_svg.animation import moves_shapes
from plotout_svg.css import Styles
from plotout_svg.document import Document, bare, local
from plotout_svg.page import number, numbers, view
from plotout_svg.shapes import SHAPES
from plotout_svg.transform import after, transform

MOST_SHAPES = 20_000
MOST_USES = 30  # nested
_SEEN = 0.02  # mm
_FEATURES = ("http://www.w3.org/TR/SVG11/feature#", "org.w3c.svg")
_GROUPS = ("svg", "g", "a", "switch")
_CLIPPED = "it is clipped, masked or filtered in places; shapes are read as if they were not"
Port = tuple[float | None, float | None]
"""Width and height, in user units, of the view to which percentages refer; None: unknown."""


@dataclass(frozen=True, slots=True, eq=False)
class Window:
    """What a nested view shows. matrix: (2, 3), its user units to mm; low, high: its corners.

    Source: W3C SVG 1.1, 14.3.3: overflow is hidden in nested views and symbols unless they say so.
    """

    matrix: FloatArray
    low: FloatArray
    high: FloatArray

    def holds(self, points: FloatArray) -> bool:
        """Return whether points, (n, 2), mm, lie within it, or not more than _SEEN outside."""
        turn, shift = self.matrix[:, :2], self.matrix[:, 2]
        if not abs(np.linalg.det(turn)) > 1e-12:
            return True  # flat: refused elsewhere, as no shape
        inside = np.linalg.solve(turn, (points - shift).T).T
        slack = _SEEN / np.hypot(*turn)
        return bool(((inside >= self.low - slack) & (inside <= self.high + slack)).all())


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """A shape as rendered. matrix: (2, 3), its user units to mm, y up.

    line: the elements that contain it, outermost first, itself last; a used element follows its
    use. windows: of the nested views around it, outside of which nothing of it is seen.
    """

    element: ET.Element
    matrix: FloatArray
    line: tuple[ET.Element, ...]
    windows: tuple[Window, ...] = ()


def drawn(document: Document) -> tuple[list[Drawn], tuple[str, ...]]:
    """Return all rendered shapes, in document order, and notes. Raises UserError."""
    walk = _Walk(document)
    root = document.root
    walk.styles.hidden(root)
    if root.get("transform"):
        raise UserError(
            "a transform of the whole drawing is not supported",
            fix="Put it on a group inside, or save the drawing as plain SVG.",
            place=document.place(root),
        )
    shapes = list(walk.inside(root, _At(document.matrix, (root,), document.port, 0)))
    notes = [*walk.notes]
    if any(walk.styles.clipped(element) for element in {e for s in shapes for e in s.line}):
        notes.append(_CLIPPED)
    if any(local(element.tag) == "script" for element in document.lines):
        notes.append("its scripts are not run")
    if any(moves_shapes(document, walk.ids, shapes)):
        notes.append("it is animated; shapes are read as they are without that")
    return shapes, (*walk.styles.notes, *notes)


@dataclass(frozen=True, slots=True, eq=False)
class _At:
    """Where a walk is. matrix: (2, 3), user units to mm; line: the elements down to this one.

    port: the view that percentages refer to. uses: how many uses contain it.
    """

    matrix: FloatArray
    line: tuple[ET.Element, ...]
    port: Port
    uses: int

    def moved(self, own: FloatArray) -> _At:
        """Return it after a transform, (2, 3), of its own."""
        return replace(self, matrix=after(self.matrix, own))


class _Walk:
    """What a walk needs to know about the whole document."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.ids: dict[str, ET.Element] = {}
        for element in document.root.iter():
            self.ids.setdefault(element.get("id", ""), element)  # of two, the first counts
        self.notes: dict[str, None] = {}
        self.styles = Styles(document)
        self.count = 0
        self.windows: tuple[Window, ...] = ()

    def inside(self, element: ET.Element, at: _At) -> Iterator[Drawn]:
        for child in self._shown(element):
            yield from self.one(child, replace(at, line=(*at.line, child)))

    def one(self, element: ET.Element, at: _At) -> Iterator[Drawn]:
        name, place = local(element.tag), self.document.place(element)
        if name not in (*SHAPES, *_GROUPS, "use") or self.styles.hidden(element):
            return
        self.count += 1
        if self.count > MOST_SHAPES:
            raise UserError(
                f"more than {MOST_SHAPES} shapes are drawn",
                fix="Keep only the pattern, without its surroundings.",
                place=place,
            )
        at = at.moved(transform(element.get("transform"), place))
        if not np.isfinite(at.matrix).all():
            raise UserError(
                "its transforms lead beyond any table",
                fix="Are its scales and the viewBox right? Save it as plain SVG.",
                place=place,
            )
        if name in SHAPES:
            if not self.styles.invisible(at.line):
                yield Drawn(element, at.matrix, at.line, self.windows)
        elif name == "use":
            yield from self._used(element, at)
        elif name == "svg":
            yield from self._view(element, element, at)
        else:
            yield from self.inside(element, at)

    def _shown(self, element: ET.Element) -> Iterator[ET.Element]:
        """Give the rendered children: of a switch, only the first without conditions.

        Source: W3C SVG 1.1, 5.8: no extension is known here; the language is the viewer's.
        """
        choosing = local(element.tag) == "switch"
        for child in element:
            if child.get("requiredExtensions") is not None or (choosing and _asks_more(child)):
                continue
            if child.get("systemLanguage") is None:
                yield child
                if choosing:
                    return
            elif any(local(inner.tag) in (*SHAPES, "use") for inner in child.iter()):
                what = "left out" if choosing else "read"
                self.notes[f"shapes that it shows in some languages only are {what}"] = None
                if not choosing:
                    yield child

    def _used(self, use: ET.Element, at: _At) -> Iterator[Drawn]:
        place = self.document.place(use)
        links = (value for key, value in use.attrib.items() if bare(key) == "href")
        link = use.get("href") or next(links, "")
        target = self.ids.get(link[1:]) if link.startswith("#") and link[1:] else None
        if target is None:
            raise UserError(
                f"the element that it uses, '{link}', is not in this file",
                fix="Put a copy of it where it is used.",
                place=place,
            )
        if target in at.line or at.uses >= MOST_USES:
            raise UserError(
                f"'{link}' uses itself", fix="Put a copy of it where it is used.", place=place
            )
        x, y = _corner(use, at.port, place)
        at = at.moved(np.array([[1.0, 0.0, x], [0.0, 1.0, y]]))
        at = replace(at, line=(*at.line, target), uses=at.uses + 1)
        if local(target.tag) in ("symbol", "svg"):
            if self.styles.hidden(target):
                return
            own = transform(target.get("transform"), self.document.place(target))
            yield from self._view(target, use, at.moved(own))
        else:
            yield from self.one(target, at)

    def _view(self, element: ET.Element, sized: ET.Element, at: _At) -> Iterator[Drawn]:
        """Give the shapes within a nested view.

        sized: the element that gives its size. A missing side is that of the surrounding view.
        """
        place = self.document.place(element)
        texts = (sized.get(key) or element.get(key) or "100%" for key in ("width", "height"))
        wide, high = (_side(text, whole, place) for text, whole in zip(texts, at.port, strict=True))
        _must_be_plain(element, (wide, high), place)
        corner = _corner(element, at.port, place)
        inner, port = _nested(element, corner, (wide, high), place)
        around = self.windows
        if wide is not None and high is not None and not self.styles.overflows(element):
            low = np.array(corner)
            self.windows = (*around, Window(at.matrix, low, low + np.array([wide, high])))
        yield from self.inside(element, replace(at.moved(inner), port=port))
        self.windows = around


def _asks_more(element: ET.Element) -> bool:
    """Return whether it asks for a feature that SVG doesn't have (SVG 1.1, appendix M)."""
    features = element.get("requiredFeatures")
    return features is not None and not features.startswith(_FEATURES)


def _must_be_plain(element: ET.Element, sides: Port, place: Place) -> None:
    """Raise UserError for a view without a size, or placed by what few renderers know."""
    if any(side is not None and side <= 0.0 for side in sides):
        raise UserError(
            "this view has no size, so that nothing of it is drawn",
            fix="Give it a width and a height above 0, or delete it.",
            place=place,
        )
    if element.get("refX") or element.get("refY"):
        raise UserError(
            "refX and refY of a symbol are not supported",
            fix="Leave them out, and place its <use> by x and y.",
            place=place,
        )


def _nested(
    element: ET.Element, corner: tuple[float, float], sides: Port, place: Place
) -> tuple[FloatArray, Port]:
    """Return the map from a nested view to its surroundings, and its size in user units.

    corner, sides: where it lies and its size, in the units around it.
    """
    own = np.array([[1.0, 0.0, corner[0]], [0.0, 1.0, corner[1]]])
    box = element.get("viewBox")
    if box is None:
        return own, sides
    if sides[0] is None or sides[1] is None:
        raise UserError(
            "this view's size depends on the page, whose size is unknown",
            fix="Give it a width and a height in numbers.",
            place=place,
        )
    inner = view(element, sides[0], sides[1], place)
    wide, high = numbers(box, place)[2:]
    return own if inner is None else after(own, inner), (wide, high)


def _side(text: str, whole: float | None, place: Place) -> float | None:
    """Return a length in user units; for a percentage, None if the whole is unknown."""
    if not text.strip().endswith("%"):
        return number(text, 0.0, place)
    share = number(text.strip()[:-1], 0.0, place) / 100.0
    return None if whole is None else whole * share


def _corner(element: ET.Element, port: Port, place: Place) -> tuple[float, float]:
    found = []
    for key, whole in zip(("x", "y"), port, strict=True):
        at = _side(element.get(key) or "0", whole, place)
        if at is None:
            raise UserError(
                f"{key} depends on the page, whose size is unknown",
                fix="Give the <svg> a width and a height in mm.",
                place=place,
            )
        found.append(at)
    return found[0], found[1]
