"""Corrupts good files at random, as a bad copy or a faulty driver would."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator

_NUMBER = re.compile(rb"(?<=[A-Z,\s])-?\d+(?:\.\d+)?")


def mutations(data: bytes, count: int, seed: int) -> Iterator[tuple[str, bytes]]:
    """Give `count` corrupted copies, each with what was done to it."""
    chance = random.Random(seed)
    ways = [_byte, _dropped, _sign, _scaled, _swapped]
    made = 0
    while made < count:
        way = ways[made % len(ways)]
        spoilt = way(data, chance)
        if spoilt != data:
            made += 1
            yield way.__name__.strip("_"), spoilt


def _byte(data: bytes, chance: random.Random) -> bytes:
    at = chance.randrange(len(data))
    return data[:at] + bytes([chance.randrange(256)]) + data[at + 1 :]


def _dropped(data: bytes, chance: random.Random) -> bytes:
    lines = re.split(rb"(?<=\n)", data)
    del lines[chance.randrange(len(lines))]
    return b"".join(lines)


def _swapped(data: bytes, chance: random.Random) -> bytes:
    lines = re.split(rb"(?<=\n)", data)
    at = chance.randrange(len(lines) - 1)
    lines[at], lines[at + 1] = lines[at + 1], lines[at]
    return b"".join(lines)


def _sign(data: bytes, chance: random.Random) -> bytes:
    return _at_number(data, chance, lambda said: said[1:] if said[:1] == b"-" else b"-" + said)


def _scaled(data: bytes, chance: random.Random) -> bytes:
    factor = chance.choice([0.1, 0.9, 1.01, 2.0])
    return _at_number(data, chance, lambda said: _said(float(said) * factor, b"." in said))


def _said(value: float, decimals: bool) -> bytes:
    return (f"{value:.3f}" if decimals else f"{value:.0f}").encode()


def _at_number(data: bytes, chance: random.Random, change) -> bytes:
    found = list(_NUMBER.finditer(data))
    if not found:
        return data
    number = chance.choice(found)
    return data[: number.start()] + change(number[0]) + data[number.end() :]
