"""What commands that fit registration marks have in common: options, and telling the fit."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from plotout.layout.registration.fit import Fit

_F = TypeVar("_F", bound=Callable[..., Any])


def fit_options(command: _F) -> _F:
    """Add the options that say how marks are fitted."""
    allow = click.option(
        "--allow",
        type=click.Choice(["shift", "turn", "scale", "shear"]),
        default="shear",
        show_default=True,
        help="What the fit of the marks may do; each allows those before it too.",
    )
    limit = click.option(
        "--limit",
        default="0.5 mm",
        show_default=True,
        help="Greatest error of a mark that will do.",
    )
    return allow(limit(command))


def as_data(fit: Fit, names: Sequence[str]) -> dict[str, Any]:
    """Return a fit as plain data, fit for JSON."""
    return {
        "matrix": fit.matrix.tolist(),
        "shift_mm": fit.matrix[:, 2].tolist(),
        "turn_degrees": fit.turn,
        "scale_x": fit.scales[0],
        "scale_y": fit.scales[1],
        "shear_degrees": fit.shear,
        "condition": fit.condition,
        "residuals_mm": dict(zip(names, fit.residuals.tolist(), strict=True)),
    }


def as_lines(fit: Fit, names: Sequence[str]) -> list[str]:
    """Return a fit in words."""
    x, y = fit.matrix[:, 2]
    across, up = (100.0 * (scale - 1.0) for scale in fit.scales)
    return [
        f"Shifted by x {x:+.2f} mm, y {y:+.2f} mm; turned by {fit.turn:+.3f} degrees",
        f"Scale x {across:+.3f} %, y {up:+.3f} %; shear {fit.shear:+.3f} degrees",
        *(f"  {name}: off by {off:.2f} mm" for name, off in zip(names, fit.residuals, strict=True)),
    ]
