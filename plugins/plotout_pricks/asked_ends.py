"""Ends of curves that are asked to be square or tangent to a neighbour although they aren't.

A curve is bent to meet its neighbour as asked, whatever its pricks show. Where they clearly show
another angle, the set file is probably wrong, and the lengths beside it are no longer the pricks'.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from plotout import FloatArray
from plotout.kit import PLAIN, End, StraightLine, Strays, curve_fit, strays
from plotout_pricks.bend import Tails
from plotout_pricks.continued import beyond
from plotout_pricks.table import Pricks
from plotout_pricks.tidy import Tidy

OFF = 6.0  # degrees from what was asked, at least: less is pricking (common practice)
SIGMAS = 3.0  # and by so many sigma of the angle that the pricks show
TIGHT = 25.0  # degrees of bend from prick to prick: then they show no angle at an end
LEAST = 0.05  # mm: a smaller change of a length is not told
DRAWS = 20  # curves drawn by their likelihood, whose angles' spread is that sigma


@dataclass(frozen=True, slots=True)
class Contradicted:
    """An end of a curve that its pricks contradict. last: its end, not its start."""

    last: bool
    words: str
    advice: str

    def told(self, longer: Mapping[str, float]) -> str:
        """Return a note. longer: the runs whose lengths it changes, and by how many mm."""
        changes = [
            f"'{name}' {abs(by):.1f} mm {'longer' if by > 0.0 else 'shorter'}"
            for name, by in longer.items()
            if abs(by) >= LEAST
        ]
        made = f", which makes {PLAIN.listed(*changes)}" if changes else ""
        return f"{self.words}{made}. {self.advice}"


def contradicted(
    run: Pricks, ends: Sequence[End | None], neighbours: Sequence[str]
) -> Iterator[Contradicted]:
    """Yield each end of a curve whose pricks meet its neighbour at another angle.

    ends: what was asked of its start and end. neighbours: the runs before and after it.
    """
    if not any(ends):
        return
    free = curve_fit(run.points)
    likely = free.likely(DRAWS)
    spacing = float(np.median(np.hypot(*np.diff(run.points, axis=0).T)))
    for which, (end, other) in enumerate(zip(ends, neighbours, strict=True)):
        if end is None or not likely or _bends(free.points, spacing, last=bool(which)) > TIGHT:
            continue
        met = _angle(free.points, end.line, last=bool(which))
        spread = [_angle(curve, end.line, last=bool(which)) for curve in likely]
        sigma = float(np.sqrt(np.mean((np.array(spread) - met) ** 2)))
        off = abs(met - (90.0 if end.square else 0.0))
        if off <= max(OFF, SIGMAS * sigma):
            continue
        asked, name = ("square", "tangent")[not end.square], ("start", "end")[which]
        kept = f'"{run.name} {("end", "start")[which]}"'
        instead = f"name only {kept}" if ends[1 - which] else f"leave out '{run.name}'"
        yield Contradicted(
            bool(which),
            f"'{run.name}' is made {asked} to '{other}' at its {name}, but its pricks meet it at "
            f"{met:.0f} degrees, so that it is bent by {off:.0f} there",
            f"If that is not meant, {instead} in '{asked}'",
        )


def judged_so(
    item: Tidy, ends: Sequence[End | None], beside: tuple[str, str], notes: list[str]
) -> Strays:
    """Return which pricks of a curve strayed, as it ends; beside: the runs before and after it.

    One may be off only because the curve is made to end so. It is kept if the other pricks show,
    too, that the curve doesn't; if all hangs on that prick, the note has both explanations.
    """
    points = item.run.points
    judged = strays(points, start=ends[0], end=ends[1], sure=item.sure)
    if not any(ends) or not judged.left_out:
        return judged
    free = strays(points, sure=item.sure)
    only_so = [n for n in judged.left_out if n not in free.left_out]
    if not only_so:
        return judged
    without, whole = (
        replace(item.run, points=np.delete(points, list(one.left_out), axis=0))
        for one in (judged, free)
    )
    if any(contradicted(without, ends, beside)):
        return free
    numbers = PLAIN.listed(*(str(item.numbers[n]) for n in only_so))
    for one in contradicted(whole, ends, beside):
        notes.append(
            f"{one.words}, unless prick {numbers} strayed, which is taken to be so. {one.advice}"
        )
    return judged


def _bends(curve: FloatArray, spacing: float, *, last: bool) -> float:
    """Return the degrees by which a curve bends over `spacing` mm at its end or start."""
    points = curve[::-1] if last else curve
    reached = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    at = min(max(int(np.searchsorted(reached, spacing)), 1), len(points) - 1)
    (x, y), (u, v) = points[1] - points[0], points[at] - points[at - 1]
    return float(abs(np.degrees(np.arctan2(x * v - y * u, x * u + y * v))))


def _angle(curve: FloatArray, line: StraightLine, *, last: bool) -> float:
    """Return the angle, 0 to 90 degrees, at which a curve's end meets a line, continued to it."""
    points = curve if last else curve[::-1]
    tail = points[-max(3, len(points) // 4) :]
    whole = np.vstack([tail, beyond(Tails(points[None]))[0]])
    away = line.offsets(whole)
    crossed = np.flatnonzero(away[:-1] * away[1:] <= 0.0)
    at = int(crossed[0]) if len(crossed) else len(tail) - 2
    step = whole[at + 1] - whole[at]
    return float(np.degrees(np.arctan2(abs(step @ line.normal), abs(step @ line.along))))
