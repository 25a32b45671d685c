"""Style sheets and style attributes, as far as they matter to a drawing.

Colours and widths of lines don't matter to a pattern. Rules that hide a shape are followed; rules
that move or reshape one are refused, since it would be read elsewhere than it is seen.
Source: CSS Transforms 1, CSS 2.1 chapter 5 (selectors) and 6 (cascade); SVG 2, chapter 7 (geometry
properties) and 8.13 (vector effects).
"""

from __future__ import annotations

import contextlib
import xml.etree.ElementTree as ET
from collections.abc import Iterator, Sequence

from plotout import UserError
from plotout.kit import shown
from plotout_svg.document import Document, local
from plotout_svg.sheets import Reader, Rule, Sets

MOVING = frozenset(
    ("transform", "transform-origin", "transform-box", "translate", "rotate", "scale", "zoom",
     "offset", "offset-path", "motion-path")
)  # fmt: skip
SHAPING = frozenset(("x", "y", "cx", "cy", "r", "rx", "ry", "d", "width", "height"))
MOST_LOOKS = 3_000_000
MOST_CSS = 300_000
"""Characters of style sheets, and of style attributes, that name a property which matters here:
tinycss2 takes some 10 s for a million."""
_REFUSED = MOVING | SHAPING | {"vector-effect"}
_CLIPPING = ("clip-path", "mask", "mask-image", "filter")
_OVERFLOW = ("overflow", "overflow-x", "overflow-y")
_READER = Reader(_REFUSED | {"display", "visibility", *_CLIPPING, *_OVERFLOW})
_ATTRIBUTES = ("display", "visibility", "vector-effect", "clip-path", "mask", "filter", "overflow")
_UNSEEN = ("hidden", "collapse")
_FIX = "Write it as an attribute of the element, or save the drawing as plain SVG."


class Styles:
    """The rules of a document's style sheets that hide, move or reshape."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.known: dict[ET.Element, dict[str, str]] = {}
        sheets = ["".join(sheet.itertext()) for sheet in document.root.iter()
                  if local(sheet.tag) == "style"]  # fmt: skip
        self.read = 0  # characters of style attributes
        self.own: dict[str, Sets] = {"": ({}, {})}
        self.rules = sorted(self._rules(sheets), key=lambda rule: rule.selector.weight)
        for rule in self.rules:
            if not rule.selector.parts and not _REFUSED.isdisjoint(rule.properties):
                raise UserError(
                    f"its style sheet moves or reshapes what '{rule.selector.text[:40]}' selects, "
                    "which is not supported",
                    fix=_FIX,
                    place=document.place(document.root),
                )
        self.by_part: dict[str, list[int]] = {}
        self.looked = 0
        for index, rule in enumerate(self.rules):
            if rule.selector.parts:
                self.by_part.setdefault(max(rule.selector.parts), []).append(index)
        unclear = [rule.selector.text[:40] for rule in self.rules if not rule.selector.parts]
        notes = [
            f"its style sheet hides, shows or clips what '{selector}' selects; that is ignored"
            for selector in unclear
        ]
        if document.sheet_elsewhere or any("@import" in sheet.lower() for sheet in sheets):
            notes.append("a style sheet outside the drawing is not read")
        if any("@keyframes" in sheet.lower() for sheet in sheets):
            notes.append("its style sheet animates shapes; they are read without that")
        self.notes = tuple(notes)

    def _rules(self, sheets: Sequence[str]) -> list[Rule]:
        """Return the rules of the sheets that name a property which matters."""
        named = [sheet for sheet in sheets if _READER.concerns(sheet)]
        if sum(map(len, named)) > MOST_CSS:
            raise self._too_many()
        with self._readable():
            return [rule for sheet in named for rule in _READER.rules(sheet)]

    @contextlib.contextmanager
    def _readable(self) -> Iterator[None]:
        """Raise a fault of a style that tinycss2 can't take as UserError."""
        try:
            yield
        except (RecursionError, ValueError) as fault:
            deep = isinstance(fault, RecursionError)
            what = "is nested too deep" if deep else "has a number that is too long"
            raise UserError(
                f"a style in it {what}",
                fix="Save it as plain SVG.",
                place=self.document.place(self.document.root),
            ) from None

    def hidden(self, element: ET.Element) -> bool:
        """Return whether an element is left out with its contents. Raises UserError if moved."""
        sets = self._sets(element)
        if sets.get("display") == "none":
            return True
        if sets.get("display") == "contents":  # its own transform doesn't count then
            raise UserError(
                "display: contents is not supported",
                fix="Leave it out, and ungroup what is in it.",
                place=self.document.place(element),
            )
        moves = {key for key in sets if key in MOVING and sets[key] not in ("none", "0", "initial")}
        if "transform" in sets and element.get("transform"):  # even "none" overrides the attribute
            moves.add("transform")
        shapes = {key for key in sets if key in SHAPING}
        if element is self.document.root:  # the set file's unit overrides any width
            shapes = set() if self.document.unit_given else shapes & {"width", "height"}
        if not moves & {"transform"} and not element.get("transform"):
            moves -= {"transform-origin", "transform-box"}  # nothing to turn about it
        elif element.get("transform-origin"):
            moves.add("transform-origin")
        if sets.get("vector-effect", "none").split()[0] not in ("none", "non-scaling-stroke"):
            raise UserError(
                f"vector-effect {shown(sets['vector-effect'])} is not supported",
                fix="Remove it: it draws a shape at another size or place than its own.",
                place=self.document.place(element),
            )
        if moves or shapes:
            raise UserError(
                f"{', '.join(sorted(moves | shapes))} in a style is not supported"
                if moves - {"transform-origin"} or shapes
                else "transform-origin is not supported",
                fix=_FIX,
                place=self.document.place(element),
            )
        return False

    def clipped(self, element: ET.Element) -> bool:
        """Return whether less of an element is seen than its shapes, or something else."""
        sets = self._sets(element)
        return any(sets.get(key, "none") not in ("none", "initial") for key in _CLIPPING)

    def overflows(self, element: ET.Element) -> bool:
        """Return whether what lies outside a nested view is seen."""
        said = {word for key in _OVERFLOW if (word := self._sets(element).get(key))}
        return bool(said) and said <= {"visible", "auto"}

    def invisible(self, line: Sequence[ET.Element]) -> bool:
        """Return whether a shape is invisible, by the innermost of its line that sets visibility.

        line: the elements that contain it, outermost first, itself last.
        """
        said = (self._sets(element).get("visibility", "inherit") for element in reversed(line))
        return next((word for word in said if word != "inherit"), "") in _UNSEEN

    def _sets(self, element: ET.Element) -> dict[str, str]:
        """Return the properties of an element: from its attributes, the rules, its own style."""
        if element not in self.known:
            sets = {key: word for key in _ATTRIBUTES if (word := element.get(key))}
            must: dict[str, str] = {}
            own = self._own(element.get("style", ""))
            for rule in self._near(element):
                if rule.selector.parts <= _parts_of(element):
                    sets |= rule.sets
                    must |= rule.must
            self.known[element] = sets | own[0] | must | own[1]
        return self.known[element]

    def _own(self, text: str) -> Sets:
        """Return what a style attribute declares; the same text is read once."""
        if not _READER.concerns(text):
            return self.own[""]
        if text not in self.own:
            self.read += len(text)
            if self.read > MOST_CSS:
                raise self._too_many()
            with self._readable():
                self.own[text] = _READER.declared(text)
        return self.own[text]

    def _too_many(self) -> UserError:
        return UserError(
            "its style sheets and styles are too long, or have too many rules for so many shapes",
            fix="Save it as plain SVG.",
            place=self.document.place(self.document.root),
        )

    def _near(self, element: ET.Element) -> list[Rule]:
        """Return the rules that may pick an element, the most specific last. Raises UserError."""
        near = [found for part in _parts_of(element) for found in self.by_part.get(part, ())]
        self.looked += len(near)
        if self.looked > MOST_LOOKS:
            raise self._too_many()
        return [self.rules[index] for index in sorted(near)]


def _parts_of(element: ET.Element) -> set[str]:
    classes = [f".{name}" for name in element.get("class", "").split()]
    return {"*", local(element.tag), f"#{element.get('id', '')}", *classes}
