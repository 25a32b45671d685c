"""plotout nest: all sizes of a piece, drawn over one another."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import (
    FORCE,
    JSON,
    SET_FILE,
    folder_option,
    machine_option,
    seconds_option,
)
from plotout.cli.pages import pages_told
from plotout.cli.progress import progress


@click.command()
@SET_FILE
@machine_option("What draws the nest: a roll plotter, a printer, a file.")
@folder_option()
@click.option("--size", "sizes", multiple=True, help="Draw this size (repeatable); all by default.")
@click.option(
    "--piece", "pieces", multiple=True, help="Draw this piece (repeatable); all by default."
)
@seconds_option(5.0)
@FORCE
@JSON
def nest(
    set_file: Path,
    machine: str,
    folder: Path,
    sizes: tuple[str, ...],
    pieces: tuple[str, ...],
    seconds: float,
    force: bool,
    as_json: bool,
) -> None:
    """Draw all sizes of every piece of SET over one another, with a legend.

    Every size has its own line type, distinct without colour; in a PDF every size is a layer that
    can be shown and printed alone.

    Example: plotout nest samples/beekeepers-smock/set.toml --machine copy-shop --out nests
    """
    from plotout import job, output
    from plotout.errors import UserError, nearest
    from plotout.finish.nest import nests
    from plotout.report import pages_report

    drawn = job.read_set(set_file)
    known = drawn.sizes or (drawn.size,)
    for size in sizes:
        job.read_set(set_file, size)  # lists the sizes if this is not one of them
    chosen = [size for size in known if size in sizes or not sizes]
    sets = {size: job.read_set(set_file, size) for size in chosen}
    cards = nests(sets, drawn.size if drawn.size in sets else chosen[0])
    names = [card.piece for card in cards]
    for wanted in pieces:
        if wanted not in names:
            raise UserError(f"there is no piece '{wanted}'", fix=nearest(wanted, names))
    kept = tuple(card for card in cards if card.piece in pieces or not pieces)
    profile = job.load_machine(machine)
    request = job.Request(
        job.Finished(replace(drawn, size=", ".join(chosen)), kept),
        profile,
        seconds=seconds,
        pictures=True,
        name=f"nest-{profile.name}",
    )
    with progress(not as_json) as tell:
        made = job.plan(request, tell)
        output.write(made, folder, tell, force=force)
    files = [str(folder / name) for result in made.results for name in result.files]
    pages = [pages_report(result.tiled) for result in made.results if result.tiled]
    if as_json:
        report = {"set": drawn.name, "sizes": chosen, "files": files, "pages": pages}
        print_json(report | {"warnings": list(made.warnings)})
        return
    click.echo("\n".join(files))
    for each in pages:
        click.echo(pages_told(each))
    for text in made.warnings:
        click.echo(f"Note: {text}")
