"""Animations of what is drawn: noted, or refused where they leave it changed.

Source: SVG Animations Level 2, 2 (animate, set, animateTransform, animateMotion); SMIL 3, 5.4
(fill="freeze"; `set` without an end lasts for ever).
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Iterator, Mapping, Sequence
from typing import Protocol

from plotout import UserError
from plotout_svg.document import Document, bare, local

ANIMATIONS = ("animate", "animateTransform", "animateMotion", "set")
_LOOKS = ("fill", "stroke", "opacity", "color", "stop-", "font", "flood-", "lighting-")
"""How the names of attributes begin that change no line."""


class _Line(Protocol):
    @property
    def line(self) -> tuple[ET.Element, ...]: ...


def moves_shapes(
    document: Document, ids: Mapping[str, ET.Element], shapes: Sequence[_Line]
) -> Iterator[bool]:
    """Give True for every animation that moves, reshapes, hides or shows what is drawn.

    Raises UserError for one that leaves it so.
    """
    around = {
        animation: element
        for element in document.lines
        for animation in element
        if local(animation.tag) in ANIMATIONS
    }
    if not around:
        return
    drawn = {element for shape in shapes for element in shape.line}
    for animation, parent in around.items():
        link = next((v for key, v in animation.attrib.items() if bare(key) == "href"), "")
        target = ids.get(link[1:], parent) if link.startswith("#") else parent
        what = animation.get("attributeName", "its motion")
        hidden = what in ("display", "visibility")  # it may show what is not among the drawn
        if what.startswith(_LOOKS) or (target not in drawn and not hidden):
            continue
        endless = local(animation.tag) == "set" and not (
            animation.get("dur") or animation.get("end")
        )
        if animation.get("fill") == "freeze" or endless:
            raise UserError(
                f"an animation changes {what} for good",
                fix="Save the drawing without animations, as it shall be read.",
                place=document.place(animation),
            )
        yield True
