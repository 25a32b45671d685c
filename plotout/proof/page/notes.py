"""The notes on a card, in the language of the set: the proof page is printed and goes along.

Messages are made in English, where they are needed; here they are known again by their form, and
said anew. One that isn't known stays as it is.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from functools import cache

from plotout.tongue import ENGLISH, PLAIN, Tongue

NOTES = (
    "it has no grain line: write grain = {{ along = EDGE }}, or give two points",
    "it has no room for its grain line",
    "it has no room for its QR code",
    "it has no room for its lettering; write on it by hand",
    "it is too small for any lettering; write on it by hand",
    "it has no room along its lines for: {words}",
    "it has no room along its lines for all of: {words}",
    "it has no room for: {words}",
    "its lettering had to be {high} mm high",
    "it shows its number alone, {words}: the contents card explains it",
    "it shows its number and size alone, {words}: the contents card explains it",
    "write its size on it by hand: {size}",
    "no place on the vertical through its centre of area is safe for the {size} mm hanging hole; "
    "punch it by hand, or give the set a smaller hole",
    "the hanging hole is not {inset} mm from the top, as on the other cards, but in the nearest "
    "place where shape and marks leave room",
    "the hanging hole is {inset} mm from the top, where most cards of the set have room, not "
    "{wanted} mm: fewer cards have room there",
    "{notches} is {deep} mm deep, not {most} mm: {why}",
    "{notches} are {deep} mm deep, not {most} mm: {why}",
    "{notches} is drawn, not cut: {why}",
    "{notches} are drawn, not cut: {why}",
    "{notches} are left out: they would run along the edge of the card's tip and spoil it",
    "{notches} are {far} mm apart: they run together",
    "{notches} are {far} mm apart: they run together, and only the first is cut",
    "{notches} is moved {far} mm along the edge: part of it would lie beyond the corner",
    "{notches} is left out: it would not lie in the allowance at that corner",
    "{notches} is drawn at the stitching line: in a tight bend or an inner corner the card reaches "
    "past its allowance of {wide} mm, so no notch in the card's edge can show the place",
    "the notches of {notches} are {apart} mm apart, not {wide} mm: the edge is only {size} mm long",
    "'{edge}' bends more tightly near x {x} mm, y {y} mm than its allowance of {wide} mm: the "
    "cutting line has a corner there and does not show the curve",
    "'{edge}' has a corner near x {x} mm, y {y} mm that its allowance of {wide} mm fills: the "
    "cutting line does not show it",
    "the allowances meet and fill the gap beside {edges}: the card does not show it there; make "
    "them narrower, or the gap wider",
    "the allowance of '{edge}', {wide} mm, is cut off by that of '{other}': over {size} mm from "
    "their corner it is less than half as wide; give '{other}' more at that end if it is needed",
    "the join runs through {notches}: move the split's line, or the mark",
    "its join runs close to a notch or drill hole: there was no other place",
    "its join crosses a tight curve or corner: there was no other place",
    "divided along the line from x {left} mm, y {low} mm to x {right} mm, y {high} mm: square to "
    "it the piece is {size} mm, and the stock holds {most} mm",
    "divided along the line from x {left} mm, y {low} mm to x {right} mm, y {high} mm, as the set "
    "file asks",
    "divided at x {at} mm: no line the other way divides it in two",
    "divided at y {at} mm: no line the other way divides it in two",
    "divided along the line from x {left} mm, y {low} mm to x {right} mm, y {high} mm: no line the "
    "other way divides it in two",
    "divided at x {at} mm: it is {size} mm wide there, and the stock holds {most} mm",
    "divided at y {at} mm: it is {size} mm tall there, and the stock holds {most} mm",
    "seam '{seam}': {at} mm from its start its allowance is {wide} mm on '{first}', but {other} mm "
    "on '{last}'",
    "seam '{seam}': its allowance is {wide} mm on '{first}', but {other} mm on '{last}'",
    "{off} mm too long: {one} mm of '{first}' to {other} mm of '{last}', ease at most {ease} mm",
    "{off} mm too short: {one} mm of '{first}' to {other} mm of '{last}', ease at least {ease} mm",
    "the {count} of {cloth} are all cut the same way round: if left and right are meant, write "
    "pair = true and count = {pairs}",
    "nothing is cut with it: write cut = [{{ cloth = ..., count = ... }}]",
)
"""Whole messages, with {places} for what changes; the most particular of several comes first."""

PARTS = {
    "notches": (
        "{first}, {second} and {count} others",
        "{first}, {second} and {count} other",
        "{first} and {last}",
        "the seam notch at the start of '{edge}'",
        "the seam notch at the end of '{edge}'",
        "the notch at {at} mm on '{edge}'",
        "the double notch at {at} mm on '{edge}'",
        "the triple notch at {at} mm on '{edge}'",
        "the drill hole at x {x} mm, y {y} mm",
    ),
    "why": (
        "from cutting to stitching line it is {wide} mm there, and a notch stays clear of that "
        "line",
        "deeper, they would cross",
        "deeper, it would cut off the card's corner, which is {wide} mm wide there",
        "they would cross",
        "there is no allowance there",
    ),
}
"""What may stand in a place, in words of its own."""
_LENGTH = re.compile(r"(?<![A-Za-z0-9.])(\d+(?:\.\d+)?) mm(?![A-Za-z])")
_NOTCHES = ("first", "second", "last")


def said_anew(notes: Iterable[str], say: Tongue) -> list[tuple[str, str]]:
    """Return messages with the language that each is in; their lengths have the set's unit."""
    said = [(note, translated(note, say)) for note in notes]
    return [
        (note, ENGLISH) if text is None else (_LENGTH.sub(_in_unit(say), text), say.language)
        for note, text in said
    ]


def _in_unit(say: Tongue) -> Callable[[re.Match[str]], str]:
    return lambda found: say.length(float(found[1])) if say != PLAIN else found[0]


def translated(note: str, say: Tongue) -> str | None:
    """Return a message in the language of `say`; None where its form isn't known.

    Several may be joined by semicolons, and the names of pieces may stand before a colon.
    """
    if say.language == ENGLISH:
        return note
    return _joined(note, say) or _said(note, NOTES, say) or _of_a_piece(note, say)


def _joined(note: str, say: Tongue) -> str | None:
    for found in re.finditer("; ", note):
        first = translated(note[: found.start()], say)
        last = translated(note[found.end() :], say) if first is not None else None
        if first is not None and last is not None:
            return f"{first}; {last}"
    return None


def _of_a_piece(note: str, say: Tongue) -> str | None:
    for found in re.finditer(": ", note):
        words = translated(note[found.end() :], say)
        if words is not None:
            return note[: found.end()] + words
    return None


def _said(text: str, forms: tuple[str, ...], say: Tongue) -> str | None:
    for form in forms:
        found = _form(form).fullmatch(text)
        if found is None:
            continue
        values = {name: _part(name, value, say) for name, value in found.groupdict().items()}
        if None not in values.values():
            return say(form, **values)
    return None


def _part(name: str, value: str, say: Tongue) -> str | None:
    """Return what stands in a place in the language; names and figures as they are."""
    known = PARTS.get("notches" if name in _NOTCHES else name)
    if known is None or (name in _NOTCHES and " notch at " not in value):
        return value
    return _said(value, known, say)


@cache
def _form(form: str) -> re.Pattern[str]:
    known: set[str] = set()
    pattern = ""
    for index, part in enumerate(re.split(r"\{(\w+)\}", form)):
        if index % 2:
            pattern += f"(?P={part})" if part in known else f"(?P<{part}>.+?)"
            known.add(part)
        else:
            pattern += re.escape(part.replace("{{", "{").replace("}}", "}"))
    return re.compile(pattern)
