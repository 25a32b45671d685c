"""Measures spots: their centres, sizes, depths and roundness.

A line under a prick pulls its centre by a pixel, and so does another stab beside it. So a spot is
measured in what remains without lines, and spots near each other are measured together.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from plotout import FloatArray
from plotout_photo.bells import axes_of, fitted, patches, whole
from plotout_photo.clusters import BESIDE, stabs_of
from plotout_photo.lines import line_through
from plotout_photo.on_lines import grain_beside, line_beside, line_under, torn_to

CORE = 1.05  # mm from the centre that count as the hole
ARM = 2.8  # mm from the centre that are looked at
SAME = 0.4  # mm within which spots are one
NOTHING = 0.06  # depth up to which a spot is none
CLOSE = 2.8  # mm to the next spot up to which they are measured together: stabs of a corner
BROAD = 6.0  # mm that they extend at most; lettering is broader
FAINTER = 0.45  # share of the deepest up to which spots on lines are the lines' own
TWO = 1.4  # longer over shorter axis above which a spot may be two stabs
GRAIN = 0.03  # mm2 of full black up to which a spot is dust or the paper's own
STAB = 0.25  # least mm2 of full black of two stabs
CROWDED = 0.3  # share of an oval's surroundings that is also dark, from which it is lettering
DEEP, LONG = 0.12, 1.0  # least depth of such spots, and their greatest length as a sigma, mm


@dataclass(frozen=True, slots=True, eq=False)
class Holes:
    """Measured spots, one per row.

    at: (n, 2) pixels. size: mm across. depth: darkness at the centre, 0 to 1. flux: equivalent mm2
    of full black. oval: longer over shorter axis. reach: mm to which its darkness extends. line:
    darkness of the line that ends at it or turns there, 0 for one that passes. crowd: share of its
    surroundings that is also dark. passes: darkness of a line that passes it, and grain: how far
    that varies beside it, one sigma; both 0 where none does. sigma: pixels by which its centre may
    be off. disc: 1 if it was fitted as a disc, with others; 0 if alone, as a bell.
    """

    at: FloatArray
    size: FloatArray
    depth: FloatArray
    flux: FloatArray
    oval: FloatArray
    reach: FloatArray
    line: FloatArray
    crowd: FloatArray
    passes: FloatArray
    grain: FloatArray
    sigma: FloatArray
    disc: FloatArray

    def __len__(self) -> int:
        return len(self.at)

    def of(self, kept: NDArray[Any]) -> Holes:
        """Return some of them."""
        return Holes(*(getattr(self, name)[kept] for name in self.__slots__))


def measured(
    dark: Any, clean: Any, drawn: Any, at: FloatArray, scale: FloatArray, blur: float,
    written: NDArray[np.bool_] | None = None,
) -> Holes:  # fmt: skip
    """Measure spots. scale: (n,) pixels per mm at the spots; blur: sigma of the picture, pixels.

    dark: the picture's darkness; drawn: that of its lines; clean: what remains without them.
    written: (n,) which spots lie on what is written.
    """
    if not len(at):
        return Holes(np.empty((0, 2)), *np.empty((11, 0)))
    mean = float(np.median(scale))
    bells = fitted(patches(clean, at, int(CORE * mean) + 1), CORE * mean, blur, rounds=5)
    once = _apart(at + bells[:, :2], SAME * mean) & (bells[:, 2] > NOTHING)
    written = np.zeros(len(once), dtype=bool) if written is None else written
    at, scale, bells, written = at[once], scale[once], bells[once], written[once]
    at = at + np.clip(bells[:, :2], -2.0, 2.0)
    through = line_under(drawn, at) > 0.0
    line, passes = line_through(dark, drawn, whole(at[through]), CORE * mean, int(ARM * mean) + 1)
    through[through] = passes
    rim = np.zeros(len(at))
    rim[through] = torn_to(dark, at[through], line[passes], mean)
    lined = line_beside(drawn, at, CORE * mean)
    stabs, taken = _stabs((dark, clean, drawn), at, bells, lined, through, written, mean, blur)
    line, rim = line[passes][(rim[through] == 0.0) & ~taken[through]], rim[~taken]
    through = through[~taken] & (rim == 0.0)
    alone = _alone((dark, clean, drawn), at[~taken], scale[~taken], through, line, rim, mean, blur)
    near = _near(stabs, mean)
    if len(near):  # measured again, if it was seen twice
        alone = alone.of(cKDTree(near.at).query(alone.at)[0] > SAME * mean)
    both = joined(alone, near)
    seen = (both.at >= 0.0) & (both.at <= np.array(dark.shape[::-1]) - 1.0)
    return both.of(np.flatnonzero(seen.all(axis=1)))  # what the edge cuts off may be put beyond it


def joined(some: Holes, others: Holes) -> Holes:
    """Return both together."""
    both = (
        np.concatenate([getattr(some, name), getattr(others, name)]) for name in Holes.__slots__
    )
    return Holes(*both)


def _alone(
    pictures: tuple[Any, Any, Any], at: FloatArray, scale: FloatArray,
    through: NDArray[np.bool_], line: FloatArray, rim: FloatArray, mean: float, blur: float,
) -> Holes:  # fmt: skip
    """Measure spots with nothing near them, as ovals.

    through: those on a line that passes; line: patches (m, h, w) of it there. rim: (n,) pixels from
    them to which a line is torn away, or 0.
    """
    dark, clean, drawn = pictures
    reach = int(ARM * mean) + 1
    patch = patches(clean, at, reach)
    patch[through] = (patches(dark, at[through], reach) - line) / (1.0 - line)
    passes, grain = np.zeros(len(at)), np.zeros(len(at))
    passes[through] = line.max(axis=(1, 2), initial=0.0)
    grain[through] = grain_beside(patch[through], line, CORE * mean)
    torn, step = rim > 0.0, np.arange(-reach, reach + 1.0)
    inner = np.hypot(*np.meshgrid(step, step)) < rim[torn, None, None]
    patch[torn] = np.where(inner, patches(dark, at[torn], reach), patch[torn])
    bells = fitted(patch, CORE * mean, blur, rounds=12)
    once = _apart(whole(at) + bells[:, :2], SAME * mean)
    bells, patch, scale = bells[once], patch[once], scale[once]
    at, depth = whole(at[once]) + bells[:, :2], bells[:, 2]
    long, short = axes_of(bells)
    return Holes(
        at=at,
        size=_size(bells, blur, scale),
        depth=np.minimum(depth, 1.5),
        flux=depth * 2.0 * np.pi * long * short / scale**2,
        oval=long / short,
        reach=_reach(patch, depth) / scale,
        line=np.where((through | torn)[once], 0.0, line_under(drawn, at, CORE * mean)),
        crowd=_crowd(clean, at, depth, mean),
        passes=passes[once],
        grain=grain[once],
        sigma=_sigma(bells[:, 6], depth),
        disc=np.zeros(len(at)),
    )


def _near(stabs: FloatArray, scale: float) -> Holes:
    """Return holes that were taken apart, from `clusters.stabs_of`."""
    depth, radius, flux, noise = stabs[:, 2:].T
    return Holes(
        at=stabs[:, :2],
        size=2.0 * radius / scale,
        depth=depth,
        flux=flux,
        oval=np.ones(len(stabs)),
        reach=radius / scale,
        line=np.zeros(len(stabs)),
        crowd=np.zeros(len(stabs)),
        passes=np.zeros(len(stabs)),
        grain=np.zeros(len(stabs)),
        sigma=_sigma(noise, depth),
        disc=np.ones(len(stabs)),
    )


def _stabs(
    pictures: tuple[Any, Any, Any], at: FloatArray, bells: FloatArray, lined: NDArray[np.bool_],
    through: NDArray[np.bool_], written: NDArray[np.bool_], scale: float, blur: float,
) -> tuple[FloatArray, NDArray[Any]]:  # fmt: skip
    """Take apart spots that lie close together, and ovals that may be two, and what lines make.

    lined: which spots, (n,), have a line beside them; through: on which one passes; written: which
    lie on what is written, so that they don't join stabs to a word. Returns holes
    (`clusters.stabs_of`), and which spots, (n,), they take the place of. A spot on a line that
    passes may still be a fine hole where no stabs are seen.
    """
    dark, clean, drawn = pictures
    made, taken = [np.empty((0, 6))], np.zeros(len(at), dtype=bool)
    long, short = axes_of(bells)
    flux = bells[:, 2] * long * short * 2.0 * np.pi / scale**2
    oval = (long / short > TWO) & (flux > STAB)
    oval[oval] = _crowd(clean, at[oval], bells[oval, 2], scale) < CROWDED
    sound = np.flatnonzero((bells[:, 2] > DEEP) & (long < LONG * scale) & (flux > GRAIN))
    ending = lined & ~through & (flux > BESIDE / 2.0)
    for own in _places(at, sound, bells[:, 2], lined, written, scale):
        alone = len(own) == 1
        if alone and not (oval[own[0]] or ending[own[0]]):
            continue
        lines = (dark, drawn) if lined[own].any() else None
        found = stabs_of(clean, at[own], scale, blur, lines)
        if found is not None and (len(found) != 1 or not alone or ending[own[0]]):
            made.append(found)
            taken[own if len(found) else own[~through[own]]] = True
    return np.vstack(made), taken


def _places(
    at: FloatArray, which: NDArray[np.intp], depth: FloatArray, lined: NDArray[np.bool_],
    written: NDArray[np.bool_], scale: float,
) -> list[NDArray[np.intp]]:  # fmt: skip
    """Divide spots into those that lie close together, without those of lettering.

    A line is not equally dark all along: its darkest parts don't join stabs to what is farther on.
    """
    made = []
    for own in _beside_each_other(at, which, CLOSE * scale):
        if not _broad(at[own], scale):
            made.append(own)
            continue
        clear = own[~lined[own] | (depth[own] > FAINTER * depth[own].max())]
        for part in _beside_each_other(at, clear, CLOSE * scale):
            rest = part[~written[part]] if _broad(at[part], scale) else part
            if len(rest) > 1 and not _broad(at[rest], scale):
                made.append(rest)
    return made


def _beside_each_other(
    at: FloatArray, which: NDArray[np.intp], gap: float
) -> list[NDArray[np.intp]]:
    """Divide places by gaps."""
    pairs = cKDTree(at[which]).query_pairs(gap, output_type="ndarray")
    joined = coo_array((np.ones(len(pairs)), pairs.T), (len(which), len(which)))
    count, group = connected_components(joined, directed=False)
    return [which[group == nth] for nth in range(count)]


def _broad(at: FloatArray, scale: float) -> bool:
    return bool(np.ptp(at, axis=0).max() > BROAD * scale)


def _sigma(noise: FloatArray, depth: FloatArray) -> FloatArray:
    """Return by how much centres may be off, (n,) pixels."""
    return np.asarray(np.hypot(np.clip(noise / np.maximum(depth, 1e-3) * 1.2, 0.05, 1.0), 0.06))


def _apart(at: FloatArray, gap: float) -> NDArray[Any]:
    """Return which spots, (n,), are not a clearer one over again: the clearest come first."""
    kept = np.ones(len(at), dtype=bool)
    for one, other in sorted(cKDTree(at).query_pairs(gap)):
        if kept[one]:
            kept[other] = False
    return kept


def _size(bells: FloatArray, blur: float, scale: Any) -> FloatArray:
    """Return the size of holes, (n,) mm across, without the blur: a disc's sigma is d / 4."""
    own = np.prod(axes_of(bells), axis=0) - blur**2
    return np.asarray(np.sqrt(np.maximum(own, 0.05)) * 4.0 / scale)


def _reach(patch: FloatArray, depth: FloatArray) -> FloatArray:
    """Return how far, in pixels, darkness of half the spots' centres extends from them."""
    middle = patch.shape[1] // 2
    step = np.arange(-middle, middle + 1.0)
    far = np.hypot(*np.meshgrid(step, step))
    made = np.empty(len(patch))
    for index, row in enumerate(patch):
        dark = (row > 0.4 * depth[index]).astype(np.uint8)
        _, named = cv2.connectedComponents(dark, connectivity=4)
        own = named[middle, middle]
        made[index] = far[named == own].max() if own else 0.0
    return made


def _crowd(dark: Any, at: FloatArray, depth: FloatArray, scale: float) -> FloatArray:
    """Return the share of the ring around spots that is a third as dark as their centres."""
    reach = int(np.ceil(ARM * scale))
    step = np.arange(-reach, reach + 1.0)
    far = np.hypot(*np.meshgrid(step, step)) / scale
    ring = (far > 1.25) & (far < ARM)
    patch = patches(dark, at, reach)[:, ring]
    return np.asarray((patch > np.maximum(0.35 * depth, 0.08)[:, None]).mean(axis=1))
