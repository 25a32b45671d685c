"""The tool's path while it works: lines, arcs, and the turning of a knife.

Source: NIST IR 6556: arcs by the centre's offsets I, J, along which a rotary axis turns evenly
(3.5.3); F is length per minute while X or Y move, degrees per minute when a rotary axis moves alone
(2.1.2.5).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from operator import itemgetter

import numpy as np

from plotout import FloatArray, Run
from plotout.kit import arc_tolerance, find_arcs
from plotout_gcode.options import Options

AT_ONCE = 50_000  # points after which the next runs are left for later, to save memory


@dataclass(frozen=True, slots=True, eq=False)
class Path:
    """A run's path on the machine, without repeats.

    points: (n, 2), in the file's units, rounded. exact: (n, 2), mm. angles: (n,), degrees.
    """

    points: FloatArray
    exact: FloatArray
    angles: FloatArray | None


@dataclass(frozen=True, slots=True, eq=False)
class Placing:
    """The sheet's placing on the machine. matrix: (2, 3), mm to mm; scale: file units per mm."""

    matrix: FloatArray
    scale: float
    decimals: int

    def paths(self, runs: Sequence[Run], before: Run | None) -> list[Path]:
        """Return the runs' paths, starting at the previous one's end if they follow it."""
        lines, angles = _lines(runs, before)
        starts = np.cumsum([0, *map(len, lines)])
        sheet, headings = np.concatenate([np.empty((0, 2)), *lines]), np.concatenate([[], *angles])
        exact = sheet @ self.matrix[:, :2].T + self.matrix[:, 2]
        points = np.round(exact * self.scale, self.decimals) + 0.0  # + 0.0: no minus zero
        headings = np.round(self._turned(headings), 3) + 0.0
        kept = np.ones(len(points), dtype=bool)
        kept[1:] = np.any(points[1:] != points[:-1], axis=1) | (headings[1:] != headings[:-1])
        kept[starts[:-1]] = True
        starts = np.concatenate([[0], np.cumsum(kept)])[starts]
        points, exact, headings = points[kept], exact[kept], headings[kept]
        parts = [slice(*ends) for ends in pairwise(starts.tolist())]
        return [
            Path(points[part], exact[part], None if run.angles is None else headings[part])
            for part, run in zip(parts, runs, strict=True)
        ]

    def _turned(self, angles: FloatArray) -> FloatArray:
        """Return headings on the sheet as headings on the machine, degrees."""
        across, up = self.matrix[:, 0], self.matrix[:, 1]
        sense = np.sign(across[0] * up[1] - across[1] * up[0])
        return np.asarray(np.degrees(np.arctan2(across[1], across[0])) + sense * angles)


def _lines(runs: Sequence[Run], before: Run | None) -> tuple[list[FloatArray], list[FloatArray]]:
    """Return the runs' points on the sheet and their headings, 0 without one."""
    lines, angles = [], []
    for run in runs:
        points = run.points
        turned = np.zeros(len(points)) if run.angles is None else run.angles
        if run.follows and before is not None:
            points = np.vstack([before.points[-1:], points])
            last = turned if before.angles is None or run.angles is None else before.angles[-1:]
            turned = np.concatenate([last[:1], turned])
        lines.append(points)
        angles.append(turned)
        before = run
    return lines, angles


def worked(
    runs: Sequence[Run], placing: Placing, asked: Options
) -> Iterator[tuple[Run, Path, list[str]]]:
    """Yield the runs with their paths and the blocks along them from the first point."""
    before = None
    read = np.cumsum([len(run.points) for run in runs]) // AT_ONCE
    for _, numbered in groupby(zip(read.tolist(), runs, strict=True), key=itemgetter(0)):
        some = [run for _, run in numbered]
        paths = placing.paths(some, before)
        yield from zip(some, paths, _blocks(paths, some, asked), strict=True)
        before = some[-1]


@dataclass(frozen=True, slots=True, eq=False)
class _Section:
    """A part of a path along which a knife never turns on the spot; `Path`'s fields.

    within: mm by which arcs may lie off it.
    """

    points: FloatArray
    exact: FloatArray
    angles: FloatArray | None
    within: float


def _blocks(paths: Sequence[Path], runs: Sequence[Run], asked: Options) -> list[list[str]]:
    """Return the blocks of the runs."""
    sections = [
        list(_sections(path, arc_tolerance(run.tool, asked.step)))
        for path, run in zip(paths, runs, strict=True)
    ]
    every = [section for path in sections for section in path]
    unturned = iter(_along([one for one in every if one.angles is None], asked))
    turned = iter(_along([one for one in every if one.angles is not None], asked))
    return [
        _joined(path, unturned if path[0].angles is None else turned, run, asked)
        for path, run in zip(sections, runs, strict=True)
    ]


def _sections(path: Path, within: float) -> Iterator[_Section]:
    """Give a path's sections; it turns on the spot between them."""
    if path.angles is None:
        yield _Section(path.points, path.exact, None, within)
        return
    still = np.flatnonzero((path.points[1:] == path.points[:-1]).all(axis=1)) + 1
    for begin, end in pairwise([0, *still.tolist(), len(path.points)]):
        part = slice(begin, end)
        yield _Section(path.points[part], path.exact[part], path.angles[part], within)


def _joined(
    sections: Sequence[_Section], found: Iterator[list[str]], run: Run, asked: Options
) -> list[str]:
    """Return a path's blocks: of its sections, and of the turns between them, which are made at the
    axis's own speed. F is repeated whenever its meaning changes.
    """
    feed, turning = f" F{asked.feed(run.feed)}", f" F{asked.turning * 60.0:.6g}"
    blocks: list[str] = []
    for number, section in enumerate(sections):
        if number and section.angles is not None:
            blocks.append(f"G1 {asked.rotary}{section.angles[0]:.3f}{turning}")
        along = next(found)
        blocks += [block + feed for block in along[:1]] + along[1:]
    return blocks


def _along(sections: Sequence[_Section], asked: Options) -> list[list[str]]:
    """Return the blocks of sections, in lines and arcs. A knife is turned in all or in none."""
    headings = [one.angles for one in sections if one.angles is not None]
    moves = find_arcs([one.exact for one in sections], [one.within for one in sections], headings)
    points = np.concatenate([np.empty((0, 2)), *(one.points for one in sections)])
    angles = np.concatenate([[], *headings])
    middle = moves.centre * asked.scale - points[moves.begin]
    place, turn = asked.place, f" {asked.rotary}%.3f" if angles.size else ""
    # one digit more: both radii must agree to 0.002 mm (NIST IR 6556, 3.5.3.1)
    bend = f"{place} I%.{asked.decimals + 1}f J%.{asked.decimals + 1}f"
    forms = f"G1 {place}{turn}", f"G3 {bend}{turn}", f"G2 {bend}{turn}"
    kinds = np.sign(moves.sweep).astype(int)
    words = np.column_stack([points[moves.end], middle])
    said = np.column_stack([np.ones((len(kinds), 2), dtype=bool), kinds != 0, kinds != 0])
    if angles.size:
        words = np.column_stack([words, angles[moves.end]])
        said = np.column_stack([said, np.ones(len(kinds), dtype=bool)])
    text = "\n".join([forms[kind] for kind in kinds.tolist()]) % tuple(words[said].tolist())
    blocks = text.split("\n") if text else []
    return [blocks[part] for part in moves.by_line]
