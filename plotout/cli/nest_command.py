"""plotout nest: all sizes of a piece, drawn over one another."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from plotout.cli import completion
from plotout.cli.json_output import print_json
from plotout.cli.options import (
    FORCE,
    JSON,
    SET_FILE,
    folder_option,
    machine_option,
    seconds_option,
)
from plotout.cli.pages import pages_in_words
from plotout.cli.progress import progress

if TYPE_CHECKING:
    from collections.abc import Sequence

    from plotout.machine import Machine
    from plotout.model import Card


@click.command()
@SET_FILE
@machine_option("What draws the nest: a roll plotter, a printer, a file.")
@folder_option()
@click.option("--size", "sizes", multiple=True, help="Draw this size (repeatable); all by default.")
@click.option(
    "--piece",
    "pieces",
    multiple=True,
    shell_complete=completion.pieces,
    help="Draw this piece (repeatable); all by default.",
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

    whole = job.open_set(set_file)
    asked = whole.named(sizes or ("all",))
    chosen = [size for size in whole.sizes or asked if size in asked]
    sets = whole.in_sizes(chosen)
    base = whole.base if whole.base in sets else chosen[0]
    cards = nests(sets, base)
    names = [card.piece for card in cards]
    for wanted in pieces:
        if wanted not in names:
            raise UserError(f"there is no piece '{wanted}'", fix=nearest(wanted, names))
    kept = tuple(card for card in cards if card.piece in pieces or not pieces)
    profile = _roomy(job.load_machine(machine), kept)
    request = job.Request(
        job.Finished(replace(sets[base], size=", ".join(chosen)), kept),
        profile,
        seconds=seconds,
        folder=folder,
        for_files=True,
        name=f"nest-{profile.name}",
    )
    with progress(not as_json) as advance:
        made = job.plan(request, advance)
        output.write(made, folder, advance, force=force)
    files = [str(folder / name) for result in made.results for name in result.files]
    pages = [pages_report(result.tiled) for result in made.results if result.tiled]
    if as_json:
        report = {"set": sets[base].name, "sizes": chosen, "files": files, "pages": pages}
        print_json(report | {"notes": list(made.warnings)})
        return
    click.echo("\n".join(files))
    for page in pages:
        click.echo(pages_in_words(page))
    for text in made.warnings:
        click.echo(f"Note: {text}")


def _roomy(machine: Machine, cards: Sequence[Card]) -> Machine:
    """Return a printer of tiles for a sheet that holds the largest card; others as they are.

    Such a sheet is taped together from pages, and may be of any size.
    """
    import numpy as np

    from plotout import plugins
    from plotout.geometry.polyline import bounds

    if plugins.driver(machine.driver).grids is None:
        return machine
    boxes = np.array([bounds(card.outline) for card in cards])
    sides = np.sort(boxes[:, 2:] - boxes[:, :2])
    left, bottom, right, top = machine.bed.margins
    room = max(left + right, bottom + top) + 1.0
    short, long = (sides.max(axis=0) + room).tolist()
    bed = machine.bed
    return replace(
        machine, bed=replace(bed, length=max(bed.length, long), width=max(bed.width, short))
    )
