"""Finds the line of every value in a TOML text, which `tomllib` doesn't report."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

Steps = tuple[str | int, ...]
"""The path to a value: names of tables and keys, and indices in lists."""

_TOKEN = re.compile(
    r'''(?P<space>[ \t\r]+|\#[^\n]*)
      | (?P<newline>\n)
      | (?P<long>"""(?:\\.|[^\\])*?"{3,5}|\'\'\'.*?\'{3,5})
      | (?P<text>"(?:\\.|[^"\\\n])*"|'[^'\n]*')
      | (?P<punct>\[\[|\]\]|[\[\]{}=,.])
      | (?P<bare>[^\s\[\]{}=,.\#"']+)''',
    re.VERBOSE | re.DOTALL,
)


@dataclass(frozen=True, slots=True)
class _Token:
    kind: str
    text: str
    line: int


def lines_of(text: str) -> dict[Steps, int]:
    """Return the line (from 1) of every table and value by its path, e.g. ("piece", 0, "name").

    `text` is TOML that `tomllib` has accepted; of anything else as much as could be found.
    """
    scan = _Scan(list(_tokens(text)))
    scan.document()
    return scan.found


def nesting(text: str) -> tuple[int, int, int]:
    """Return the greatest depth of brackets and dotted keys in a text, its line, and the number
    of its entries: tables and values.
    """
    deep = most = dotted = entries = 0
    at = 1
    before = ""
    for token in _tokens(text):
        if token.kind == "punct" and token.text in ("[", "[[", "{"):
            deep += len(token.text)
        elif token.kind == "punct" and token.text in ("]", "]]", "}"):
            deep = max(0, deep - len(token.text))
        entries += token.text == "=" or (token.text in ("[", "[[") and before in ("", "\n"))
        dotted = dotted + 1 if token.text == "." else dotted if before == "." else 0
        if max(deep, dotted) > most:
            most, at = max(deep, dotted), token.line
        before = token.text
    return most, at, entries


def _tokens(text: str) -> Iterator[_Token]:
    line = 1
    for found in _TOKEN.finditer(text):
        kind, value = found.lastgroup or "", found[0]
        if kind != "space":
            yield _Token(kind, value, line)
        line += value.count("\n")


class _Scan:
    """A cursor over the tokens; only used in `lines_of`."""

    def __init__(self, tokens: list[_Token]) -> None:
        self.tokens = tokens
        self.position = 0
        self.found: dict[Steps, int] = {}
        self.arrays: dict[Steps, int] = {}

    def peek(self) -> str:
        if self.position >= len(self.tokens):
            return ""
        token = self.tokens[self.position]
        return "\n" if token.kind == "newline" else token.text

    def take(self) -> _Token:
        self.position += 1
        return self.tokens[self.position - 1]

    def document(self) -> None:
        table: Steps = ()
        while self.peek():
            if self.peek() in ("[", "[["):
                table = self.header()
            elif self.peek() == "\n":
                self.take()
            else:
                self.pair(table)

    def header(self) -> Steps:
        opening = self.take()
        keys = self.keys()
        if self.peek():
            self.take()
        path = (*self.within(keys[:-1], opening.line), keys[-1])
        if opening.text == "[[":
            self.arrays[path] = self.arrays.get(path, -1) + 1
            self.found.setdefault(path, opening.line)
            path += (self.arrays[path],)
        self.found.setdefault(path, opening.line)
        return path

    def within(self, keys: Steps, line: int) -> Steps:
        """Return the path of keys in a header, with the latest index of each array of tables."""
        path: Steps = ()
        for key in keys:
            path += (key,)
            self.found.setdefault(path, line)
            if path in self.arrays:
                path += (self.arrays[path],)
        return path

    def keys(self) -> Steps:
        """Read a dotted key."""
        keys = [_key(self.take())]
        while self.peek() == ".":
            self.take()
            keys.append(_key(self.take()))
        return tuple(keys)

    def pair(self, table: Steps) -> None:
        line = self.tokens[self.position].line
        keys = self.keys()
        for index in range(1, len(keys) + 1):
            self.found.setdefault(table + keys[:index], line)
        if self.peek() == "=":
            self.take()
            self.value(table + keys)

    def value(self, path: Steps) -> None:
        if self.peek() == "":
            return
        token = self.take()
        self.found.setdefault(path, token.line)
        if token.text in ("[", "[["):
            self.array(path, token)
        elif token.text == "{":
            while self.peek() not in ("}", ""):
                if self.peek() in (",", "\n"):
                    self.take()
                else:
                    self.pair(path)
            if self.peek():
                self.take()
        else:  # a bare value may hold dots: 12.5
            while self.peek() not in ("", "\n", ",", "]", "]]", "}"):
                self.take()

    def array(self, path: Steps, opening: _Token) -> None:
        if opening.text == "[[":  # an array within an array: read its second bracket again
            self.position -= 1
            self.tokens[self.position] = _Token("punct", "[", opening.line)
        count = 0
        while self.peek() not in ("]", "]]", ""):
            if self.peek() in (",", "\n"):
                self.take()
            else:
                self.value((*path, count))
                count += 1
        if self.peek() == "]]":
            self.tokens[self.position] = _Token("punct", "]", self.tokens[self.position].line)
        elif self.peek():
            self.take()


def _key(token: _Token) -> str:
    if token.text[:1] == "'":
        return token.text[1:-1]
    if token.text[:1] == '"':
        return re.sub(r"\\(.)", r"\1", token.text[1:-1])
    return token.text
