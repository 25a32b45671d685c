"""plotout make: from a set file to files for a machine."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from plotout.cli.progress import progress

if TYPE_CHECKING:
    from plotout.job import Made


@click.command()
@click.argument("set_file", metavar="SET", type=click.Path(path_type=Path))
@click.option("--machine", required=True, help="A machine's name, or the path of its profile.")
@click.option(
    "--out", "folder", type=click.Path(path_type=Path), required=True, help="Folder for the files."
)
@click.option("--stock", "stock_file", type=click.Path(path_type=Path), help="What card you have.")
@click.option("--seconds", default=10.0, show_default=True, help="Time for laying the cards.")
@click.option("--card", "only", multiple=True, help="Make only this card (may be repeated).")
@click.option("--json", "as_json", is_flag=True, help="Report as one JSON object.")
def make(
    set_file: Path,
    machine: str,
    folder: Path,
    stock_file: Path | None,
    seconds: float,
    only: tuple[str, ...],
    as_json: bool,
) -> None:
    """Make every card of SET and write a file and a picture for each sheet.

    Example: plotout make samples/beekeepers-smock/set.toml --machine craft-cutter --out out
    """
    from plotout import job, layout
    from plotout.machine import caution

    profile = job.load_machine(machine)
    stock = layout.load_stock(stock_file) if stock_file else None
    with progress(not as_json) as tell:
        pattern_set = job.read_set(set_file)
        made = job.plan(pattern_set, profile, stock=stock, seconds=seconds, only=only, tell=tell)
        job.write(made, folder, tell)
    report = job.report(made)
    if as_json:
        click.echo(json.dumps(report, indent=1, ensure_ascii=False))
        return
    _tell(report, made, folder)
    for text in caution(profile):
        click.echo(f"Caution: {text}")


def _tell(report: dict[str, Any], made: Made, folder: Path) -> None:
    cards = len(made.cards)
    click.echo(
        f"{report['set']}: {cards} cards on {len(made.worked)} sheets for {made.machine.title}"
    )
    for sheet in report["sheets"]:
        saved = sheet["travel_as_read_mm"] - sheet["travel_mm"]
        share = 100.0 * saved / sheet["travel_as_read_mm"] if sheet["travel_as_read_mm"] else 0.0
        minutes, seconds = divmod(round(sheet["seconds"]), 60)
        click.echo(
            f"  {folder / sheet['file']}  {sheet['width_mm']:.0f} x {sheet['height_mm']:.0f} mm, "
            f"{len(sheet['cards'])} cards, {sheet['strokes']} strokes, "
            f"{sheet['work_mm'] / 1000:.1f} m of work, {sheet['travel_mm'] / 1000:.1f} m of travel "
            f"({share:.0f} % less than as read), {minutes} min {seconds:02d} s"
        )
    click.echo(f"{report['use_percent']:.0f} % of the stock is card.")
    for text in report["warnings"]:
        click.echo(f"Note: {text}")
