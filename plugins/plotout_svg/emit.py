"""A sheet's finished cards as SVG, at true size.

Source: W3C Scalable Vector Graphics 1.1 (second edition): units and viewBox (7), paths (8), title
(5.4), class and style (6). Names become XML text only, escaped by the standard library.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

from plotout import Program, Run, Sheet
from plotout.kit import options_of
from plotout_svg.options import SvgOptions
from plotout_svg.path_data import path_data

_STYLE = """
path { fill: none; stroke-width: 0.25px; stroke-linecap: round;
  stroke-linejoin: round; }
.cut { stroke-width: 0.5px; }
.score { stroke-dasharray: 2 1; }
.stitching-line { stroke-dasharray: 3 1.5; }
.underlap, .area { stroke-width: 0.13px; }
"""
_FORBIDDEN = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")  # XML 1.0, 2.2


def emit(program: Program, sheet: Sheet) -> bytes:
    """Return an SVG in mm: a group per card, in it a group per kind of work, with its colour.

    The lines have their mark and work as classes.
    """
    asked = options_of(program.machine, SvgOptions)
    width, height = f"{program.width:g}", f"{program.height:g}"
    root = ET.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "width": f"{width}mm",
            "height": f"{height}mm",
            "viewBox": f"0 0 {width} {height}",
        },
    )
    _add(root, "title", _words(program.name))
    _add(root, "style", _STYLE)
    titles = {placed.card.id: placed.card.title for placed in sheet.placed}
    by_card: dict[str, list[tuple[Run, str]]] = {card: [] for card in titles}
    for run, data in zip(program.runs, path_data(program), strict=True):
        by_card.setdefault(run.stroke.card, []).append((run, data))
    for card, drawn in by_card.items():
        group = ET.SubElement(root, "g", {"id": _id(card) if card else "sheet"})
        _add(group, "title", _words(titles.get(card, card or "sheet")))
        works = dict.fromkeys(run.stroke.work.value for run, _ in drawn)
        inner = {work: _work_group(group, work, getattr(asked, work)) for work in works}
        for run, data in drawn:
            work = run.stroke.work.value
            kind = f"{run.stroke.mark.value.replace(' ', '-')} {work}"
            ET.SubElement(inner[work], "path", {"class": kind, "d": data})
    ET.indent(root, " ")
    text: str = ET.tostring(root, "unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'.encode()


def _work_group(group: ET.Element, work: str, colour: str) -> ET.Element:
    """Return a group for one kind of work on a card, with its colour as an attribute."""
    return ET.SubElement(group, "g", {"id": f"{work}-of-{group.get('id')}", "stroke": colour})


def _add(parent: ET.Element, tag: str, text: str) -> None:
    ET.SubElement(parent, tag).text = text


def _words(text: str) -> str:
    return " ".join(_FORBIDDEN.sub(" ", text).split())


def _id(card: str) -> str:
    """Return the card's id in a form valid for XML and style sheets, and no other card's."""
    return "card-" + re.sub(r"[^A-Za-z0-9-]", lambda found: f"_{ord(found[0]):x}_", card)
