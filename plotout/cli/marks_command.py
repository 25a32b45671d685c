"""plotout marks: where a sheet lies, from where its registration marks were found."""

from __future__ import annotations

from pathlib import Path

import click

from plotout.cli import interrupt
from plotout.cli.fitting import fitted
from plotout.cli.json_output import print_json
from plotout.cli.options import FIT, JSON, PATH, FitOptions, machine_option


@click.command()
@click.argument("marks_file", metavar="FILE", type=PATH)
@machine_option("Read the marks' places from this machine; needs --port.", required=False)
@click.option("--port", help="Device, socket://HOST:PORT or rfc2217://HOST:PORT.")
@FIT
@JSON
def marks(
    marks_file: Path, machine: str | None, port: str | None, fitting: FitOptions, as_json: bool
) -> None:
    """Fit the marks in FILE (per line: name, meant x, meant y, found x, found y).

    Type the found places into FILE; or, with --machine and --port, move the tool over one mark
    after another: the machine reports its place, and plotout writes it into FILE.

    Example: plotout marks beekeepers-smock-bk-01-m-gantry-knife-sheet-01-marks.csv --limit 0.3
    """
    from plotout.errors import UserError

    if (machine is None) is not (port is None):
        raise UserError(
            "--machine needs --port, and --port needs --machine", fix="Give both, or neither."
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
    """Read the marks' places from the machine and write them into the file."""
    from plotout import job
    from plotout.conversation import Asking
    from plotout.files import rewrite_whole
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
    with interrupt.remembered():
        found = find_marks(port, settings_of(profile), profile, names, asking)
    if found:
        rewrite_whole(marks_file, filled_in(marks_file, found).encode())
