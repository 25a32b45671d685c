"""Judges which spots are pinholes: by their size, depth and shape."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plotout import FloatArray
from plotout_photo.holes import Holes

# mm, mm2 and shares; in pairs: certainly too little or too much, certainly enough
SMALL = (0.03, 0.12)  # mm2 of full black
WIDE = (1.95, 1.7)  # mm across, as bells have it: 1.26 times as wide as the hole
OVAL = (2.1, 1.45)  # longer over shorter axis
FAINT = (0.08, 0.28)  # depth
OVAL_ON_LINE, FAINT_ON_LINE = (2.6, 1.9), (0.06, 0.14)  # a line's edges make a hole longer
AS_DARK, CERTAIN, FEWEST = (0.72, 0.85), 0.7, 8  # share of the darkness of so many certain holes
PALE = (0.3, 0.45)  # share of the depth of so many certain holes: rendered dust and holes, measured
BROAD, INK = 0.9, (0.5, 0.72)  # mm; share of others' darkness within its size that a broad one has
MAYBE_INK = 0.35  # greatest certainty of a broad one that is pale
GRAINS, NO_GRAIN = (2.0, 3.5), (6.0, 10.0)  # depth of a hole on a line over how far that varies
BELL = 1.39  # times as dark a disc is as a bell fitted to it, which holds 1.14 times as much in all
BLACK = 1.0  # greatest darkness within the size of a bell: blur makes the finest narrower than it
AS_FULL, AS_LARGE = (0.5, 0.7), (0.1, 0.16)  # of others' darkness, those on lines: within, in all
CLEAR_OF_GRAIN = (4.0, 6.0)  # depth over the grain's, unless
FULL, LARGE = (0.75, 0.9), (0.2, 0.3)  # it is as dark as others, and as large
RUNS_ON = (1.6, 1.0)  # mm to which the darkness extends
CROWD = (0.30, 0.17)  # share of its surroundings that is also dark: lettering
CROSSING = (1.2, 1.55)  # depth over that of a line that ends here: two lines that meet look so
SOLID = (0.3, 0.5)  # and darkness within its own size: there is no light in a hole
DOUBTFUL = 0.5  # certainty below which a spot is only perhaps a prick
LEAST = 0.12  # and below which it is not one


def certainty(holes: Holes) -> FloatArray:
    """Return the certainty that spots are pinholes, by their looks, (n,), 0 to 1."""
    if not len(holes):
        return np.empty(0)
    lined = holes.grain > 0.0
    parts = [
        _between(holes.flux, *SMALL),
        _between(holes.size, *WIDE),
        np.where(lined, _between(holes.oval, *OVAL_ON_LINE), _between(holes.oval, *OVAL)),
        np.where(lined, _clear_on_line(holes), _between(holes.depth, *FAINT)),
        _between(holes.reach, *RUNS_ON),
        _between(holes.crowd, *CROWD),
        np.where(holes.line > 0.0, _not_lines_meeting(holes), 1.0),
    ]
    sure = np.prod(parts, axis=0)
    full = np.where(lined | (holes.disc > 0.0), _as_full(holes, sure, lined), 1.0)
    sure = sure * full * np.where(lined, _as_dark(holes, sure), _not_pale(holes, sure))
    return np.asarray(np.minimum(sure, np.where(lined, 1.0, _not_ink(holes, sure))))


def _as_full(holes: Holes, sure: FloatArray, lined: NDArray[np.bool_]) -> FloatArray:
    """Return the certainty that spots let as little light through, all over, as holes do.

    A line's grain is dark in a few pixels only, or paler, and others like it are beside it.
    """
    if (sure > CERTAIN).sum() < FEWEST:
        return np.ones(len(holes))
    within = _within(holes)
    usual = np.median(np.minimum(within, BLACK)[sure > CERTAIN])
    share, large = within / usual, holes.flux / usual
    clear = _between(holes.depth / np.maximum(holes.grain, 1e-3), *CLEAR_OF_GRAIN)
    clear = np.maximum(clear, _between(share, *FULL) * _between(large, *LARGE))
    no_grain = np.where(lined, _between(large, *AS_LARGE) * clear, 1.0)
    return _between(share, *AS_FULL) * no_grain


def _not_pale(holes: Holes, sure: FloatArray) -> FloatArray:
    """Return the certainty that spots are by far not as pale as most holes, as dust is."""
    if (sure > CERTAIN).sum() < FEWEST:
        return np.ones(len(holes))
    return _between(holes.depth / np.median(holes.depth[sure > CERTAIN]), *PALE)


def _not_ink(holes: Holes, sure: FloatArray) -> FloatArray:
    """Return the greatest certainty of spots: blur makes a fine hole paler, but not a broad one.

    What is broad and pale may be ink.
    """
    if (sure > CERTAIN).sum() < FEWEST:
        return np.ones(len(holes))
    within = _within(holes)
    inked = _between(within / np.median(within[sure > CERTAIN]), *INK)
    return np.where(holes.size > BROAD, np.maximum(inked, MAYBE_INK), 1.0)


def _as_dark(holes: Holes, sure: FloatArray) -> FloatArray:
    """Return the certainty that holes on lines are as dark as others, not just a line's own grain.

    A hole lets as much light through wherever it is. One that stands out far more than grain does,
    may be fainter.
    """
    dark = 1.0 - (1.0 - holes.passes) * (1.0 - np.minimum(holes.depth, 1.0))
    if (sure > CERTAIN).sum() < FEWEST:
        return np.ones(len(holes))
    as_dark = _between(dark / np.median(dark[sure > CERTAIN]), *AS_DARK)
    return np.maximum(as_dark, _between(holes.depth / np.maximum(holes.grain, 1e-3), *NO_GRAIN))


def _clear_on_line(holes: Holes) -> FloatArray:
    """Return how clearly holes on a line are darker than it varies by itself."""
    clear = _between(holes.depth / np.maximum(holes.grain, 1e-3), *GRAINS)
    grown = holes.reach > 0.0  # a grain of a single pixel is not
    return clear * _between(holes.depth, *FAINT_ON_LINE) * grown


def _not_lines_meeting(holes: Holes) -> FloatArray:
    depth = _between(holes.depth / np.maximum(holes.line, 1e-3), *CROSSING)
    return depth * _between(_within(holes), *SOLID)


def _within(holes: Holes) -> FloatArray:
    """Return how dark spots are within their own size, as bells have it, (n,)."""
    within = holes.flux / (np.pi / 4.0 * holes.size**2)
    return np.asarray(np.where(holes.disc > 0.0, within / BELL, within))


def _between(value: FloatArray, never: float, surely: float) -> FloatArray:
    return np.clip((value - never) / (surely - never), 0.0, 1.0)
