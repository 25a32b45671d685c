"""plotout page: the proof page of a set for a machine."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import (
    FORCE,
    JSON,
    SET_FILE,
    STOCK,
    file_option,
    machine_option,
    seconds_option,
)
from plotout.cli.progress import progress
from plotout.errors import counted

if TYPE_CHECKING:
    from plotout.job import Request
    from plotout.model import Card
    from plotout.pattern.model import PatternSet

_EDGE = 80.0  # mm about a nest on its page


@click.command()
@SET_FILE
@machine_option()
@file_option("The HTML file.", ".html", ".htm")
@STOCK
@seconds_option(10.0)
@click.option("--size", default="", help="The size that is made; the drawn one if left out.")
@click.option("--nest", is_flag=True, help="Also show every piece in all sizes, to step through.")
@FORCE
@JSON
def page(
    set_file: Path,
    machine: str,
    target: Path,
    stock_file: Path | None,
    seconds: float,
    size: str,
    nest: bool,
    force: bool,
    as_json: bool,
) -> None:
    """Write one HTML file that shows every sheet of SET, its cards and the tool's path.

    It needs no network and opens in any recent browser.

    Example: plotout page samples/beekeepers-smock/set.toml --machine craft-cutter --out proof.html
    """
    from plotout import job, layout
    from plotout.finish.nest import nests
    from plotout.finishing import Told
    from plotout.manifest import check_file, write_file
    from plotout.proof import page as proof_page

    profile = job.load_machine(machine)
    stock = layout.load_stock(stock_file) if stock_file else None
    with progress(not as_json) as advance:
        whole = job.open_set(set_file, partial(job.load_for, profile))
        sizes = whole.named([size] if size else [])
        head = whole.set_file.head
        stem = job.stem_by(head.name, head.style, sizes[0], whole.sizes)
        what = {"what": "proof page", "set": stem, "machine": profile.name}
        check_file(target, what, force=force)
        request = job.Request(whole, profile, sizes=sizes, stock=stock, seconds=seconds)
        made = job.plan(request, advance)
        leaves = [
            proof_page.Leaf(result.sheet, result.program, result.file) for result in made.results
        ]
        if nest:
            sets = whole.in_sizes(whole.sizes or sizes)
            pages = [_own_page(made.pattern_set, card) for card in nests(sets, whole.base)]
            drawn = [
                one for page_made in job.plan_each(pages, advance) for one in page_made.results
            ]
            leaves += [proof_page.Leaf(one.sheet, one.program, "") for one in drawn]
        text = proof_page.page(made.pattern_set, profile, made.cards, leaves, made.warnings)
    data, nested = text.encode(), len(leaves) - len(made.results)
    write_file(target, data, what, force=force)
    if as_json:
        report = {"file": str(target), "bytes": len(data), "sheets": len(made.results)}
        report |= {"nests": nested, "cards": len(made.cards)}
        print_json(report | {"notes": list(made.warnings), "faults": list(made.faults)})
    else:
        more = f" and {counted(nested, 'nest')}" if nested else ""
        click.echo(
            f"{target}: {counted(len(made.cards), 'card')} on "
            f"{counted(len(made.results), 'sheet')}{more}, {counted(len(data), 'byte')}"
        )
        for line in Told(made.faults, made.warnings).as_lines():
            click.echo(line)


def _own_page(pattern_set: PatternSet, card: Card) -> Request:
    """Return what has a card drawn on a page of its own, as it hangs."""
    from plotout import job
    from plotout.geometry.polyline import bounds

    left, bottom, right, top = bounds(card.outline)
    printer = job.printer_around(right - left + _EDGE, top - bottom + _EDGE)
    finished = job.Finished(pattern_set, (card,))
    return job.Request(finished, printer, seconds=0.0, name=f"nest-{card.id}")
