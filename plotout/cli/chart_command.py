"""plotout chart: paper that goes with a set."""

from __future__ import annotations

from pathlib import Path

import click


@click.command()
@click.argument("set_file", metavar="SET", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path), required=True, help="Folder.")
@click.option("--page", type=click.Choice(["A4", "A3", "Letter"]), default="A4", show_default=True)
@click.option("--machine", help="Make the chart as a card for the hook on this machine, too.")
def chart(set_file: Path, out: Path, page: str, machine: str | None) -> None:
    """Print the pattern chart and the cutter's must of SET as PDF pages.

    Example: plotout chart samples/beekeepers-smock/set.toml --out out
    """
    from plotout import job, output
    from plotout.finish import finish
    from plotout.finish.derive import cut_pieces
    from plotout.rack import chart as paper
    from plotout.sheet_job import make_sheet, with_pictures

    pattern_set = job.read_set(set_file)
    pieces, cards = cut_pieces(pattern_set), finish(pattern_set)
    printer = job.printer(*paper.PAGES[page])
    sheets = [("chart", paper.chart(pattern_set, pieces, cards, paper.PAGES[page]))]
    sheets += [("must", sheet) for sheet in paper.must(pattern_set, pieces, paper.PAGES[page])]
    stem = job.stem_of(pattern_set)
    made = [with_pictures(make_sheet(sheet, printer, f"{stem}-{name}")) for name, sheet in sheets]
    if machine:
        cutter = job.load_machine(machine)
        card = paper.chart_card(pattern_set, pieces, cards, (200.0, 280.0))
        finished = job.Finished(pattern_set, (card,))
        request = job.Request(finished, cutter, name="chart-card", pictures=True)
        made += job.plan(request).results
    for each in made:
        output.write_sheet(each, out)
        click.echo(str(out / each.file))
