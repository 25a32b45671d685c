"""The places that a stretch of HP-GL reaches, read at once where it only lifts and moves."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plotout import FloatArray

_MOVES = (b"PU", b"PD")
_NUMERIC = b"0123456789+-.,\r\n\t "
_APART = bytes.maketrans(b"PUDpud;,", b"        ")


def plain_moves(units: bytes) -> tuple[FloatArray, NDArray[np.bool_]] | None:
    """Return places, (n, 2), and whether each is reached with the pen down, (n,).

    None if there is more in it than PU and PD with pairs of numbers.
    """
    pairs, down = [], []
    for part in units.split(b";"):
        text = part.strip()
        if not text:
            continue
        word, commas = text[:2], text.count(b",")
        if word not in _MOVES or (not commas and (word == b"PD" or len(text) > 2)):
            return None
        if text[2:].translate(None, _NUMERIC):
            return None  # another instruction, without a semicolon between
        if commas:
            if not commas % 2:
                return None
            pairs.append((commas + 1) // 2)
            down.append(word == b"PD")
    try:
        numbers = np.array(units.translate(_APART).split(), dtype=np.float64)
    except ValueError:
        return None
    if len(numbers) != 2 * sum(pairs):
        return None
    return numbers.reshape(-1, 2), np.repeat(np.array(down, dtype=np.bool_), pairs)
