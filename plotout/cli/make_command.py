"""plotout make: turn a set file into files for a machine."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from plotout.cli.fitting import FittedMarks, fitted
from plotout.cli.json_output import print_json
from plotout.cli.options import (
    CARDS,
    EARLIER,
    FIT,
    FORCE,
    JSON,
    SET_FILE,
    STOCK,
    EarlierOptions,
    FitOptions,
    folder_option,
    machine_option,
    seconds_option,
)
from plotout.cli.pages import pages_in_words
from plotout.cli.progress import progress, time_words
from plotout.errors import counted

if TYPE_CHECKING:
    from plotout.job import Made
    from plotout.layout import EarlierLay


@click.command()
@SET_FILE
@machine_option()
@folder_option()
@STOCK
@seconds_option(10.0)
@click.option("--size", "sizes", multiple=True, help="Make this size (repeatable), or 'all'.")
@click.option("--together", is_flag=True, help="Lay all the chosen sizes together on the stock.")
@CARDS
@click.option(
    "--work",
    "works",
    multiple=True,
    type=click.Choice(["draw", "score", "punch", "cut"]),
    help="Do only this work (repeatable).",
)
@click.option("--strict", is_flag=True, help="Make nothing if the set has a fault.")
@click.option("--travel", is_flag=True, help="Draw travel and strokes' numbers in the pictures.")
@click.option(
    "--ascii-names",
    is_flag=True,
    help="File names in the letters a to z, for a machine that shows no others.",
)
@EARLIER
@FIT
@FORCE
@JSON
def make(
    set_file: Path,
    machine: str,
    folder: Path,
    stock_file: Path | None,
    seconds: float,
    sizes: tuple[str, ...],
    together: bool,
    cards: tuple[str, ...],
    works: tuple[str, ...],
    strict: bool,
    travel: bool,
    ascii_names: bool,
    earlier: EarlierOptions,
    fitting: FitOptions,
    force: bool,
    as_json: bool,
) -> None:
    """Make every card of SET and write a file and a picture for each sheet.

    Seams are walked as by 'plotout check'; mismatches are reported as faults.

    Example: plotout make samples/beekeepers-smock/set.toml --machine craft-cutter --out out

    Three sizes on one stock: plotout make set.toml --machine laser --out out --size S --size M
    --size L --together

    Print, then cut: plotout make set.toml --machine gantry-knife --out out --work cut
    --lay out/beekeepers-smock-bk-01-m-gantry-knife-lay.json --sheet 1 --found marks.csv
    """
    from plotout import job, layout, output
    from plotout.geometry.strokes import Work
    from plotout.machine import caution
    from plotout.report import report

    profile = job.load_machine(machine)
    marks = None
    if earlier.marks_file:
        marks = fitted(earlier.marks_file, fitting, turned_over=earlier.turned_over)
    read = job.open_set(set_file, partial(job.load_for, profile))
    request = job.Request(
        read,
        profile,
        stock=layout.load_stock(stock_file) if stock_file else None,
        seconds=seconds,
        cards=cards,
        works=tuple(Work(work) for work in works),
        earlier=_earlier(earlier, marks),
        folder=folder,
        for_files=True,
        travel=travel,
        ascii_names=ascii_names,
        strict=strict,
    )
    named = read.named(sizes)
    if together:
        asked = [replace(request, sizes=named)]
    else:  # read here, so that what is wrong in any size is reported, not only in the first
        asked = [replace(request, source=one) for one in read.in_sizes(named).values()]
    reports: list[dict[str, Any]] = []
    lines: list[str] = []
    with progress(not as_json) as advance:
        for made in job.plan_each(asked, advance):
            kept = output.write(made, folder, advance, force=force)
            reports.append(report(made) | {"earlier_files": list(kept)})
            lines += _lines(reports[-1], made, folder)
    if as_json:
        fit = {"registration": marks.as_data()} if marks else {}
        print_json(reports[0] | fit if len(reports) == 1 else {"sizes": reports} | fit)
        return
    for line in (*(marks.as_lines() if marks else ()), *lines):
        click.echo(line)
    for text in caution(profile):
        click.echo(f"Caution: {text}")


def _earlier(asked: EarlierOptions, marks: FittedMarks | None) -> EarlierLay | None:
    """Return the earlier lay to reuse. Raises UserError for an option that needs one."""
    from plotout.errors import UserError
    from plotout.layout import EarlierLay, load_lay
    from plotout.layout.registration.registered import mirrored

    if asked.turned_over and marks is None:
        raise UserError(
            "a sheet that is turned over must be located by its marks", fix="Add --found FILE."
        )
    if asked.lay_file is None:
        if asked.sheet is not None or marks is not None:
            raise UserError(
                "only a sheet of an earlier lay can be chosen",
                fix="Add --lay FILE: the -lay.json file that 'plotout make' wrote.",
            )
        return None
    lay = load_lay(asked.lay_file)
    if marks is None:
        return EarlierLay(lay, asked.sheet)
    if asked.sheet is None and len(lay.sheets) > 1:
        raise UserError(
            f"the lay has {len(lay.sheets)} sheets, but the marks belong to one",
            fix="Name the sheet: --sheet 1",
        )
    kept = lay.sheets[0] if asked.sheet is None else lay.numbered(asked.sheet)
    kept.must_bear(marks.meant)
    matrix = mirrored(marks.fit.matrix) if asked.turned_over else marks.fit.matrix
    return EarlierLay(lay, kept.number, matrix)


def _lines(report: dict[str, Any], made: Made, folder: Path) -> Iterator[str]:
    """Give what was made, in lines."""
    cards, sheets = counted(len(made.cards), "card"), counted(len(made.results), "sheet")
    size = f", size {made.pattern_set.size}" if made.pattern_set.sizes else ""
    yield f"{report['set']}{size}: {cards} on {sheets} for {made.machine.title}"
    for sheet in report["sheets"]:
        frames = f", in {len(sheet['files'])} frames" if len(sheet["files"]) > 1 else ""
        yield (
            f"  {folder / sheet['file']}  {sheet['width_mm']:.0f} x {sheet['height_mm']:.0f} mm, "
            f"{counted(len(sheet['cards']), 'card')}, {counted(sheet['strokes'], 'stroke')}, "
            f"{sheet['work_mm'] / 1000:.1f} m of work, {sheet['travel_mm'] / 1000:.1f} m of travel "
            f"({_saved(sheet)}), {time_words(sheet['seconds'])}{frames}"
        )
        yield from (f"  {folder / name}" for name in sheet["files"][1:])
        if "pages" in sheet:
            yield f"    {pages_in_words(sheet['pages'])}"
    yield f"{report['use_percent']:.0f} % of the stock is card."
    yield from _left(report, made, folder)
    yield from (f"Note: {text}" for text in report["notes"])
    yield from (f"Fault: {text}" for text in report["faults"])
    yield from (f"Note: {text}" for text in report["earlier_files"])


def _saved(sheet: dict[str, Any]) -> str:
    """Return in words how the travel compares with that in the order of the drawings."""
    travel, as_read = sheet["travel_mm"], sheet["travel_as_read_mm"]
    share = 100.0 * (travel - as_read) / as_read if as_read else 0.0
    return f"{abs(share):.0f} % {'more' if round(share) > 0 else 'less'} than as read"


def _left(report: dict[str, Any], made: Made, folder: Path) -> Iterator[str]:
    """Say in a line which stock file holds what is left over."""
    from plotout.output import off_cuts_file

    left = [sheet["left_over"] for sheet in report["sheets"] if sheet["left_over"]]
    if left:
        path = folder / off_cuts_file(made)
        area = sum(off_cut["area_mm2"] for off_cut in left) / 100.0
        yield f"{counted(len(left), 'off-cut')} left over, {area:.0f} cm2, for --stock: {path}"
