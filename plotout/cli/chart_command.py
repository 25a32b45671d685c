"""plotout chart: the papers that go with a set."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import FORCE, JSON, SET_FILE, folder_option, machine_option

if TYPE_CHECKING:
    from plotout.machine import Machine
    from plotout.pattern.model import PatternSet
    from plotout.sheet_job import SheetResult


@click.command()
@SET_FILE
@folder_option()
@click.option("--page", default="A4", show_default=True, help="Paper size, such as A3 or letter.")
@click.option("--size", "sizes", multiple=True, help="Of this size (repeatable), or 'all'.")
@machine_option("Also make the chart as a card for the hook on this machine.", required=False)
@FORCE
@JSON
def chart(
    set_file: Path,
    folder: Path,
    page: str,
    sizes: tuple[str, ...],
    machine: str | None,
    force: bool,
    as_json: bool,
) -> None:
    """Print the pattern chart and the cutter's must of SET as PDF pages.

    Every size has its own. Of several sizes a chart of all of them is printed, too.

    Example: plotout chart samples/beekeepers-smock/set.toml --out out
    """
    from plotout import job, output

    whole = job.open_set(set_file)
    cutter = job.load_machine(machine) if machine else None
    sets = [whole.in_size(size) for size in whole.named(sizes)]
    made = [(pattern_set, _papers(pattern_set, page, cutter)) for pattern_set in sets]
    if len(sets) > 1:
        base = next((one for one in sets if one.size == whole.base), sets[0])
        every = replace(base, size=", ".join(one.size for one in sets))
        made.append((every, _chart_of_all(every, base, sets, page)))
    files = []
    for pattern_set, papers in made:
        stem = job.stem_of(pattern_set)
        output.write_sheets(papers, folder, f"{stem}-chart", f"chart of {stem}", force=force)
        files += [str(folder / paper.file) for paper in papers]
    if as_json:
        print_json({"set": sets[0].name, "files": files})
    else:
        click.echo("\n".join(files))


def _papers(pattern_set: PatternSet, page: str, cutter: Machine | None) -> list[SheetResult]:
    """Return a size's chart and must, and its chart as cards for the hook."""
    from plotout import job
    from plotout.finish import finish
    from plotout.finish.derive import cut_pieces
    from plotout.layout.paper.pages import page_size
    from plotout.rack.chart import chart, chart_cards
    from plotout.rack.must import must
    from plotout.sheet_job import make_sheet, with_pictures

    size = page_size(page)
    pieces, cards = cut_pieces(pattern_set), finish(pattern_set)
    printer = job.printer(*size, band="foot")
    foot = printer.bed.margins[1]
    sheets = [("chart", sheet) for sheet in chart(pattern_set, pieces, cards, size, foot)]
    sheets += [("must", sheet) for sheet in must(pattern_set, pieces, size, foot)]
    stem = job.stem_of(pattern_set)
    made = [with_pictures(make_sheet(sheet, printer, f"{stem}-{name}")) for name, sheet in sheets]
    if cutter is not None:
        hung = chart_cards(pattern_set, pieces, cards, (200.0, 280.0))
        finished = job.Finished(pattern_set, tuple(hung))
        request = job.Request(finished, cutter, name="chart-card", pictures=True)
        made += job.plan(request).results
    return made


def _chart_of_all(
    every: PatternSet, base: PatternSet, sets: Sequence[PatternSet], page: str
) -> list[SheetResult]:
    """Return one chart with every piece in all sizes over one another. every: named after all."""
    from plotout import job
    from plotout.finish import finish
    from plotout.finish.derive import cut_pieces
    from plotout.layout.paper.pages import page_size
    from plotout.rack.chart import chart
    from plotout.sheet_job import make_sheet, with_pictures

    size = page_size(page)
    printer = job.printer(*size, band="foot")
    by_size = {one.size: cut_pieces(one) for one in sets}
    sheets = chart(
        base, by_size[base.size], finish(base), size, printer.bed.margins[1], sizes=by_size
    )
    stem = job.stem_of(every)
    return [with_pictures(make_sheet(sheet, printer, f"{stem}-chart")) for sheet in sheets]
