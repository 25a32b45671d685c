"""plotout marks: how a sheet really lies, from where its registration marks were found."""

from __future__ import annotations

import json
from pathlib import Path

import click


@click.command()
@click.argument("marks_file", metavar="FILE", type=click.Path(path_type=Path))
@click.option(
    "--allow",
    type=click.Choice(["shift", "turn", "scale", "shear"]),
    default="shear",
    show_default=True,
    help="What the fit may do; each allows those before it too.",
)
@click.option("--limit", default="0.5 mm", show_default=True, help="Greatest error that will do.")
@click.option("--json", "as_json", is_flag=True, help="Report as one JSON object.")
def marks(marks_file: Path, allow: str, limit: str, as_json: bool) -> None:
    """Fit the marks in FILE (a line each: name, meant x, meant y, found x, found y).

    Example: plotout marks sheet-1-marks.csv --limit 0.3
    """
    from plotout.layout.markfile import load_marks
    from plotout.layout.registration import Allow, fit_marks
    from plotout.units import length

    names, meant, found = load_marks(marks_file)
    fit = fit_marks(meant, found, allow=Allow(allow), limit=length(limit), names=names)
    if as_json:
        report = {
            "matrix": fit.matrix.tolist(),
            "shift_mm": fit.matrix[:, 2].tolist(),
            "turn_degrees": fit.turn,
            "scale_x": fit.scales[0],
            "scale_y": fit.scales[1],
            "shear_degrees": fit.shear,
            "condition": fit.condition,
            "residuals_mm": dict(zip(names, fit.residuals.tolist(), strict=True)),
        }
        click.echo(json.dumps(report, indent=1, ensure_ascii=False))
        return
    x, y = fit.matrix[:, 2]
    click.echo(f"Shifted by x {x:+.2f} mm, y {y:+.2f} mm; turned by {fit.turn:+.3f} degrees")
    across, up = (100.0 * (scale - 1.0) for scale in fit.scales)
    click.echo(f"Scale x {across:+.3f} %, y {up:+.3f} %; shear {fit.shear:+.3f} degrees")
    for name, off in zip(names, fit.residuals, strict=True):
        click.echo(f"  {name}: off by {off:.2f} mm")
