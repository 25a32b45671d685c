"""A reading as plain data."""

from __future__ import annotations

from typing import Any

import numpy as np

from plotout_photo.accuracy import ErrorMap
from plotout_photo.camera import tilt_of
from plotout_photo.corrections import Corrections
from plotout_photo.remarks import Remarks, in_order
from plotout_photo.scale import printed
from plotout_photo.shot import Shot
from plotout_photo.strips import strip_of
from plotout_photo.survey import Survey
from plotout_photo.table import Ordered, names_by_piece


def report_of(
    made: Survey, final: Ordered, said: Corrections, errors: ErrorMap, remarks: Remarks
) -> dict[str, Any]:
    """Return the reading as plain data."""
    strips, error, way = printed(made.solution, made.shots), made.error[made.in_run], final.way
    return {
        "pricks": [
            {
                "number": final.numbers[k],
                "x_mm": round(float(final.at[k][0]), 3),
                "y_mm": round(float(final.at[k][1]), 3),
                **_told_of_prick(made, final.numbers[k]),
            }
            for k in range(len(final.at))
        ],
        "corners": [
            {"at_mm": [round(float(v), 3) for v in group.at], "doubtful": group.doubtful,
             "numbers": [final.numbers[k] for k in group.members]}
            for group in (way.groups[g] for g in in_order(way)) if group.corner
        ],
        "runs": [
            {"name": name, "kind": run.kind, "doubtful": run.doubtful,
             "numbers": [final.numbers[k] for g in run.groups for k in way.groups[g].members]}
            for name, run in zip(final.names, way.runs, strict=True)
        ],
        "remarks": [*remarks.first, *remarks.rest],
        "pieces": names_by_piece(final),
        "loose": [final.numbers[k] for g in way.loose for k in way.groups[g].members],
        "dropped": sorted(said.drop),
        "photos": [photo_of(made, index, shot) for index, shot in enumerate(made.shots)],
        "left_out": list(made.left_out),
        "outside_strips": {"read": int((made.outside & made.in_run).sum()),
                           "left_out": made.apart},
        "print": {"longer_percent": round(100 * float(made.solution.x[0]), 4),
                  "wider_for_length_percent": round(100 * strips.wider, 4),
                  "sigma_percent": round(100 * strips.sigma, 4),
                  "measured": len(made.solution.model.known)},
        "expected_error_mm": {"median": round(float(np.median(error)), 3),
                              "most": round(float(error.max()), 3),
                              "map_x_mm": errors.x, "map_y_mm": errors.y, "map": errors.rows},
    }  # fmt: skip


def _told_of_prick(made: Survey, number: int) -> dict[str, Any]:
    if number > len(made.at):
        return {"added": True}
    index = number - 1
    shot = made.shots[int(made.photo[index])]
    return {
        "sure": round(float(made.sure[index]), 3),
        "error_mm": round(float(made.error[index]), 3),
        "seen_by": int(made.seen[index]),
        "photo": shot.path.name,
        "pixel": [round(float(v), 2) for v in shot.in_file(made.pixel[index])],
    }


def photo_of(made: Survey, index: int, shot: Shot) -> dict[str, Any]:
    """Return what is known of a picture as a whole."""
    off = made.solution.off[index]
    rms = float(np.sqrt(np.mean([error**2 for error in off.values()]))) if off else 0.0
    values = made.solution.model.camera(made.solution.x, index)
    return {
        "file": shot.path.name,
        "marks": len(off),
        "strips": sorted({strip_of(mark) for mark in off}),
        "marks_left_out": list(shot.dropped),
        "rms_px": round(rms, 4),
        "rms_mm": round(rms / shot.scale, 5),
        "worst_mark_px": round(max(off.values()), 4) if off else 0.0,
        "pixels_per_mm": round(shot.scale, 3),
        "tilt_degrees": 0.0 if shot.kind.flat else round(tilt_of(values), 1),
        "marks_px": {str(mark): round(error, 4) for mark, error in off.items()},
    }
