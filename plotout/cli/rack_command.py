"""plotout rack: the record of sets."""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from plotout.cli.progress import progress

if TYPE_CHECKING:
    import sqlite3

    from plotout.rack.record import Found

JSON = click.option("--json", "as_json", is_flag=True, help="Report as JSON.")


@click.group()
@click.option("--at", type=click.Path(path_type=Path), help="The rack's file, if not the usual.")
@click.pass_context
def rack(ctx: click.Context, at: Path | None) -> None:
    """Sets on their hooks: put them, find them, cut them again.

    A set is named by style, style:size or style:size:version; the newest version if none is said.

    Example: plotout rack put samples/beekeepers-smock/set.toml --place "hook 12"
    """
    ctx.obj = at


@contextmanager
def _open(ctx: click.Context, *, create: bool = False) -> Iterator[sqlite3.Connection]:
    from plotout.rack.store import default_place, opened

    with opened(ctx.obj or default_place(), create=create) as connection:
        yield connection


def _now() -> str:
    return time.strftime("%Y-%m-%d %H:%M:%S")


def _row(found: Found) -> dict[str, Any]:
    fields = ("ref", "name", "date", "put_at", "maker", "place", "stock", "machine", "notes",
              "changes", "who", "since")  # fmt: skip
    return {field: getattr(found, field) for field in fields}


def _tell(found: Iterable[Found], as_json: bool) -> None:
    rows = list(found)
    if as_json:
        click.echo(json.dumps([_row(row) for row in rows], indent=1, ensure_ascii=False))
        return
    for row in rows:
        out = f"; {row.who} has it since {row.since}" if row.who else ""
        place = f"; {row.place}" if row.place else ""
        click.echo(f"{row.ref}  {row.name}{place}{out}")
    if not rows:
        click.echo("None.")


@rack.command()
@click.argument("set_file", metavar="SET", type=click.Path(path_type=Path))
@click.option("--machine", default="", help="The machine that it is cut on.")
@click.option("--place", default="", help="Where it hangs.")
@click.option("--maker", default="", help="Who made it.")
@click.option("--stock", default="", help="What card it is cut from.")
@click.option("--notes", default="", help="What else to remember.")
@JSON
@click.pass_context
def put(
    ctx: click.Context, set_file: Path, machine: str, place: str, maker: str, stock: str,
    notes: str, as_json: bool,
) -> None:  # fmt: skip
    """Put SET on the rack; a changed set becomes a new version, and what changed is told.

    Example: plotout rack put samples/beekeepers-smock/set.toml --place "hook 12"
    """
    from plotout.rack import record, sets

    with _open(ctx, create=True) as connection:
        entry = sets.entry_for(
            set_file, machine=machine, put_at=_now(), maker=maker, place=place, stock=stock,
            notes=notes, previous=sets.newest_pattern(connection, set_file),
        )  # fmt: skip
        found = record.put(connection, entry)
    _tell([found], as_json)
    if not as_json:
        for line in found.changes:
            click.echo(f"  {line}")


@rack.command(name="list")
@JSON
@click.pass_context
def list_sets(ctx: click.Context, as_json: bool) -> None:
    """List every set on the rack.

    Example: plotout rack list
    """
    from plotout.rack import record

    with _open(ctx) as connection:
        _tell(record.listed(connection), as_json)


@rack.command()
@click.argument("words", nargs=-1, required=True)
@JSON
@click.pass_context
def find(ctx: click.Context, words: tuple[str, ...], as_json: bool) -> None:
    """Find sets by words: style, name, size, piece, place, date, maker, notes.

    Example: plotout rack find smock gusset
    """
    from plotout.rack import record

    with _open(ctx) as connection:
        _tell(record.find(connection, " ".join(words)), as_json)


@rack.command()
@click.argument("ref", metavar="SET")
@click.option("--picture", type=click.Path(path_type=Path), help="Write its picture (PNG).")
@JSON
@click.pass_context
def show(ctx: click.Context, ref: str, picture: Path | None, as_json: bool) -> None:
    """Show all that is known of a set: its cards, seams, versions and what was cut.

    Example: plotout rack show BK-01
    """
    from plotout.files import write_whole
    from plotout.rack import loans, record

    with _open(ctx) as connection:
        found = record.named(connection, ref)
        report = {
            **_row(found),
            **found.details,
            "versions": [
                {"ref": each.ref, "put_at": each.put_at, "changes": each.changes}
                for each in record.versions(connection, found)
            ],
            "cut": loans.cuttings(connection, found),
        }
        thumb = record.content_of(connection, found, "picture")
    if picture and thumb:
        write_whole(picture, thumb)
    if as_json:
        click.echo(json.dumps(report, indent=1, ensure_ascii=False))
        return
    _tell([found], False)
    for card in report.get("cards", []):
        click.echo(f"  {card['title']}: {', '.join(card['orders'])}")
    for version in report["versions"]:
        click.echo(f"  version {version['ref'].rpartition(':')[2]}, {version['put_at']}")
        for line in version["changes"]:
            click.echo(f"    {line}")
    for cut in report["cut"]:
        click.echo(f"  cut {cut['at']} on {cut['machine']}: {cut['what']}")


def _loan(ctx: click.Context, ref: str, act: Callable[[Any, Any], None]) -> None:
    from plotout.rack import record

    with _open(ctx) as connection:
        act(connection, record.named(connection, ref))
        _tell([record.named(connection, ref)], False)


@rack.command()
@click.argument("ref", metavar="SET")
@click.option("--who", required=True, help="Who takes it.")
@click.pass_context
def out(ctx: click.Context, ref: str, who: str) -> None:
    """Note that somebody took a set off its hook.

    Example: plotout rack out BK-01 --who "cutting room"
    """
    from plotout.rack import loans

    _loan(ctx, ref, lambda connection, found: loans.take_out(connection, found, who, _now()))


@rack.command()
@click.argument("ref", metavar="SET")
@click.pass_context
def back(ctx: click.Context, ref: str) -> None:
    """Note that a set hangs on its hook again.

    Example: plotout rack back BK-01
    """
    from plotout.rack import loans

    _loan(ctx, ref, lambda connection, found: loans.bring_back(connection, found, _now()))


@rack.command()
@click.argument("old", metavar="OLD")
@click.argument("new", metavar="NEW")
@click.option("--picture", type=click.Path(path_type=Path), help="Draw both (PNG).")
@JSON
@click.pass_context
def compare(ctx: click.Context, old: str, new: str, picture: Path | None, as_json: bool) -> None:
    """Say what changed from one version to another.

    Example: plotout rack compare BK-01:M:1 BK-01:M:2
    """
    from plotout.files import write_whole
    from plotout.rack import record, sets
    from plotout.rack.compare import compare as compared
    from plotout.rack.overlay import overlaid

    with _open(ctx) as connection:
        first, second = (
            sets.pattern_of(connection, record.named(connection, ref)) for ref in (old, new)
        )
    changes = compared(first, second)
    if picture:
        write_whole(picture, overlaid(first, second))
    if as_json:
        told = [{"piece": c.piece, "what": c.what, "words": c.words, "mm": c.amount}
                for c in changes]  # fmt: skip
        click.echo(json.dumps(told, indent=1, ensure_ascii=False))
        return
    for change in changes:
        click.echo(sets.words(change))
    if not changes:
        click.echo("Nothing changed.")


@rack.command()
@click.argument("ref", metavar="SET")
@click.option("--out", "folder", type=click.Path(path_type=Path), required=True)
@click.option("--machine", default="", help="Another machine than the one it was put with.")
@click.option("--card", "only", multiple=True, help="Only this card (may be repeated).")
@click.option("--seconds", default=10.0, show_default=True, help="Time for laying the cards.")
@click.pass_context
def recut(
    ctx: click.Context, ref: str, folder: Path, machine: str, only: tuple[str, ...], seconds: float
) -> None:
    """Make a set's files again exactly as it was, or one card of it.

    Example: plotout rack recut BK-01 --card gusset --out again
    """
    from plotout.machine import caution
    from plotout.rack import loans, record, sets

    with _open(ctx) as connection, progress() as tell:
        found = record.named(connection, ref)
        made = sets.recut(
            connection, found, folder, machine=machine, only=only, seconds=seconds, tell=tell
        )
        what = ", ".join(only) or "the whole set"
        loans.note_cutting(connection, found, _now(), made.machine.name, f"files for {what}")
    for each in made.worked:
        click.echo(str(folder / each.file))
    for text in caution(made.machine):
        click.echo(f"Caution: {text}")


@rack.command(name="export")
@click.argument("ref", metavar="SET")
@click.option("--out", "target", type=click.Path(path_type=Path), required=True, help="File.")
@click.pass_context
def export_set(ctx: click.Context, ref: str, target: Path) -> None:
    """Write a set as one file, for another rack.

    Example: plotout rack export BK-01 --out smock.zip
    """
    from plotout.files import write_whole
    from plotout.rack import bundle, record

    with _open(ctx) as connection:
        data = bundle.export(connection, record.named(connection, ref))
    write_whole(target, data)
    click.echo(f"{target}: {len(data)} bytes")


@rack.command()
@click.argument("file", type=click.Path(path_type=Path))
@JSON
@click.pass_context
def bring(ctx: click.Context, file: Path, as_json: bool) -> None:
    """Bring in a set that was exported from another rack.

    Example: plotout rack bring smock.zip
    """
    from plotout.errors import Place, UserError
    from plotout.rack import bundle, record

    try:
        if file.stat().st_size > bundle.MOST_BYTES:
            raise UserError("the file is too large to be one set", place=Place(file))
        data = file.read_bytes()
    except OSError as fault:
        raise UserError(f"can't read it: {fault.strerror}", place=Place(file)) from fault
    entry = bundle.brought(data)
    with _open(ctx, create=True) as connection:
        _tell([record.put(connection, entry)], as_json)


@rack.command()
@JSON
@click.pass_context
def check(ctx: click.Context, as_json: bool) -> None:
    """Look through the whole rack for damage.

    Example: plotout rack check
    """
    from plotout.rack import care

    with _open(ctx) as connection:
        faults = care.damage(connection)
    if as_json:
        click.echo(json.dumps({"good": not faults, "faults": faults}, indent=1))
    else:
        click.echo("\n".join(faults) or "The rack is whole.")
    if faults:
        ctx.exit(1)


@rack.command()
@click.argument("target", type=click.Path(path_type=Path))
@click.pass_context
def backup(ctx: click.Context, target: Path) -> None:
    """Copy the rack to TARGET while it may be in use.

    Example: plotout rack backup /media/stick/rack.sqlite
    """
    from plotout.rack import care

    with _open(ctx) as connection:
        care.back_up(connection, target)
    click.echo(f"Backed up to {target}.")
