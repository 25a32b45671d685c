"""plotout rack recut, export, bring: make a set again, here or elsewhere."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import (
    CARDS,
    FORCE,
    JSON,
    MOST_SECONDS,
    PATH,
    SET_ON_RACK,
    Real,
    file_option,
    folder_option,
    machine_option,
)
from plotout.cli.pages import pages_in_words
from plotout.cli.progress import progress
from plotout.cli.rack_shared import now, open_rack, print_put


@click.command()
@SET_ON_RACK
@folder_option()
@machine_option("A machine other than the one recorded.", required=False)
@CARDS
@click.option("--seconds", default=0.0, type=Real(0.0, MOST_SECONDS), show_default=True,
              help="Seconds for a tighter lay; at 0 the files are always the same.")  # fmt: skip
@click.option(
    "--as-cut", is_flag=True, help="Write the very files that were sent, from the set's notes."
)
@FORCE
@JSON
@click.pass_context
def recut(
    ctx: click.Context, ref: str, folder: Path, machine: str | None, cards: tuple[str, ...],
    seconds: float, as_cut: bool, force: bool, as_json: bool,
) -> None:  # fmt: skip
    """Make a set's files again exactly as they were, or those of one card.

    SET can be the text of a card's QR code; then only that card is made.

    Example: plotout rack recut BK-01 --card gusset --out again
    """
    from plotout.errors import MachineError
    from plotout.machine import caution
    from plotout.rack import loans, record, sets
    from plotout.report import pages_report

    with open_rack(ctx) as connection, progress(not as_json) as advance:
        found, card = record.pointed(connection, ref)
        only = (*cards, card) if card else cards
        if as_cut:
            names = _write_as_cut(
                loans.files_cut(connection, found), folder, found.ref, force=force
            )
            _print_files(found.ref, [folder / name for name in names], (), (), as_json)
            return
        made, notes = sets.recut(
            connection, found, folder, machine=machine, only=only, seconds=seconds, force=force,
            progress=advance,
        )  # fmt: skip
    what = ", ".join(only) or "the whole set"
    try:
        with open_rack(ctx) as connection:
            made_now = (now(), made.machine.name, f"files made for {what}")
            loans.note_cutting(connection, found, *made_now)
    except MachineError as fault:  # the files are there; a rack may be only to be read
        notes = (*notes, f"the rack has no note of these files: {fault.problem}")
    files = [folder / name for result in made.results for name in result.files]
    pages = [pages_in_words(pages_report(result.tiled)) for result in made.results if result.tiled]
    warnings = (*notes, *made.warnings)
    _print_files(found.ref, files, warnings, caution(made.machine), as_json, pages)


def _print_files(
    ref: str,
    files: Sequence[Path],
    warnings: Sequence[str],
    cautions: Sequence[str],
    as_json: bool,
    pages: Sequence[str] = (),
) -> None:
    if as_json:
        data = {
            "set": ref,
            "files": [str(file) for file in files],
            "notes": [*pages, *warnings],
            "cautions": list(cautions),
        }
        print_json(data)
        return
    lines = (*map(str, files), *pages, *(f"Note: {text}" for text in warnings))
    for text in (*lines, *(f"Caution: {text}" for text in cautions)):
        click.echo(text)


def _write_as_cut(
    files: dict[str, bytes], folder: Path, ref: str, *, force: bool
) -> tuple[str, ...]:
    from plotout.errors import UserError
    from plotout.files import slug
    from plotout.manifest import Job, write_files

    if not files:
        raise UserError(
            f"no sent file is kept for '{ref}'",
            fix="Leave out --as-cut. After cutting, note it: plotout rack note SET JOURNAL",
        )
    job = Job(f"{slug(ref)}-as-cut", {"what": "files as they were sent", "set": ref})
    write_files(folder, job, files, part=True, force=force)
    return tuple(files)


@click.command(name="export")
@SET_ON_RACK
@file_option("The file to write.")
@FORCE
@JSON
@click.pass_context
def export_set(ctx: click.Context, ref: str, target: Path, force: bool, as_json: bool) -> None:
    """Write a set as one file, for another rack; STYLE:all is the style in all its sizes.

    Example: plotout rack export BK-01 --out smock.zip
    """
    from plotout.manifest import write_file
    from plotout.rack import bundle, record

    with open_rack(ctx) as connection:
        sets = record.all_named(connection, ref)
        data = bundle.export_all(connection, sets)
    names = ", ".join(found.ref for found in sets)
    write_file(target, data, {"what": "export", "set": names}, force=force)
    if as_json:
        refs = [found.ref for found in sets]
        print_json({"file": str(target), "bytes": len(data), "sets": refs})
    else:
        click.echo(f"{target}: {len(data)} bytes, {names}")


@click.command()
@click.argument("file", type=PATH)
@click.option(
    "--newest", is_flag=True, help="Make it the newest version of the same set on this rack."
)
@JSON
@click.pass_context
def bring(ctx: click.Context, file: Path, newest: bool, as_json: bool) -> None:
    """Import a set, or a style in several sizes, that was exported from another rack.

    If a set of its style and size is on the rack already, with other files, nothing is imported
    unless --newest confirms that it is the same set; then its place and machine are taken over,
    too.

    Example: plotout rack bring smock.zip
    """
    from plotout.errors import found_in
    from plotout.files import read_whole
    from plotout.rack import bundle, putting, sets

    data = read_whole(file, "set", bundle.MOST_BYTES)
    with found_in(file):
        entries = bundle.all_brought(data)
    with open_rack(ctx, create=True) as connection:
        with found_in(file):
            entries = [sets.brought_here(connection, e, as_newest=newest) for e in entries]
        print_put(putting.put_all(connection, entries), as_json)
    machines = dict.fromkeys(entry.machine for entry in entries if entry.profile is not None)
    for machine in () if as_json else machines:
        click.echo(f"  '{machine}' is the other workroom's machine: recut with --machine.")
