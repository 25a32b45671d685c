"""The report on a reading, for the user."""

from __future__ import annotations

import numpy as np

from plotout_photo.as_data import photo_of
from plotout_photo.remarks import Remarks, counted, in_order
from plotout_photo.shot import Shot
from plotout_photo.survey import Survey
from plotout_photo.table import Ordered, listed, names_by_piece


def told_of(made: Survey, final: Ordered, remarks: Remarks) -> tuple[str, ...]:
    """Return the lines for the user: what was read, and the remarks on it."""
    way, error = final.way, made.error[made.in_run]
    corners = sum(way.groups[g].corner for g in in_order(way))
    pricks = sum(len(way.groups[g].members) for g in in_order(way))
    nominal = not made.solution.model.known and any(shot.marks for shot in made.shots)
    lines = [
        f"{counted(pricks, 'prick')}, {counted(corners, 'corner')}, "
        f"{counted(len(way.runs), 'run')}; "
        f"expected error {np.median(error):.2f} mm, at most {error.max():.2f} mm (two sigma)"
        + (", if the strips are true to scale" if nominal else ""),
        *remarks.first,
    ]
    for name, run in zip(final.names, way.runs, strict=True):
        count = sum(len(way.groups[g].members) for g in run.groups if not way.groups[g].corner)
        ends = "" if run.kind == "closed" else " between its corners"
        lines.append(f"  {name}: {run.kind}, {counted(count, 'prick')}{ends}")
    named = names_by_piece(final)
    if len(named) > 1:
        lines.append(f"The sheet holds {len(named)} pieces. In a set, each takes its own runs:")
        lines += [f"  piece-{k}: runs = {listed(names)}" for k, names in enumerate(named, start=1)]
    lines += [_fit(made, index, shot) for index, shot in enumerate(made.shots) if shot.marks]
    return (*lines, *remarks.rest)


def _fit(made: Survey, index: int, shot: Shot) -> str:
    """Return in words how well a picture's marks fit together."""
    of = photo_of(made, index, shot)
    looks = "" if shot.kind.flat else f", tilted {of['tilt_degrees']:.0f} degrees"
    return (
        f"{shot.path.name}: {of['marks']} marks of {len(of['strips'])} strips, "
        f"{of['rms_px']:.2f} pixels rms ({of['rms_mm']:.3f} mm){looks}"
    )
