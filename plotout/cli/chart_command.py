"""plotout chart: the papers that go with a set."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import FORCE, JSON, SET_FILE, folder_option, machine_option
from plotout.cli.progress import progress

if TYPE_CHECKING:
    from plotout.machine import Machine
    from plotout.manifest import Job
    from plotout.model import Card
    from plotout.pattern.model import PatternSet, Piece
    from plotout.sheet_job import SheetResult


@click.command()
@SET_FILE
@folder_option()
@click.option("--page", default="A4", show_default=True, help="Paper size, such as A3 or letter.")
@click.option("--size", "sizes", multiple=True, help="Print this size (repeatable), or 'all'.")
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

    Every size gets its own papers; several sizes also get one chart of all of them. The set's
    faults and notes are reported as by 'plotout check'.

    Example: plotout chart samples/beekeepers-smock/set.toml --out out
    """
    from plotout import job, output, parallel
    from plotout.finishing import reviewed

    whole = job.open_set(set_file)
    cutter = job.load_machine(machine) if machine else None
    sets = list(whole.in_sizes(whole.named(sizes)).values())
    with progress(not as_json) as advance:
        wrong = reviewed(sets, advance)
        finished = []
        for one in parallel.results(_finished, sets):
            finished.append(one)
            advance("finishing cards", len(finished) / len(sets), len(sets))
        made = []
        for one in finished:
            named = _job(one.pattern_set, folder)
            made.append((named, _papers(one, page, cutter, named)))
            advance("drawing", len(made) / len(sets), len(sets))
        if len(sets) > 1:
            base = next((done for done in finished if done.pattern_set.size == whole.base),
                        finished[0])  # fmt: skip
            every = replace(base.pattern_set, size=", ".join(in_size.size for in_size in sets))
            named = _job(every, folder)
            made.append((named, _chart_of_all(named, base, finished, page)))
    files: list[str] = []
    notes: list[str] = []
    for named, papers in made:
        notes += output.write_sheets(papers, folder, named.listed, force=force)
        files += [str(folder / paper.file) for paper in papers]
    if as_json:
        found = wrong.as_data()
        print_json({"set": sets[0].name, "files": files, **found, "notes": notes + found["notes"]})
    else:
        lines = [f"Note: {text}" for text in notes]
        click.echo("\n".join([*files, *lines, *wrong.as_lines()]))


@dataclass(frozen=True, slots=True)
class _Named:
    """A chart's job, and what follows the name of the set in the names of its files, if anything.

    stem: of the set's files.
    """

    listed: Job
    stem: str
    apart: str


def _job(pattern_set: PatternSet, folder: Path) -> _Named:
    """Return the job of a set's chart, with names that no other set's has in the folder."""
    from plotout import job
    from plotout.manifest import Job, own_stem

    what = {"what": "chart", "set": pattern_set.name, "style": pattern_set.style,
            "size": pattern_set.size}  # fmt: skip
    stem = job.stem_of(pattern_set)
    listed = Job(f"{stem}-chart", what)
    return _Named(listed, stem, own_stem(folder, listed).removeprefix(listed.stem))


@dataclass(frozen=True, slots=True)
class _Finished:
    """A set in one size: the pieces that are cut, with the derived ones, and its cards."""

    pattern_set: PatternSet
    pieces: Sequence[Piece]
    cards: Sequence[Card]


def _finished(pattern_set: PatternSet) -> _Finished:
    from plotout.errors import in_context
    from plotout.finish import finish
    from plotout.finish.derive import cut_pieces

    with in_context(f"in size {pattern_set.size}" if pattern_set.sizes else ""):
        return _Finished(pattern_set, cut_pieces(pattern_set), finish(pattern_set))


def _papers(
    finished: _Finished, page: str, cutter: Machine | None, named: _Named
) -> list[SheetResult]:
    """Return a size's chart and must, and its chart as cards for the hook."""
    from plotout import job
    from plotout.layout.paper.pages import page_size
    from plotout.rack.chart import chart, chart_cards
    from plotout.rack.must import must
    from plotout.sheet_job import make_sheet, with_pictures

    size = page_size(page)
    pattern_set, pieces, cards = finished.pattern_set, finished.pieces, finished.cards
    printer = job.printer(*size, band="foot")
    foot = printer.bed.margins[1]
    sheets = [("chart", sheet) for sheet in chart(pattern_set, pieces, cards, size, foot)]
    sheets += [("must", sheet) for sheet in must(pattern_set, pieces, size, foot)]
    stem = named.stem + named.apart
    made = [with_pictures(make_sheet(sheet, printer, f"{stem}-{name}")) for name, sheet in sheets]
    if cutter is not None:
        hung = chart_cards(pattern_set, pieces, cards, (200.0, 280.0))
        chart_set = job.Finished(pattern_set, tuple(hung))
        request = job.Request(chart_set, cutter, name=f"chart-card{named.apart}", for_files=True)
        made += job.plan(request).results
    return made


def _chart_of_all(
    named: _Named, base: _Finished, finished: Sequence[_Finished], page: str
) -> list[SheetResult]:
    """Return one chart with every piece in all sizes over one another. named: after all."""
    from plotout import job
    from plotout.layout.paper.pages import page_size
    from plotout.rack.chart import chart
    from plotout.sheet_job import make_sheet, with_pictures

    size = page_size(page)
    printer = job.printer(*size, band="foot")
    foot = printer.bed.margins[1]
    by_size = {one.pattern_set.size: one.pieces for one in finished}
    sheets = chart(base.pattern_set, base.pieces, base.cards, size, foot, sizes=by_size)
    stem = named.stem + named.apart
    return [with_pictures(make_sheet(sheet, printer, f"{stem}-chart")) for sheet in sheets]
