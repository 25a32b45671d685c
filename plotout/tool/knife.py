"""A tangential knife: a turning axis keeps it along the line; it is lifted to turn sharply."""

from __future__ import annotations

import numpy as np

from plotout.flow import Run
from plotout.geometry.strokes import FloatArray, Stroke
from plotout.machine import Tool


def knife_runs(points: FloatArray, stroke: Stroke, tool: Tool) -> list[Run]:
    """Return runs, each without a corner sharper than `tool.swivel_above` degrees.

    The knife is up between them, and turns. angles: of the knife at each point, unwrapped.
    """
    steps = np.diff(points, axis=0)
    headings = np.degrees(np.unwrap(np.arctan2(steps[:, 1], steps[:, 0])))
    corners = np.flatnonzero(np.abs(np.diff(headings)) > tool.swivel_above) + 1
    runs = []
    begin = 0
    for end in [*corners.tolist(), len(points) - 1]:
        part, along = points[begin : end + 1], headings[begin:end]
        runs.append(
            Run(
                points=part,
                tool=tool,
                stroke=stroke,
                feed=tool.speed,
                force=tool.force,
                power=tool.power,
                depth=tool.depth,
                angles=np.append(along, along[-1]),
            )
        )
        begin = end
    return runs
