"""Where the tool goes while it works: lines, arcs, and the turning of a knife.

Source: NIST IR 6556: arcs by the centre's offsets I, J (3.5.3); F is length a minute while X or Y
move, degrees a minute when a rotary axis moves alone (2.1.2.5).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from plotout import FloatArray, Run, arc_tolerance, find_arcs
from plotout_gcode.options import Options


@dataclass(frozen=True, slots=True, eq=False)
class Path:
    """A run's way on the machine, repeats left out.

    points: (n, 2), in the file's units, rounded. exact: (n, 2), mm. angles: (n,), degrees.
    """

    points: FloatArray
    exact: FloatArray
    angles: FloatArray | None


@dataclass(frozen=True, slots=True, eq=False)
class Placing:
    """How the sheet lies on the machine. matrix: (2, 3), mm to mm; scale: file units in a mm."""

    matrix: FloatArray
    scale: float
    decimals: int

    def path(self, run: Run, before: Run | None) -> Path:
        """Return the run's path, from where the one before it ends if it follows."""
        points, angles = run.points, run.angles
        if run.follows and before is not None:
            points = np.vstack([before.points[-1:], points])
            if angles is not None:
                start = angles[:1] if before.angles is None else before.angles[-1:]
                angles = np.concatenate([start, angles])
        exact = points @ self.matrix[:, :2].T + self.matrix[:, 2]
        points = np.round(exact * self.scale, self.decimals) + 0.0  # + 0.0: no minus nought
        moved = np.any(points[1:] != points[:-1], axis=1)
        if angles is not None:
            angles = np.round(self._turned(angles), 3) + 0.0
            moved |= angles[1:] != angles[:-1]
        kept = np.concatenate([[True], moved])
        return Path(points[kept], exact[kept], None if angles is None else angles[kept])

    def _turned(self, angles: FloatArray) -> FloatArray:
        """Return headings on the machine of headings on the sheet, degrees."""
        across, up = self.matrix[:, 0], self.matrix[:, 1]
        sense = np.sign(across[0] * up[1] - across[1] * up[0])
        return np.asarray(np.degrees(np.arctan2(across[1], across[0])) + sense * angles)


def cut(path: Path, run: Run, asked: Options) -> list[str]:
    """Return the blocks that work along the path from its first point."""
    feed = f" F{asked.feed(run.feed)}"
    if path.angles is None:
        return _across(path, asked, arc_tolerance(run.tool, asked.step), feed)
    return _turning(path.points, path.angles, asked, feed)


def _across(path: Path, asked: Options, tolerance: float, feed: str) -> list[str]:
    points, places, scale = path.points.tolist(), asked.decimals, asked.scale
    if len(points) < 2:
        return []
    blocks = []
    for begin, end, centre, sweep in find_arcs(path.exact, tolerance):
        x, y = points[end]
        if sweep:
            # one place finer: both radii must agree to 0.002 mm (NIST IR 6556, 3.5.3.1)
            i, j = centre[0] * scale - points[begin][0], centre[1] * scale - points[begin][1]
            word = "G3" if sweep > 0.0 else "G2"
            middle = f" I{i:.{places + 1}f} J{j:.{places + 1}f}"
            blocks.append(f"{word} X{x:.{places}f} Y{y:.{places}f}{middle}")
        else:
            blocks.append(f"G1 X{x:.{places}f} Y{y:.{places}f}")
    blocks[0] += feed
    return blocks


def _turning(points: FloatArray, angles: FloatArray, asked: Options, feed: str) -> list[str]:
    """Turn alone at the axis's own speed; F is said anew whenever its meaning changes."""
    lines, last = [], ""
    for nth in range(1, len(points)):
        word = f"{asked.rotary}{angles[nth]:.3f}"
        if (points[nth] == points[nth - 1]).all():
            now, where = f" F{asked.turning * 60.0:.6g}", word
        else:
            x, y = points[nth]
            now, where = feed, f"X{asked.number(x)} Y{asked.number(y)} {word}"
        lines.append(f"G1 {where}" + (now if now != last else ""))
        last = now
    return lines
