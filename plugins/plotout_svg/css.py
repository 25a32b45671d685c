"""Style sheets and style attributes, as far as they matter to a drawing.

Colours and widths of lines don't matter to a pattern. Rules that hide a shape are followed; rules
that move or reshape one are refused, since it would be read elsewhere than it is seen.
Source: CSS Transforms 1, CSS 2.1 chapter 4 and 5 (selectors); SVG 2, chapter 7 (geometry
properties).
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from plotout import UserError
from plotout_svg.document import Document, local

MOVING = frozenset(
    ("transform", "transform-origin", "transform-box", "translate", "rotate", "scale", "zoom",
     "offset", "offset-path", "motion-path")
)  # fmt: skip
SHAPING = frozenset(("x", "y", "cx", "cy", "r", "rx", "ry", "d", "width", "height"))
MOST_LOOKS = 3_000_000
_UNSEEN = ("hidden", "collapse")
_SIMPLE = re.compile(r"(\*|[\w-]+)?([.#][\w-]+)*")
_PART = re.compile(r"[.#]?[\w-]+|\*")
_FIX = "Write it as the attribute transform, or save the drawing as plain SVG."


@dataclass(frozen=True, slots=True)
class Rule:
    """A selector of a style sheet, and the properties that it sets, with their values."""

    selector: str
    sets: dict[str, str]

    @property
    def simple(self) -> bool:
        """Whether it needs only the element itself: g, .class, #id, path.class#id."""
        return _SIMPLE.fullmatch(self.selector) is not None

    def weight(self) -> tuple[int, int, int]:
        """Its specificity: its ids, its classes, its names of elements."""
        parts = _PART.findall(self.selector)
        ids, classes = (sum(part.startswith(mark) for part in parts) for mark in "#.")
        return ids, classes, len(parts) - ids - classes

    def fits(self, element: ET.Element) -> bool:
        """Return whether a simple selector picks the element."""
        return set(_PART.findall(self.selector)) <= set(_parts_of(element))


class Styles:
    """The rules of a document's style sheets that hide, move or reshape."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.known: dict[ET.Element, dict[str, str]] = {}
        sheets = ["".join(sheet.itertext()) for sheet in document.root.iter()
                  if local(sheet.tag) == "style"]  # fmt: skip
        every = [rule for sheet in sheets for rule in _rules(sheet)]
        self.rules = sorted((rule for rule in every if _matters(rule.sets)), key=Rule.weight)
        for rule in self.rules:
            if not rule.simple and not _hides(rule.sets):
                raise UserError(
                    f"its style sheet moves or reshapes what '{rule.selector[:40]}' selects, "
                    "which is not supported",
                    fix=_FIX,
                    place=document.place(document.root),
                )
        self.by_part: dict[str, list[int]] = {}
        self.looked = 0
        for index, rule in enumerate(self.rules):
            if rule.simple:
                self.by_part.setdefault(max(_PART.findall(rule.selector)), []).append(index)
        unclear = [rule.selector[:40] for rule in self.rules if not rule.simple]
        told = [
            f"its style sheet hides or shows what '{selector}' selects; that is ignored"
            for selector in unclear
        ]
        if any("@import" in sheet for sheet in sheets):
            told.append("a style sheet outside the drawing is not read")
        self.notes = tuple(told)

    def hidden(self, element: ET.Element) -> bool:
        """Return whether an element is left out with its contents. Raises UserError if moved."""
        sets = self._sets(element)
        if sets.get("display") == "none":
            return True
        moves = {key for key in sets if key in MOVING and sets[key] not in ("none", "0", "initial")}
        shapes = {key for key in sets if key in SHAPING}
        if element is self.document.root:  # the set file's unit overrides any width
            shapes = set() if self.document.unit_given else shapes & {"width", "height"}
        if not moves & {"transform"} and not element.get("transform"):
            moves -= {"transform-origin", "transform-box"}  # nothing to turn about it
        elif element.get("transform-origin"):
            moves.add("transform-origin")
        if moves or shapes:
            raise UserError(
                f"{', '.join(sorted(moves | shapes))} in a style is not supported"
                if moves - {"transform-origin"} or shapes
                else "transform-origin is not supported",
                fix=_FIX,
                place=self.document.place(element),
            )
        return False

    def invisible(self, line: Sequence[ET.Element]) -> bool:
        """Return whether a shape is invisible, by the innermost of its line that sets visibility.

        line: the elements that contain it, outermost first, itself last.
        """
        said = (self._sets(element).get("visibility", "inherit") for element in reversed(line))
        return next((word for word in said if word != "inherit"), "") in _UNSEEN

    def _sets(self, element: ET.Element) -> dict[str, str]:
        """Return the properties of an element: from its attributes, the rules, its own style."""
        if element not in self.known:
            told = {key: word for key in ("display", "visibility") if (word := element.get(key))}
            for rule in self._near(element):
                if rule.fits(element):
                    told |= rule.sets
            self.known[element] = told | _declared(element.get("style", ""))
        return self.known[element]

    def _near(self, element: ET.Element) -> list[Rule]:
        """Return the rules that may pick an element, the most specific last. Raises UserError."""
        near = [found for part in _parts_of(element) for found in self.by_part.get(part, ())]
        self.looked += len(near)
        if self.looked > MOST_LOOKS:
            raise UserError(
                "its style sheets have too many rules for so many shapes",
                fix="Save it as plain SVG.",
                place=self.document.place(self.document.root),
            )
        return [self.rules[index] for index in sorted(near)]


def _parts_of(element: ET.Element) -> list[str]:
    classes = [f".{name}" for name in element.get("class", "").split()]
    return ["*", local(element.tag), f"#{element.get('id', '')}", *dict.fromkeys(classes)]


def _matters(sets: dict[str, str]) -> bool:
    return _hides(sets) or any(key in MOVING or key in SHAPING for key in sets)


def _hides(sets: dict[str, str]) -> bool:
    """Return whether something is hidden, or shown against another rule."""
    return "display" in sets or "visibility" in sets


def _rules(text: str) -> Iterator[Rule]:
    """Give the rules of a style sheet, including those inside @media and the like."""
    for block in _without_comments(text).split("}"):
        head, _, body = block.rpartition("{")
        sets = _declared(body)
        for selector in head.rpartition("{")[2].rpartition(";")[2].split(","):
            if selector.strip():
                yield Rule(" ".join(selector.split()), sets)


def _without_comments(text: str) -> str:
    parts, at = [], 0
    while (begin := text.find("/*", at)) >= 0:
        parts.append(text[at:begin])
        end = text.find("*/", begin + 2)
        if end < 0:
            return "".join(parts)
        at = end + 2
    return "".join([*parts, text[at:]])


def _declared(text: str) -> dict[str, str]:
    """Return the properties set by declarations, by name, in lower case."""
    pairs = (part.partition(":") for part in text.split(";"))
    return {
        key.strip().lower(): value.replace("!important", "").strip().lower()
        for key, colon, value in pairs
        if colon
    }
