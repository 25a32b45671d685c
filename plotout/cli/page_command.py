"""plotout page: the proof page of a set for a machine."""

from __future__ import annotations

from pathlib import Path

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import JSON, SET_FILE, STOCK, file_option, machine_option, seconds_option
from plotout.cli.progress import progress


@click.command()
@SET_FILE
@machine_option()
@file_option("The HTML file.")
@STOCK
@seconds_option(10.0)
@JSON
def page(
    set_file: Path,
    machine: str,
    target: Path,
    stock_file: Path | None,
    seconds: float,
    as_json: bool,
) -> None:
    """Write one HTML file that shows every sheet of SET, its cards and the tool's path.

    It needs no network and opens in any recent browser.

    Example: plotout page samples/beekeepers-smock/set.toml --machine craft-cutter --out proof.html
    """
    from plotout import job, layout
    from plotout.files import write_whole
    from plotout.proof import page as proof_page

    profile = job.load_machine(machine)
    stock = layout.load_stock(stock_file) if stock_file else None
    with progress(not as_json) as tell:
        made = job.plan(job.Request(set_file, profile, stock=stock, seconds=seconds), tell)
        leaves = [
            proof_page.Leaf(result.sheet, result.program, result.file) for result in made.results
        ]
        text = proof_page.page(made.pattern_set, profile, made.cards, leaves, made.warnings)
    data = text.encode()
    write_whole(target, data)
    if as_json:
        report = {"file": str(target), "bytes": len(data), "sheets": len(leaves)}
        print_json(report | {"cards": len(made.cards)})
    else:
        click.echo(f"{target}: {len(made.cards)} cards on {len(leaves)} sheets, {len(data)} bytes")
