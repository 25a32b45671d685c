"""Tells of round dark spots that are like pricks but for their size: an awl's holes, or blots.

Spots up to some 2.4 mm are measured like pricks, on lines too. What is larger passes for the
paper's own brightness there, so it is seen in a smaller picture, beside paper of a centimetre.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from plotout import FloatArray
from plotout_photo.holes import Holes
from plotout_photo.sift import CROWD, DOUBTFUL, WIDE

FEWEST = 3  # a single one is a blot
WIDEST = 3.8  # mm across as bells have it, that is 3 mm: none is measured as larger
BELL = 1.26  # times as wide as a disc is the bell fitted to it (measured, `sift.WIDE`)
ROUND, BLACK = 1.3, 0.75  # longer over shorter axis; depth: rendered ink has up to 0.7 (measured)
NAMED = 4  # places
FINER = "If they are pricks, take a finer needle: holes of 0.5 to 1.3 mm are read."
COARSE, PAPER = 2.5, 12.0  # pixels per mm of the smaller picture; mm across of the paper's part
DARK = 0.66  # of the paper's grey: two fifths of its light, less than a pencil line leaves
ACROSS = (1.5, 5.0)  # mm
BROADER, FULL = 1.5, (0.7, 1.35)  # longer over shorter side; area over that of an ellipse
AROUND, CLEAR = 1.6, 0.12  # mm around a spot, and share of that which is dark: else it is lettering
MOSTLY = (10, 90)  # percentiles of their sizes that are told: two that touch are seen as one
SAME = 1.5  # mm within which spots are one


class Large(NamedTuple):
    """Spots too large for pricks. at: (n, 2) pixels; across: (n,) mm."""

    at: FloatArray
    across: FloatArray


def too_large(found: Holes, looks: FloatArray, unlike: FloatArray) -> NDArray[np.intp]:
    """Return which spots are too large for pricks, and look like them otherwise.

    looks: (n,) their certainty by their looks; unlike: by the writing near them.
    """
    like = (found.oval < ROUND) & (found.depth > BLACK) & (found.crowd < CROWD[1])
    alone = (found.line == 0.0) & (unlike >= DOUBTFUL)
    large = (found.size > WIDE[1]) & (found.size < WIDEST) & (looks < DOUBTFUL)
    return np.flatnonzero(like & alone & large)


def with_coarse(measured: Holes, pricks: FloatArray, grey: Any, among: Any, scale: float) -> Large:
    """Return spots that were measured as too large, and those that only a smaller picture shows.

    pricks: (m, 2) pixels, which are none. grey: the picture, uint8 (h, w); among: not 0 where
    pricks are sought; scale: pixels per mm.
    """
    coarse, known = _coarse(grey, among, scale), np.vstack([measured.at, pricks])
    if len(known) and len(coarse.at):
        new = cKDTree(known).query(coarse.at)[0] > SAME * scale
        coarse = Large(coarse.at[new], coarse.across[new])
    return Large(
        np.vstack([measured.at, coarse.at]),
        np.concatenate([measured.size / BELL, coarse.across]),
    )


def _coarse(grey: Any, among: Any, scale: float) -> Large:
    """Return round spots of ACROSS mm that are far darker than the paper around them."""
    by = max(scale / COARSE, 1.0)
    size = tuple(round(side / by) for side in grey.shape[::-1])
    small = cv2.resize(grey, size, interpolation=cv2.INTER_AREA)
    within = cv2.resize(among, size, interpolation=cv2.INTER_NEAREST) > 0
    paper = cv2.medianBlur(small, 2 * round(PAPER * scale / by / 2.0) + 1)
    dark = ((small < DARK * paper) & within).astype(np.uint8)
    _, named, stats, middles = cv2.connectedComponentsWithStats(dark, connectivity=8)
    mm, at, across = scale / by, [], []
    for label, (left, top, wide, high, area) in enumerate(stats.tolist()):
        one = 2.0 * float(np.sqrt(area / np.pi)) / mm
        full = area / (np.pi / 4.0 * wide * high)
        if (
            label
            and ACROSS[0] <= one <= ACROSS[1]
            and max(wide, high) <= BROADER * min(wide, high)
            and FULL[0] <= full <= FULL[1]
            and _clear(named, label, (left, top, wide, high), mm)
        ):
            at.append((middles[label] + 0.5) * by - 0.5)
            across.append(one)
    return Large(np.array(at).reshape(-1, 2), np.array(across))


def _clear(named: Any, label: int, box: tuple[int, int, int, int], mm: float) -> bool:
    """Return whether what is around a dark spot is mostly paper. mm: pixels in one."""
    left, top, wide, high = box
    more = round(AROUND * mm)
    part = named[max(top - more, 0) : top + high + more, max(left - more, 0) : left + wide + more]
    return bool(((part > 0) & (part != label)).mean() < CLEAR)


def told(large: Large) -> str:
    """Return in words which spots are too large, "" if few are."""
    if len(large.at) < FEWEST:
        return ""
    places = "; ".join(f"{x:.0f}, {y:.0f}" for x, y in large.at[:NAMED])
    more = f" and {len(large.at) - NAMED} more" if len(large.at) > NAMED else ""
    least, most = np.percentile(large.across, MOSTLY)
    return (
        f"{len(large.at)} round dark spots of {least:.1f} to {most:.1f} mm are left out as too "
        f"large for pricks (pixels from the left and the top: {places}{more})"
    )
