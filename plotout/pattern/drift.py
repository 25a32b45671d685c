"""Finds seams that can't match in all sizes, however inaccurately they were pricked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import isfinite

from plotout.pattern.walk import SeamResult

_EVEN = 1e-9  # mm by which a figure may be computed beyond its bound


def drifting(walked: Mapping[str, Iterable[SeamResult]]) -> dict[str, str]:
    """Return the seams whose difference changes by more than ease and tolerance allow, in words.

    All sizes grow from the same pricks: what these are off is the same in all, but for the share by
    which an edge grows. So a change from size to size is known where no size is. walked: by size.
    Seams that surely don't match in one size are left out: that is a fault of that size.
    """
    found: dict[str, dict[str, SeamResult]] = {}
    for size, seams in walked.items():
        for seam in seams:
            found.setdefault(seam.name, {})[size] = seam
    return {name: words for name, sizes in found.items() if (words := _drift(sizes))}


def _drift(sizes: Mapping[str, SeamResult]) -> str:
    wholes = {size: seam.whole for size, seam in sizes.items()}
    if any(whole.sure and not whole.matches for whole in wholes.values()):
        return ""
    low = min(wholes, key=lambda size: wholes[size].difference)
    high = max(wholes, key=lambda size: wholes[size].difference)
    least, most = (wholes[size].difference for size in (low, high))
    ease, tolerance = wholes[low].ease, wholes[low].tolerance
    allowed = ease[1] - ease[0] + 2.0 * tolerance
    lengths = [whole.first for whole in wholes.values()]
    known = max((w.known_to for w in wholes.values() if isfinite(w.known_to)), default=0.0)
    if most - least <= allowed + known * (max(lengths) / min(lengths) - 1.0) + _EVEN:
        return ""
    return (
        f"first less second is {least:.1f} mm in size {low}, but {most:.1f} mm in size {high}, and "
        f"ease and tolerance together allow a change of {allowed:g} mm: however it was pricked, it "
        "can't match in both"
    )
