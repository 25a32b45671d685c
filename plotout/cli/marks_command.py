"""plotout marks: how a sheet really lies, from where its registration marks were found."""

from __future__ import annotations

import json
from pathlib import Path

import click

from plotout.cli.fitting import as_data, as_lines, fit_options


@click.command()
@click.argument("marks_file", metavar="FILE", type=click.Path(path_type=Path))
@fit_options
@click.option("--json", "as_json", is_flag=True, help="Report as one JSON object.")
def marks(marks_file: Path, allow: str, limit: str, as_json: bool) -> None:
    """Fit the marks in FILE (a line each: name, meant x, meant y, found x, found y).

    Example: plotout marks bk-01-gantry-knife-sheet-01-marks.csv --limit 0.3
    """
    from plotout.layout.markfile import load_marks
    from plotout.layout.registration import Allow, fit_marks
    from plotout.units import length

    names, meant, found = load_marks(marks_file)
    fit = fit_marks(meant, found, allow=Allow(allow), limit=length(limit), names=names)
    if as_json:
        click.echo(json.dumps(as_data(fit, names), indent=1, ensure_ascii=False))
        return
    for line in as_lines(fit, names):
        click.echo(line)
