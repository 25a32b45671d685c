"""Averages drawings in few colours down to half their size, for soft edges."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from PIL import Image

_MOST = 256  # colours of a palette
_EVERY = 4  # pixels that become one


def averaged(numbers: NDArray[np.uint8], colours: NDArray[np.int64]) -> Image.Image:
    """Return the picture of half the size, of which each pixel is the mean of four.

    numbers: (h, w), both even, of the pixels' colours; 0 for the paper, which is most of the
    drawing. colours: (k, 3), red, green and blue of each number. The picture has a palette if that
    holds all its colours, for half the bytes.
    """
    pairs = numbers.view(np.uint16)  # two beside one another
    upper, lower = pairs[::2], pairs[1::2]
    drawn = np.flatnonzero((upper | lower) != 0)
    mixed = _mixed([half.ravel()[drawn] for half in (upper, lower)], len(colours))
    times = np.bincount(mixed, minlength=1)
    times[0] = upper.size - len(drawn)
    mixes = np.flatnonzero(times)
    means, which = np.unique(_means(mixes, colours), axis=0, return_inverse=True)
    counts = np.bincount(which.ravel(), weights=times[mixes])
    order = np.lexsort([*means.T[::-1], counts])[::-1]  # the most frequent first
    place = np.argsort(order)
    number = np.zeros(len(times), np.uint8 if len(order) <= _MOST else np.int64)
    number[mixes] = place[which.ravel()]
    picture = np.full(upper.size, number[0])
    picture[drawn] = number[mixed]
    palette = means[order].astype(np.uint8)
    if len(palette) > _MOST:
        return Image.fromarray(palette[picture.reshape(upper.shape)])
    few = Image.fromarray(picture.reshape(upper.shape), "P")
    few.putpalette(palette.ravel().tolist())
    return few


def _mixed(pairs: Sequence[NDArray[np.uint16]], colours: int) -> NDArray[np.int32]:
    """Return a small number for every four pixels, whose digits are the numbers of their colours.

    pairs: the upper and the lower two of them, (n,) each.
    """
    first, second = (pair.astype(np.int32) for pair in pairs)
    mixed = (first & 255) * colours + (first >> 8)
    return np.asarray((mixed * colours + (second & 255)) * colours + (second >> 8))


def _means(mixes: NDArray[np.int64], colours: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return the mean colours, (m, 3), of mixes as `_mixed` gives them."""
    total = np.full((len(mixes), 3), _EVERY // 2)
    for _ in range(_EVERY):
        mixes, digit = np.divmod(mixes, len(colours))
        total += colours[digit]
    return total // _EVERY
