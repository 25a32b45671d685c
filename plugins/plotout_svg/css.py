"""What style sheets and style attributes do to a drawing, as far as plotout must know it.

Colours and widths of lines don't matter to a pattern. What hides a shape is followed; what moves or
reshapes one is refused, since it would be read at another place than it is seen at.
Source: CSS Transforms 1, CSS 2.1 chapter 4 and 5 (selectors); SVG 2, chapter 7 (geometry
properties).
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass

from plotout import UserError
from plotout_svg.document import Document, local

MOVING = frozenset(
    ("transform", "transform-origin", "transform-box", "translate", "rotate", "scale", "zoom",
     "offset", "offset-path", "motion-path")
)  # fmt: skip
SHAPING = frozenset(("x", "y", "cx", "cy", "r", "rx", "ry", "d", "width", "height"))
_SIMPLE = re.compile(r"(\*|[\w-]+)?([.#][\w-]+)*")
_PART = re.compile(r"[.#]?[\w-]+|\*")
_FIX = "Write it as the attribute transform, or save the drawing as plain SVG."


@dataclass(frozen=True, slots=True)
class Rule:
    """One selector of a style sheet, and the properties that it sets, with their values."""

    selector: str
    sets: dict[str, str]

    @property
    def simple(self) -> bool:
        """True when it needs no more than the element itself: g, .class, #id, path.class#id."""
        return _SIMPLE.fullmatch(self.selector) is not None

    def fits(self, element: ET.Element) -> bool:
        """True when a simple selector picks the element."""
        have = {"*", local(element.tag), f"#{element.get('id', '')}"}
        have |= {f".{name}" for name in element.get("class", "").split()}
        return set(_PART.findall(self.selector)) <= have


class Styles:
    """The rules of a document's style sheets that hide, move or reshape."""

    def __init__(self, document: Document) -> None:
        self.document = document
        every = [rule for sheet in document.root.iter() if local(sheet.tag) == "style"
                 for rule in _rules("".join(sheet.itertext()))]  # fmt: skip
        self.rules = [rule for rule in every if _matters(rule.sets)]
        for rule in self.rules:
            if not rule.simple and not _hides(rule.sets):
                raise UserError(
                    f"its style sheet moves or reshapes what '{rule.selector[:40]}' picks, "
                    "which is not followed",
                    fix=_FIX,
                    place=document.place(document.root),
                )
        unclear = [rule.selector for rule in self.rules if not rule.simple]
        self.notes = tuple(
            f"its style sheet hides what '{selector[:40]}' picks; that is not followed"
            for selector in unclear
        )

    def hidden(self, element: ET.Element) -> bool:
        """True for an element that is not rendered. Raises UserError for one that is moved."""
        sets: dict[str, str] = {}
        for rule in self.rules:
            if rule.simple and rule.fits(element):
                sets |= rule.sets
        own = _declared(element.get("style", ""))
        sets |= own
        if _hides(sets) or _hides({key: element.get(key, "") for key in ("display", "visibility")}):
            return True
        at_root = element is self.document.root
        moves = {key for key in sets if key in MOVING and sets[key] not in ("none", "0", "initial")}
        shapes = set() if at_root else {key for key in sets if key in SHAPING}
        if not moves & {"transform"} and not element.get("transform"):
            moves -= {"transform-origin", "transform-box"}  # nothing to turn about it
        elif element.get("transform-origin"):
            moves.add("transform-origin")
        if moves or shapes:
            raise UserError(
                f"{', '.join(sorted(moves | shapes))} in a style is not followed"
                if moves - {"transform-origin"} or shapes
                else "transform-origin is not followed",
                fix=_FIX,
                place=self.document.place(element),
            )
        return False


def _matters(sets: dict[str, str]) -> bool:
    return _hides(sets) or any(key in MOVING or key in SHAPING for key in sets)


def _hides(sets: dict[str, str]) -> bool:
    return sets.get("display") == "none" or sets.get("visibility") in ("hidden", "collapse")


def _rules(text: str) -> Iterator[Rule]:
    """Give the rules of a style sheet, those within @media and the like too."""
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
    """Return the properties that declarations set, by name, in lower case."""
    pairs = (part.partition(":") for part in text.split(";"))
    return {
        key.strip().lower(): value.replace("!important", "").strip().lower()
        for key, colon, value in pairs
        if colon
    }
