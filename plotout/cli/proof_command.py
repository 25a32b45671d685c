"""plotout proof: what a machine would do with a file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import JSON, PATH, machine_option
from plotout.cli.progress import time_words
from plotout.errors import Place, UserError, counted

if TYPE_CHECKING:
    from plotout.proof.summary import Summary


@click.command()
@click.argument("file", type=PATH)
@machine_option()
@JSON
def proof(file: Path, machine: str, as_json: bool) -> None:
    """Report what a machine would do with FILE, from any source.

    Example: plotout proof out/apron-ap-1-m-craft-cutter-sheet-01.plt --machine craft-cutter
    """
    from plotout import job, plugins
    from plotout.files import read_whole
    from plotout.proof.readback import MOST_BYTES
    from plotout.proof.summary import as_data, summarise

    profile = job.load_machine(machine)
    interpreter = plugins.interpreter_for(profile.driver)
    if interpreter is None:
        raise UserError(
            f"files of the driver '{profile.driver}' can't be read back",
            fix="Choose a machine whose files can be read back.",
        )
    data = read_whole(file, "file", MOST_BYTES)
    summary = summarise(interpreter.read(data, profile), profile)
    if not summary.strokes:
        hint = summary.unknown[0] if summary.unknown else "it holds no line of work"
        raise UserError(
            f"nothing in it makes '{profile.name}' work: {hint}",
            fix="Is it the right file, for this machine?",
            place=Place(file),
        )
    if as_json:
        print_json({"file": str(file)} | as_data(summary))
    else:
        _print(summary, file)


def _print(summary: Summary, file: Path) -> None:
    click.echo(f"{file}: {counted(summary.strokes, 'stroke')}, {summary.work / 1000:.2f} m of work")
    if summary.bounds:
        left, bottom, right, top = summary.bounds
        click.echo(f"  x {left:.1f} to {right:.1f} mm, y {bottom:.1f} to {top:.1f} mm")
    click.echo(f"  about {time_words(summary.seconds)}, {counted(summary.changes, 'tool change')}")
    for tool, size in summary.by_tool.items():
        click.echo(f"  tool {tool}: {size / 1000:.2f} m")
    for text in summary.faults:
        click.echo(f"  Beware: {text}")
    for text in summary.unknown:
        click.echo(f"  Not understood: {text}")
    for text in summary.notes:
        click.echo(f"  Note: {text}")
