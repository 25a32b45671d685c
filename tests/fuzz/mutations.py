"""Hostile variants of sound files: each is made from a seed, so that it can be made again."""

from __future__ import annotations

import copy
import json
import random
import re
import zlib
from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import Any

MOST = 200_000  # bytes of a variant
NUMBERS = (
    "0", "-0", "-1", "1e999", "-1e999", "1e308", "1e-300", "1e-320", "nan", "inf", "310.6297.270",
    "1e", ".", "--5", "+-3", "4294967296", "9223372036854775808", "9" * 40, "9" * 5000, "0x10",
    "1_000", "1,5", "1/0", "\u0663", "\uff11\uff12", "\u2212" + "5", "5e0.5",
    "0.0000001", "1e9", "99999", "0.5", "7", "-3.25", "100%", "50 mm",
)  # fmt: skip
WORDS = (
    "", " ", "\x00", "\x1b[31m", "\x9b2J", "\ud800", "\u202e", "\u2066", "\ufeff", "\u2028", "\x85",
    "e\u0301" * 50, "\u201ctext\u201d", "'", '"', '"""', "\\", "\\u0000", "\\ud800", "\n", "\r",
    "\t", "\x0b", ",", ";", ":", "=", "[", "]", "[[", "{", "}", "<", ">", "&", "&#0;", "&#x1b;",
    "&x;", "<!--", "]]>", "<![CDATA[", "%", "#", "/*", "(", ")", "true", "null", "[]", "{}",
    "x" * 140_000, "[" * 3000, "(" * 3000, '{"a":' * 2000, "<g>" * 500, "a.b." * 3000, "../../x",
    "/dev/zero", "foo:bar",
)  # fmt: skip
_NUMBER = re.compile(r"[-+]?\d+\.?\d*(?:[eE][-+]?\d+)?")
_WORD = re.compile(r"[A-Za-z_][\w-]*|\"[^\"\n]*\"")
_BLOCKS = re.compile(r"(?m)^(?=\[)|(?=<[a-zA-Z])|(?<=\n)(?=\s*0\n[A-Z])|(?=PU)|^(?=G0 )|\n\n")


def variant(seed: str, sound: bytes, others: list[bytes]) -> bytes:
    """Return a variant of `sound`: one to four changes; `others` are files of the same kind."""
    rng = random.Random(seed)
    if rng.random() < 0.15:
        return _bytes_changed(rng, sound)
    text = sound.decode("utf-8", "surrogateescape")
    for _ in range(rng.choice((1, 1, 1, 2, 2, 4))):
        text = rng.choice(_CHANGES)(rng, text, others)[:MOST]
    if not _lone(text):
        return text.encode("utf-8", "surrogateescape")
    return text.encode("utf-8", rng.choice(("surrogatepass", "replace")))


def _lone(text: str) -> bool:
    return any("\ud800" <= letter < "\udc80" for letter in text)


def _bytes_changed(rng: random.Random, data: bytes) -> bytes:
    made = bytearray(data)
    for _ in range(rng.choice((1, 1, 3, 20))):
        if not made:
            break
        at = rng.randrange(len(made))
        how = rng.randrange(4)
        if how == 0:
            made[at] = rng.randrange(256)
        elif how == 1:
            made[at] ^= 1 << rng.randrange(8)
        elif how == 2:
            del made[at : at + rng.choice((1, 4, 100, 10_000))]
        else:
            made[at:at] = rng.randbytes(rng.choice((1, 4, 50)))
    return bytes(made[:MOST])


def _number(rng: random.Random, text: str, _others: list[bytes]) -> str:
    found = _NUMBER.findall(text)
    new = rng.choice(found) if found and rng.random() < 0.25 else rng.choice(NUMBERS)
    return _replaced(rng, text, _NUMBER, new)


def _digits(rng: random.Random, text: str, _others: list[bytes]) -> str:
    """A number keeps its form: its sign, its point or its power of ten changes."""
    found = list(_NUMBER.finditer(text))
    if not found:
        return text
    one = rng.choice(found)
    new = rng.choice((f"-{one[0]}", f"{one[0]}e9", f"{one[0]}e-9", f"{one[0]}00000", f".{one[0]}"))
    return text[: one.start()] + new + text[one.end() :]


def _word(rng: random.Random, text: str, _others: list[bytes]) -> str:
    found = _WORD.findall(text)
    new = rng.choice((*WORDS, *NUMBERS)) if rng.random() < 0.5 or not found else rng.choice(found)
    return _replaced(rng, text, _WORD, new)


def _misspelt(rng: random.Random, text: str, _others: list[bytes]) -> str:
    """A word loses a letter, doubles one, or changes its case."""
    found = [each for each in _WORD.finditer(text) if len(each[0]) > 2]
    if not found:
        return text
    one = rng.choice(found)
    at = rng.randrange(1, len(one[0]))
    old = one[0]
    new = rng.choice((old[:at] + old[at + 1 :], old[:at] + old[at - 1 :], old.swapcase()))
    return text[: one.start()] + new + text[one.end() :]


def _replaced(rng: random.Random, text: str, what: re.Pattern[str], new: str) -> str:
    found = list(what.finditer(text))
    if not found:
        return text + new
    one = rng.choice(found)
    return text[: one.start()] + new + text[one.end() :]


def _put(rng: random.Random, text: str, _others: list[bytes]) -> str:
    at = rng.randrange(len(text) + 1)
    return text[:at] + rng.choice((*WORDS, *NUMBERS)) + text[at:]


def _cut(rng: random.Random, text: str, _others: list[bytes]) -> str:
    at = rng.randrange(len(text) + 1)
    return text[:at] + text[at + rng.choice((1, 5, 50, 1_000_000)) :]


def _line(rng: random.Random, text: str, _others: list[bytes]) -> str:
    """A line is dropped, doubled, moved, or repeated a thousand times."""
    rows = text.split("\n")
    nth, other = rng.randrange(len(rows)), rng.randrange(len(rows))
    how = rng.randrange(4)
    if how == 0:
        del rows[nth]
    elif how == 1:
        rows.insert(other, rows[nth])
    elif how == 2:
        rows[nth], rows[other] = rows[other], rows[nth]
    else:
        rows[nth:nth] = [rows[nth]] * 1000
    return "\n".join(rows)


def _block(rng: random.Random, text: str, others: list[bytes]) -> str:
    """A table, an element, an entity or a stroke is dropped, doubled, moved, or another file's."""
    blocks = [text[a:b] for a, b in _spans(text)]
    nth, other = rng.randrange(len(blocks)), rng.randrange(len(blocks))
    how = rng.randrange(5)
    if how == 0:
        del blocks[nth]
    elif how == 1:
        blocks.insert(other, blocks[nth])
    elif how == 2:
        blocks[nth], blocks[other] = blocks[other], blocks[nth]
    elif how == 3:
        blocks[nth:nth] = [blocks[nth]] * rng.choice((3, 40, 400))
    else:
        strange = rng.choice(others).decode("utf-8", "replace") if others else text
        begin, end = rng.choice(list(_spans(strange)))
        blocks.insert(nth, strange[begin:end])
    return "".join(blocks)


def _spans(text: str) -> Iterator[tuple[int, int]]:
    starts = sorted({0, *(each.start() for each in _BLOCKS.finditer(text)), len(text)})
    yield from pairwise(starts)
    if len(starts) == 1:
        yield 0, 0


def _crossed(rng: random.Random, text: str, others: list[bytes]) -> str:
    """The head of this file and the tail of another."""
    other = rng.choice(others).decode("utf-8", "replace") if others else text
    (_, end), (begin, _) = rng.choice(list(_spans(text))), rng.choice(list(_spans(other)))
    return text[:end] + other[begin:]


def _part(rng: random.Random, text: str, others: list[bytes]) -> str:
    """A part of another file of the kind, or of this one, stands somewhere."""
    other = rng.choice(others).decode("utf-8", "replace") if others else text
    begin, at = rng.randrange(len(other) + 1), rng.randrange(len(text) + 1)
    return text[:at] + other[begin : begin + rng.choice((3, 30, 300))] + text[at:]


_CHANGES: tuple[Callable[[random.Random, str, list[bytes]], str], ...] = (
    _number, _number, _number, _digits, _word, _word, _misspelt, _put, _cut, _line, _block, _block,
    _part, _crossed,
)  # fmt: skip


def json_variant(seed: str, value: object) -> object:
    """Return a variant of JSON data: some values of another kind, missing, or far too large."""
    rng = random.Random(seed)
    data = copy.deepcopy(value)
    for _ in range(rng.choice((1, 1, 2, 5))):
        holders = list(_holders(data))
        if not holders:
            break
        holder, key = rng.choice(holders)
        if rng.random() < 0.2:
            del holder[key]
        elif rng.random() < 0.2:
            other, there = rng.choice(holders)
            holder[key] = copy.deepcopy(other[there])
        else:
            holder[key] = copy.deepcopy(rng.choice(_VALUES))
    return data


def _holders(data: Any) -> Iterator[tuple[Any, Any]]:
    pairs: Any = ()
    if isinstance(data, dict):
        pairs = data.items()
    elif isinstance(data, list):
        pairs = enumerate(data)
    for key, each in list(pairs):
        yield data, key
        yield from _holders(each)


_VALUES = (
    None, True, False, 0, -1, 1, 7, 0.5, -0.0, 1e-300, 1e308, 10**30, 10**400, float("nan"),
    float("inf"), "", " ", "text", "12", "\x1b[2J", "\x00", "\ud800", "../../x", "..", "/dev/zero",
    [], {}, [[]], [1, 2], [0, 0, 0, 0], {"a": 1}, "1e999", [None] * 50, "x" * 10_000, [[0, 0]] * 3,
)  # fmt: skip


def checked(record: object) -> bytes:
    """Return a journal's record with its right checksum."""
    body = json.dumps(record, sort_keys=True).encode()
    return b"%08x %s\n" % (zlib.crc32(body), body)
