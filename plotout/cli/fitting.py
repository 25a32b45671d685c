"""Registration marks fitted for the commands, and the fit in words and as data."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from plotout.errors import found_in

if TYPE_CHECKING:
    from plotout.cli.options import FitOptions
    from plotout.geometry.strokes import FloatArray
    from plotout.layout.registration.fit import Fit


@dataclass(frozen=True, slots=True, eq=False)
class FittedMarks:
    """The marks of a file, fitted. meant: (n, 2), mm, where they are on the sheet."""

    names: tuple[str, ...]
    meant: FloatArray
    fit: Fit

    def as_data(self) -> dict[str, Any]:
        """Return the fit as plain data, fit for JSON."""
        fit = self.fit
        return {
            "fitted_by": fit.allow.value,
            "matrix": fit.matrix.tolist(),
            "shift_mm": fit.matrix[:, 2].tolist(),
            "turn_degrees": fit.turn,
            "scale_x": fit.scales[0],
            "scale_y": fit.scales[1],
            "shear_degrees": fit.shear,
            "condition": fit.condition,
            "residuals_mm": dict(zip(self.names, fit.residuals.tolist(), strict=True)),
            "foretold_mm": {
                name: far if math.isfinite(far) else None
                for name, far in zip(self.names, fit.foretold.tolist(), strict=True)
            },
            "checked": fit.checked,
            "could_hide_mm": fit.could_hide if fit.checked else None,
            "notes": list(fit.notes),
        }

    def as_lines(self) -> list[str]:
        """Return the fit in words."""
        from plotout.layout.registration.fit import WORDS
        from plotout.layout.registration.solve import Allow

        fit = self.fit
        x, y = fit.matrix[:, 2]
        across, up = (100.0 * (scale - 1.0) for scale in fit.scales)
        lines = [
            f"Shifted by x {x:+z.2f} mm, y {y:+z.2f} mm; turned by {fit.turn:+z.3f} degrees",
            f"Fitted by {WORDS[fit.allow]}",
        ]
        if fit.allow in (Allow.SCALE, Allow.SHEAR):
            lines.append(
                f"Scale x {across:+z.3f} %, y {up:+z.3f} %; shear {fit.shear:+z.3f} degrees"
            )
        for name, mm, far in zip(self.names, fit.residuals, fit.foretold, strict=True):
            others = f"{far:.2f} mm from where the others place it"
            said = others if math.isfinite(far) else "the others can't say where it is"
            lines.append(f"  {name}: off by {mm:.2f} mm; {said}")
        if fit.checked:
            lines.append(f"If one mark is wrong, it is so by {fit.could_hide:.2f} mm at the most.")
        return [*lines, *(f"Note: {text}." for text in fit.notes)]


def fitted(marks_file: Path, how: FitOptions, *, turned_over: bool = False) -> FittedMarks:
    """Fit the marks of a file. turned_over: the sheet lies face down, so x is mirrored.

    Raises UserError for a bad file or a poor fit.
    """
    from plotout.layout.registration.fit import fit_marks
    from plotout.layout.registration.mark_file import load_marks
    from plotout.layout.registration.solve import Allow
    from plotout.units import length

    names, meant, found = load_marks(marks_file)
    there = meant * [-1.0, 1.0] if turned_over else meant
    allow = None if how.allow is None else Allow(how.allow)
    limit = length(how.limit)
    with found_in(marks_file):
        fit = fit_marks(there, found, allow=allow, limit=limit, names=names)
    return FittedMarks(tuple(names), meant, fit)
