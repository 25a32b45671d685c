"""plotout chart: the papers that go with a set."""

from __future__ import annotations

from pathlib import Path

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import FORCE, JSON, SET_FILE, folder_option, machine_option


@click.command()
@SET_FILE
@folder_option()
@click.option("--page", default="A4", show_default=True, help="Paper size, such as A3 or letter.")
@machine_option("Also make the chart as a card for the hook on this machine.", required=False)
@FORCE
@JSON
def chart(
    set_file: Path, folder: Path, page: str, machine: str | None, force: bool, as_json: bool
) -> None:
    """Print the pattern chart and the cutter's must of SET as PDF pages.

    Example: plotout chart samples/beekeepers-smock/set.toml --out out
    """
    from plotout import job, output
    from plotout.finish import finish
    from plotout.finish.derive import cut_pieces
    from plotout.layout.paper.pages import page_size
    from plotout.rack.chart import chart as chart_pages
    from plotout.rack.chart import chart_cards
    from plotout.rack.must import must
    from plotout.sheet_job import make_sheet, with_pictures

    size = page_size(page)
    pattern_set = job.read_set(set_file)
    pieces, cards = cut_pieces(pattern_set), finish(pattern_set)
    printer = job.printer(*size, band="foot")
    foot = printer.bed.margins[1]
    sheets = [("chart", sheet) for sheet in chart_pages(pattern_set, pieces, cards, size, foot)]
    sheets += [("must", sheet) for sheet in must(pattern_set, pieces, size, foot)]
    stem = job.stem_of(pattern_set)
    made = [with_pictures(make_sheet(sheet, printer, f"{stem}-{name}")) for name, sheet in sheets]
    if machine:
        cutter = job.load_machine(machine)
        hung = chart_cards(pattern_set, pieces, cards, (200.0, 280.0))
        finished = job.Finished(pattern_set, tuple(hung))
        request = job.Request(finished, cutter, name="chart-card", pictures=True)
        made += job.plan(request).results
    output.write_sheets(made, folder, f"{stem}-chart", f"chart of {stem}", force=force)
    files = [str(folder / sheet.file) for sheet in made]
    if as_json:
        print_json({"set": pattern_set.name, "files": files})
    else:
        click.echo("\n".join(files))
