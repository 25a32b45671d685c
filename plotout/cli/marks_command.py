"""plotout marks: how a sheet really lies, from where its registration marks were found."""

from __future__ import annotations

from pathlib import Path

import click

from plotout.cli.fitting import fitted
from plotout.cli.json_output import print_json
from plotout.cli.options import FIT, JSON, FitOptions, machine_option


@click.command()
@click.argument("marks_file", metavar="FILE", type=click.Path(path_type=Path))
@machine_option("Have this machine say where the marks are; needs --port.", required=False)
@click.option("--port", help="Device, socket://HOST:PORT or rfc2217://HOST:PORT.")
@FIT
@JSON
def marks(
    marks_file: Path, machine: str | None, port: str | None, fitting: FitOptions, as_json: bool
) -> None:
    """Fit the marks in FILE (a line each: name, meant x, meant y, found x, found y).

    The found places are typed into FILE; or with --machine and --port you move the tool over each
    mark, the machine says where that is, and it is written into FILE.

    Example: plotout marks beekeepers-smock-bk-01-m-gantry-knife-sheet-01-marks.csv --limit 0.3
    """
    from plotout.errors import UserError

    if (machine is None) is not (port is None):
        raise UserError(
            "a machine is asked at its port", fix="Give both --machine and --port, or neither."
        )
    if machine is not None and port is not None:
        _found_by(machine, port, marks_file)
    found = fitted(marks_file, fitting)
    if as_json:
        print_json(found.as_data())
        return
    for line in found.as_lines():
        click.echo(line)


def _found_by(machine: str, port: str, marks_file: Path) -> None:
    """Have the machine say where the marks are, and write that into the file."""
    from plotout import job
    from plotout.files import write_whole
    from plotout.language import Asking
    from plotout.layout.registration.mark_file import filled_in, mark_names
    from plotout.machine import caution
    from plotout.sending.marking import find_marks
    from plotout.sending.settings import settings_of

    profile, names = job.load_machine(machine), mark_names(marks_file)
    for text in caution(profile):
        click.echo(f"Caution: {text}", err=True)
    asking = Asking(
        said=lambda text: click.echo(text, err=True),
        agreed=lambda question: click.confirm(question, default=False, err=True),
        typed=lambda question: str(
            click.prompt(question, default="", show_default=False, err=True)
        ),
    )
    found = find_marks(port, settings_of(profile), profile, names, asking)
    if found:
        write_whole(marks_file, filled_in(marks_file, found).encode())
