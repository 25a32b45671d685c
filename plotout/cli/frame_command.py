"""plotout frame: strips of coded marks to photograph a pricked sheet with."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import FORCE, JSON, folder_option, machine_option

if TYPE_CHECKING:
    from plotout.machine import Machine
    from plotout.model import Card, Sheet
    from plotout.sheet_job import SheetResult

MARGIN = 6.0  # mm that a home printer can't reach
GAP = 4.0  # mm between strips


@click.command()
@click.option("--strips", default=8, show_default=True, help="Number of strips.")
@click.option("--first", default=1, show_default=True, help="The first strip's number.")
@click.option("--page", default="A4", show_default=True, help="A4, Letter, or 297 mm x 420 mm.")
@machine_option("Have this machine draw the strips and cut them out of card.", required=False)
@folder_option()
@FORCE
@JSON
def frame(
    strips: int,
    first: int,
    page: str,
    machine: str | None,
    folder: Path,
    force: bool,
    as_json: bool,
) -> None:
    """Make strips of coded marks to lay around a pricked sheet before it is photographed.

    They are PDF pages, or with --machine files for that machine, and a picture of every page.
    Print them at full size ("actual size", not "fit"), cut them apart, and measure one from cross
    to cross: 240 mm. Lay at least four, one or more per side, flat, in any place and at any angle.

    Example: plotout frame --out frame
    """
    from plotout import job, output, plugins
    from plotout.errors import UserError, counted
    from plotout.machine import caution
    from plotout.manifest import Job

    if strips < 1:
        raise UserError(f"{counted(strips, 'strip')}: too few", fix="Make four or more.")
    finder = plugins.pricks_finder()
    cards = finder.strips(range(first, first + strips))
    cutter = job.load_machine(machine) if machine else None
    made = _cut(cards, cutter) if cutter else _printed(cards, page)
    strips_job = Job("strips", {"what": f"strips {first} to {first + strips - 1}"})
    notes = output.write_sheets(made, folder, strips_job, force=force)
    files = [str(folder / sheet.file) for sheet in made]
    cautions = list(caution(cutter)) if cutter else []
    if as_json:
        numbers = list(range(first, first + strips))
        report = {"files": files, "strips": numbers, "notes": list(notes)}
        print_json(report | {"cautions": cautions})
        return
    for name in files:
        click.echo(name)
    how = (
        "Draw and cut them, and measure"
        if machine
        else "Print the PDF files at full size; the .svg and .png files are only to look at.\n"
        "Cut the strips apart, and measure"
    )
    click.echo(
        f"{how} one from cross to cross: 240 mm.\n"
        "Once they are laid out, also measure one long distance from cross to cross, and "
        'enter it:\n  plotout pricks PHOTO --measured "1 left - 4 right = 812.5 mm"'
    )
    if machine:
        click.echo(
            "Strips of card lie higher than paper: lay the same card under the pricked sheet, or "
            'enter\ntheir thickness: plotout pricks PHOTO --thickness "0.7 mm"'
        )
    for text in notes:
        click.echo(f"Note: {text}")
    for text in cautions:
        click.echo(f"Caution: {text}")


def _printed(cards: tuple[Card, ...], page: str) -> list[SheetResult]:
    from plotout.errors import UserError
    from plotout.layout.paper.pages import page_size
    from plotout.sheet_job import make_sheet, with_pictures

    height, width = page_size(page)  # on its side: a strip is long
    try:
        printer, sheets = _stacked(cards, width, height, "left")
    except UserError:  # too short for a strip and the page's own words beside it
        printer, sheets = _stacked(cards, width, height, "foot")
    return [with_pictures(make_sheet(sheet, printer, "frame")) for sheet in sheets]


def _stacked(
    cards: tuple[Card, ...], width: float, height: float, band: str
) -> tuple[Machine, tuple[Sheet, ...]]:
    from plotout import job
    from plotout.layout.paper.stacked import stacked

    title = f"a page of {width:g} x {height:g} mm"
    printer = replace(job.printer(width, height, band), title=title)
    left, bottom, right, top = (max(side, MARGIN) for side in printer.bed.margins)
    margins = (left, bottom, right, top)
    sheets = stacked(cards, (width, height), margins=margins, gap=GAP)
    return printer, tuple(replace(sheet, name="Strips of coded marks") for sheet in sheets)


def _cut(cards: tuple[Card, ...], machine: Machine) -> list[SheetResult]:
    from plotout import job
    from plotout.errors import UserError
    from plotout.pattern.model import PatternSet

    if machine.kind == "printer":
        raise UserError(
            f"'{machine.name}' is a printer: strips are printed as pages, without being split",
            fix="Leave out --machine and name the paper with --page.",
        )
    frame_set = PatternSet(name="Frame", style="frame", size="", date="", pieces=())
    finished = job.Finished(frame_set, cards)
    request = job.Request(finished, machine, seconds=2.0, for_files=True)
    return list(job.plan(request).results)
