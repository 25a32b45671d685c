"""plotout make: from a set file to files for a machine."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from plotout.cli.fitting import as_data, as_lines, fit_options
from plotout.cli.progress import progress

if TYPE_CHECKING:
    from plotout.geometry.strokes import FloatArray
    from plotout.job import Made
    from plotout.layout import EarlierLay
    from plotout.layout.registration.fit import Fit


@click.command()
@click.argument("set_file", metavar="SET", type=click.Path(path_type=Path))
@click.option("--machine", required=True, help="A machine's name, or the path of its profile.")
@click.option(
    "--out", "folder", type=click.Path(path_type=Path), required=True, help="Folder for the files."
)
@click.option("--stock", "stock_file", type=click.Path(path_type=Path), help="What card you have.")
@click.option("--seconds", default=10.0, show_default=True, help="Time for laying the cards.")
@click.option("--card", "only", multiple=True, help="Make only this card (may be repeated).")
@click.option(
    "--work",
    "works",
    multiple=True,
    type=click.Choice(["draw", "score", "punch", "cut"]),
    help="Do only this work (may be repeated).",
)
@click.option(
    "--lay",
    "lay_file",
    type=click.Path(path_type=Path),
    help="Lay the cards where they lay before, by the file ending in -lay.json.",
)
@click.option("--sheet", type=int, help="Of that lay make only the sheet of this number.")
@click.option(
    "--found",
    "marks_file",
    type=click.Path(path_type=Path),
    help="Where the marks of that sheet lie on the machine; work goes through their fit.",
)
@click.option("--turned-over", is_flag=True, help="That sheet lies face down.")
@fit_options
@click.option("--json", "as_json", is_flag=True, help="Report as one JSON object.")
def make(
    set_file: Path,
    machine: str,
    folder: Path,
    stock_file: Path | None,
    seconds: float,
    only: tuple[str, ...],
    works: tuple[str, ...],
    lay_file: Path | None,
    sheet: int | None,
    marks_file: Path | None,
    turned_over: bool,
    allow: str,
    limit: str,
    as_json: bool,
) -> None:
    """Make every card of SET and write a file and a picture for each sheet.

    Example: plotout make samples/beekeepers-smock/set.toml --machine craft-cutter --out out

    Print, then cut: plotout make set.toml --machine gantry-knife --out out --work cut
    --lay out/bk-01-gantry-knife-lay.json --sheet 1 --found marks.csv
    """
    from plotout import job, layout, output
    from plotout.geometry.strokes import Work
    from plotout.layout.registration.fit import Allow, fit_marks
    from plotout.layout.registration.mark_file import load_marks
    from plotout.machine import caution
    from plotout.report import report
    from plotout.units import length

    profile = job.load_machine(machine)
    stock = layout.load_stock(stock_file) if stock_file else None
    names, meant, found = load_marks(marks_file) if marks_file else ((), None, None)
    fit = None
    if meant is not None and found is not None:
        there = meant * [-1.0, 1.0] if turned_over else meant
        fit = fit_marks(there, found, allow=Allow(allow), limit=length(limit), names=names)
    request = job.Request(
        set_file,
        profile,
        stock=stock,
        seconds=seconds,
        cards=only,
        works=tuple(Work(each) for each in works),
        earlier=_earlier(lay_file, sheet, meant, fit, turned_over),
        kept_in=folder,
        pictures=True,
    )
    with progress(not as_json) as tell:
        made = job.plan(request, tell)
        output.write(made, folder, tell)
    told = report(made)
    if as_json:
        fitted = {"registration": as_data(fit, names)} if fit else {}
        click.echo(json.dumps(told | fitted, indent=1, ensure_ascii=False))
        return
    for line in as_lines(fit, names) if fit else ():
        click.echo(line)
    _tell(told, made, folder)
    for text in caution(profile):
        click.echo(f"Caution: {text}")


def _earlier(
    lay_file: Path | None,
    sheet: int | None,
    meant: FloatArray | None,
    fit: Fit | None,
    turned_over: bool,
) -> EarlierLay | None:
    """Return the earlier lay that is to be taken up. Raises UserError for what needs one."""
    from plotout.errors import UserError
    from plotout.layout import EarlierLay, load_lay
    from plotout.layout.registration.registered import mirrored

    if turned_over and fit is None:
        raise UserError(
            "a sheet that is turned over must be found by its marks", fix="Add --found FILE."
        )
    if lay_file is None:
        if sheet is not None or fit is not None:
            raise UserError(
                "a sheet can be taken up only by the lay that was kept of it",
                fix="Add --lay FILE, ending in -lay.json, that 'plotout make' wrote before.",
            )
        return None
    lay = load_lay(lay_file)
    if fit is None or meant is None:
        return EarlierLay(lay, sheet)
    if sheet is None and len(lay.sheets) > 1:
        raise UserError(
            f"the lay has {len(lay.sheets)} sheets, and marks are those of one",
            fix="Say which: --sheet 1",
        )
    kept = lay.sheets[0] if sheet is None else lay.numbered(sheet)
    kept.must_bear(meant)
    matrix = mirrored(fit.matrix) if turned_over else fit.matrix
    return EarlierLay(lay, kept.number, matrix)


def _tell(report: dict[str, Any], made: Made, folder: Path) -> None:
    cards, sheets = _counted(len(made.cards), "card"), _counted(len(made.results), "sheet")
    click.echo(f"{report['set']}: {cards} on {sheets} for {made.machine.title}")
    for sheet in report["sheets"]:
        saved = sheet["travel_as_read_mm"] - sheet["travel_mm"]
        share = 100.0 * saved / sheet["travel_as_read_mm"] if sheet["travel_as_read_mm"] else 0.0
        minutes, seconds = divmod(round(sheet["seconds"]), 60)
        click.echo(
            f"  {folder / sheet['file']}  {sheet['width_mm']:.0f} x {sheet['height_mm']:.0f} mm, "
            f"{_counted(len(sheet['cards']), 'card')}, {sheet['strokes']} strokes, "
            f"{sheet['work_mm'] / 1000:.1f} m of work, {sheet['travel_mm'] / 1000:.1f} m of travel "
            f"({share:.0f} % less than as read), {minutes} min {seconds:02d} s"
        )
        for name in sheet["files"][1:]:
            click.echo(f"  {folder / name}")
    click.echo(f"{report['use_percent']:.0f} % of the stock is card.")
    _keep_left(report, made, folder)
    for text in report["warnings"]:
        click.echo(f"Note: {text}")


def _counted(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def _keep_left(report: dict[str, Any], made: Made, folder: Path) -> None:
    """Write what is left over as a stock file, and say so in a line."""
    from plotout.files import write_whole

    left = [sheet["left_over"] for sheet in report["sheets"] if sheet["left_over"]]
    if not left:
        return
    path = folder / f"{made.results[0].name.rpartition('-sheet-')[0]}-left-over.toml"
    write_whole(path, "\n".join(each["stock"] for each in left).encode())
    area = sum(each["area_mm2"] for each in left) / 100.0
    click.echo(f"{_counted(len(left), 'off-cut')} left over, {area:.0f} cm2, for --stock: {path}")
