"""How much a point moves from size to size: lengths, measurements, and sums of them."""

from __future__ import annotations

import operator
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from plotout import units
from plotout.errors import UserError, shown
from plotout.tables import Kind

_TOKEN = re.compile(
    r"""\s*(?:(?P<number>\d+(?:\.\d*)?|\.\d+)\s*(?P<unit>mm|cm|in|inch|inches|m|")?(?![^\W\d_])
        |(?P<name>[^\W\d_][\w ]*\w|[^\W\d_])
        |(?P<sign>[-+*/()]))""",
    re.VERBOSE,
)
_DEEPEST = 30
_WORK = {"+": operator.add, "-": operator.sub, "*": operator.mul, "/": operator.truediv}
_FIX = 'Write a length per step, such as "5 mm", or a sum such as "chest / 4 + 2 mm".'


@dataclass(frozen=True, slots=True)
class Growth:
    """How much one size grows in a rule's x or y. Exactly one of `term` and `listed` is given.

    term: a parsed sum. listed: mm for every size of the range, in order. text: as written.
    """

    text: str
    term: Term | None = None
    listed: tuple[float, ...] = ()

    @property
    def measures(self) -> frozenset[str]:
        """The measurements in it."""
        return frozenset(self.term.names()) if self.term else frozenset()

    def at(self, index: int, base: int, measures: Mapping[str, tuple[float, ...]]) -> float:
        """Return the growth in mm from the base size to the size of that index.

        measures: the measurements' increments in mm at every size, from the base.
        """
        if self.term is None:
            return self.listed[index] - self.listed[base] if self.listed else 0.0
        increments = {name: measure[index] for name, measure in measures.items()}
        return self.term.value(float(index - base), increments)


@dataclass(frozen=True, slots=True)
class Term:
    """A sum as a tree. kind: a sign, "length" (mm per step), "number" or "measure"."""

    kind: str
    number: float = 0.0
    name: str = ""
    parts: tuple[Term, ...] = ()

    @property
    def is_length(self) -> bool:
        """Return whether it is a length, not a bare factor."""
        if self.kind in ("length", "measure"):
            return True
        return any(part.is_length for part in self.parts)

    def names(self) -> Iterator[str]:
        """Yield the measurements in it."""
        if self.kind == "measure":
            yield self.name
        for part in self.parts:
            yield from part.names()

    def value(self, steps: float, increments: Mapping[str, float]) -> float:
        """Return mm (or the bare factor) at `steps` from the base size."""
        if self.kind == "measure":
            return increments[self.name]
        if not self.parts:
            return self.number * (steps if self.kind == "length" else 1.0)
        values = [part.value(steps, increments) for part in self.parts]
        return _WORK[self.kind](*values) if len(values) == 2 else -values[0]


def read_term(text: str, unit: float = 1.0) -> Term:
    """Read a sum of lengths and measurements. unit: mm of a bare number.

    Raises UserError with what to write instead.
    """
    tokens = _tokens(text)
    term, left = _sum(tokens, 0)
    if left:
        raise UserError(f"{shown(text)}: '{left[0].text}' is not expected there", fix=_FIX)
    if not term.is_length:  # a bare number is a length a step, as everywhere
        term = Term("length", term.value(0.0, {}) * unit)
    return term


@dataclass(frozen=True, slots=True)
class _Token:
    kind: str
    text: str
    number: float = 0.0


def _tokens(text: str) -> list[_Token]:
    found, at = [], 0
    text = text.strip()
    while at < len(text):
        match = _TOKEN.match(text, at)
        if match is None or match.end() == at:
            raise UserError(f"{shown(text)} is not a growth", fix=_FIX)
        at = match.end()
        if match["number"]:
            scale = units.MM_PER_UNIT[match["unit"]] if match["unit"] else 1.0
            kind = "length" if match["unit"] else "number"
            found.append(_Token(kind, match[0].strip(), float(match["number"]) * scale))
        elif match["name"]:
            found.append(_Token("measure", match["name"]))
        else:
            found.append(_Token(match["sign"], match["sign"]))
        if len(found) > 200:
            raise UserError("a growth is longer than 200 words and signs", fix=_FIX)
    if not found:
        raise UserError("a growth is empty", fix=_FIX)
    return found


def _sum(tokens: list[_Token], depth: int) -> tuple[Term, list[_Token]]:
    term, tokens = _product(tokens, depth)
    while tokens and tokens[0].kind in "+-":
        sign = tokens[0].kind
        other, tokens = _product(tokens[1:], depth)
        if term.is_length != other.is_length:
            raise UserError("a growth adds a bare number to a length", fix=_FIX)
        term = Term(sign, parts=(term, other))
    return term, tokens


def _product(tokens: list[_Token], depth: int) -> tuple[Term, list[_Token]]:
    term, tokens = _single(tokens, depth)
    while tokens and tokens[0].kind in "*/":
        sign = tokens[0].kind
        other, tokens = _single(tokens[1:], depth)
        if sign == "*" and term.is_length and other.is_length:
            raise UserError("a growth multiplies two lengths", fix=_FIX)
        if sign == "/" and (other.is_length or other.value(0.0, {}) == 0.0):
            raise UserError("a growth can only be divided by a number other than 0", fix=_FIX)
        term = Term(sign, parts=(term, other))
    return term, tokens


def _single(tokens: list[_Token], depth: int) -> tuple[Term, list[_Token]]:
    if not tokens or depth > _DEEPEST:
        raise UserError("a growth ends too early, or is nested too deep", fix=_FIX)
    first, rest = tokens[0], tokens[1:]
    if first.kind in ("+", "-"):
        term, rest = _single(rest, depth + 1)
        return (Term("-", parts=(term,)) if first.kind == "-" else term), rest
    if first.kind == "(":
        term, rest = _sum(rest, depth + 1)
        if not rest or rest[0].kind != ")":
            raise UserError("a growth lacks a ')'", fix=_FIX)
        return term, rest[1:]
    if first.kind in ("number", "length"):
        return Term(first.kind, first.number), rest
    if first.kind == "measure":
        return Term("measure", name=first.text), rest
    raise UserError(f"a growth has '{first.text}' in place of a length or a name", fix=_FIX)


@dataclass(frozen=True)
class Grown(Kind):
    """A growth: a length per step, a sum of measurements, or a list with a length per size."""

    def read(self, value: Any) -> Growth:
        """See Kind."""
        if isinstance(value, list):
            return Growth(shown(value), listed=tuple(units.length(item) for item in value))
        if isinstance(value, str):
            return Growth(value.strip(), read_term(value))
        number = units.length(value)
        return Growth(f"{number:g} mm", Term("length", number))

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        one = {"type": ["number", "string"]}
        return {"anyOf": [one, {"type": "array", "items": one}]}

    @property
    def form(self) -> str:
        """See Kind."""
        return "length per step, a sum with measurements, or a length per size"

    @property
    def sample(self) -> str:
        """See Kind."""
        return self.example or '"chest / 4"'


def increments(
    growths: Mapping[str, Growth], count: int, base: int
) -> dict[str, tuple[float, ...]]:
    """Return the measurements' increments in mm at every size, from the base."""
    return {
        name: tuple(growth.at(index, base, {}) for index in range(count))
        for name, growth in growths.items()
    }
