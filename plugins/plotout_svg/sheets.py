"""Reads style sheets and style attributes as rules, by tinycss2, as far as properties are watched.

Source: CSS Syntax 3, 5 and 9 (rules, at-rules, declarations); CSS Conditional 3; CSS Nesting 1.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

import tinycss2

_NEVER = re.compile(r"[\w-]*keyframes|font-face|page|property|counter-style")
_ON_SCREEN = ("", "all", "screen")

Sets: TypeAlias = tuple[dict[str, str], dict[str, str]]
"""Properties with their values, in lower case; apart those !important."""


@dataclass(frozen=True, slots=True)
class Selector:
    """One selector. parts: the element's name, classes and ids that it asks for; none if it looks
    at anything else, such as other elements, or stands under a condition.
    """

    text: str
    parts: frozenset[str] = frozenset()

    @property
    def weight(self) -> tuple[int, int, int]:
        """Its specificity: its ids, its classes, its names of elements."""
        ids, classes = (sum(part.startswith(mark) for part in self.parts) for mark in "#.")
        return ids, classes, len(self.parts - {"*"}) - ids - classes


@dataclass(frozen=True, slots=True)
class Rule:
    """A selector of a style sheet, and the watched properties that it sets; `must` !important."""

    selector: Selector
    sets: dict[str, str]
    must: dict[str, str]

    @property
    def properties(self) -> Collection[str]:
        """The names of all watched properties that it sets."""
        return (*self.sets, *self.must)


class Reader:
    """Reads CSS for some watched properties: the others cost no time, nor the texts without any."""

    def __init__(self, watched: Collection[str]) -> None:
        self.watched = frozenset(watched)
        names = "|".join(sorted(watched))
        self._named = re.compile(rf"\\|(?<![\w-])(?:{names})\s*(?::|/\*)", re.IGNORECASE)

    def concerns(self, text: str) -> bool:
        """Return whether a text may name a watched property; an escape may hide one."""
        return self._named.search(text) is not None

    def rules(self, text: str) -> Iterator[Rule]:
        """Give the rules of a style sheet for a screen that set watched properties.

        Raises RecursionError for one nested too deep.
        """
        nodes = tinycss2.parse_stylesheet(text, skip_comments=True, skip_whitespace=True)
        return self._within(nodes, (), plain=True)

    def declared(self, text: str) -> Sets:
        """Return the watched properties set by a style attribute."""
        return self._sets(_contents(text))

    def _within(
        self, nodes: Sequence[Any], selectors: Sequence[Selector], *, plain: bool
    ) -> Iterator[Rule]:
        """Give the rules of a block. selectors: whose it is. plain: it counts unconditionally."""
        sets, must = self._sets(nodes)
        if sets or must:
            for selector in selectors:
                yield Rule(selector if plain else Selector(selector.text), sets, must)
        for node in nodes:
            if node.type == "qualified-rule":
                inner = tuple(_selectors(node.prelude))
                yield from self._within(
                    _contents(node.content), inner, plain=plain and not selectors
                )
            elif node.type == "at-rule" and node.content is not None and not _never(node):
                inside = _contents(node.content) if selectors else _rules(node.content)
                yield from self._within(inside, selectors, plain=plain and _always(node))

    def _sets(self, nodes: Iterable[Any]) -> Sets:
        sets: dict[str, str] = {}
        must: dict[str, str] = {}
        for node in nodes:
            if node.type == "declaration" and node.lower_name in self.watched:
                (must if node.important else sets)[node.lower_name] = _text(node.value)
        return sets, must


def _contents(block: Any) -> list[Any]:
    return list(tinycss2.parse_blocks_contents(block, skip_comments=True, skip_whitespace=True))


def _rules(block: Any) -> list[Any]:
    return list(tinycss2.parse_rule_list(block, skip_comments=True, skip_whitespace=True))


def _never(rule: Any) -> bool:
    """Return whether what an at-rule holds never counts for shapes on a screen."""
    word = rule.lower_at_keyword
    print_only = word == "media" and _text(rule.prelude) == "print"
    return print_only or _NEVER.fullmatch(word) is not None


def _always(rule: Any) -> bool:
    word = rule.lower_at_keyword
    return word == "layer" or (word == "media" and _text(rule.prelude) in _ON_SCREEN)


def _selectors(prelude: Sequence[Any]) -> Iterator[Selector]:
    tokens: list[Any] = []
    for token in (*prelude, None):
        if token is not None and token != ",":
            tokens.append(token)
            continue
        text = " ".join(tinycss2.serialize(tokens).split())
        if text:
            yield Selector(text, frozenset(_parts(_bare(tokens))))
        tokens = []


def _bare(tokens: Sequence[Any]) -> list[Any]:
    """Return tokens without comments, and without the spaces around them."""
    bare = [token for token in tokens if token.type != "comment"]
    while bare and bare[0].type == "whitespace":
        del bare[0]
    while bare and bare[-1].type == "whitespace":
        del bare[-1]
    return bare


def _parts(tokens: Sequence[Any]) -> list[str]:
    """Return the parts of a selector that needs only the element: g, .class, #id, path.class#id."""
    parts: list[str] = []
    left = iter(tokens)
    for token in left:
        after = next(left, None) if token == "." else None
        if token.type == "hash" and token.is_identifier:
            parts.append(f"#{token.value}")
        elif after is not None and after.type == "ident":
            parts.append(f".{after.value}")
        elif not parts and (token.type == "ident" or token == "*"):
            parts.append(token.value)
        else:
            return []
    return parts


def _text(tokens: Sequence[Any]) -> str:
    """Return tokens as text in lower case, without comments."""
    bare = [token for token in tokens if token.type != "comment"]
    return " ".join(tinycss2.serialize(bare).lower().split())
