"""plotout rack put, out, back, note: sets on and off their hooks, and what was cut."""

from __future__ import annotations

import hashlib
import re
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import JSON, PATH, SET_FILE, SET_ON_RACK, Words, machine_option
from plotout.cli.rack_shared import CLOCK, now, open_rack, print_found, print_put
from plotout.errors import counted

if TYPE_CHECKING:
    from plotout.rack.record import Found

MOST_KEPT = 64 * 1024 * 1024  # bytes of a sent file: a larger one is not kept


@click.command()
@SET_FILE
@machine_option("The machine to cut it on.", required=False)
@click.option("--place", default="", type=Words(), help="Where it hangs.")
@click.option("--maker", default="", type=Words(), help="Who made it.")
@click.option("--stock", default="", type=Words(), help="The card to cut it from.")
@click.option("--notes", default="", type=Words(), help="Anything else to remember.")
@click.option("--size", "sizes", multiple=True,
              help="Put this size (repeatable), or 'all'; else the drawn one.")  # fmt: skip
@JSON
@click.pass_context
def put(
    ctx: click.Context, set_file: Path, machine: str | None, place: str, maker: str, stock: str,
    notes: str, sizes: tuple[str, ...], as_json: bool,
) -> None:  # fmt: skip
    """Put SET on the rack; a changed set becomes a new version, and the changes are listed.

    Every size has versions of its own, and one can be added to its style at any time. Its faults
    and notes are reported as by 'plotout check'.

    Example: plotout rack put samples/beekeepers-smock/set.toml --place "hook 12"

    Another size: plotout rack put samples/beekeepers-smock/set.toml --size L --place "hook 13"
    """
    from plotout import job
    from plotout.finishing import reviewed
    from plotout.rack import putting, sets

    whole = job.open_set(set_file)
    chosen = whole.in_sizes(whole.named(sizes)).values()
    wrong = reviewed(list(chosen))
    with open_rack(ctx, create=True) as connection:
        files, worked_by = sets.gather(set_file, whole.set_file), sets.machine_now(machine)
        entries = [
            sets.entry_for(
                set_file, pattern_set, files=files, machine=worked_by, put_at=now(), maker=maker,
                place=place, stock=stock, notes=notes,
                changes=sets.changes_here(connection, pattern_set),
            )
            for pattern_set in chosen
        ]  # fmt: skip
        put_now = putting.put_all(connection, entries)
    print_put(put_now, as_json, **wrong.as_data())
    for line in () if as_json else wrong.as_lines():
        click.echo(line)


def _loan(ctx: click.Context, ref: str, act: Callable[[Any, Any], None], as_json: bool) -> None:
    from plotout.rack import record

    with open_rack(ctx) as connection:
        act(connection, record.all_named(connection, ref))
        print_found(record.all_named(connection, ref), as_json)


@click.command()
@SET_ON_RACK
@click.option("--who", required=True, type=Words(), help="Who takes it.")
@JSON
@click.pass_context
def out(ctx: click.Context, ref: str, who: str, as_json: bool) -> None:
    """Note that somebody took a set off its hook; STYLE:all is the style in all its sizes.

    Example: plotout rack out BK-01 --who "cutting room"
    """
    from plotout.rack import loans

    _loan(ctx, ref, lambda rack, sets: loans.take_out(rack, sets, who, now()), as_json)


@click.command()
@SET_ON_RACK
@JSON
@click.pass_context
def back(ctx: click.Context, ref: str, as_json: bool) -> None:
    """Note that a set is back on its hook; STYLE:all is every size of the style that is out.

    Example: plotout rack back BK-01
    """
    from plotout.rack import loans

    def bring(rack: Any, sets: Any) -> None:
        loans.must_be_that_version(sets, ref)
        loans.bring_back(rack, sets, now())

    _loan(ctx, ref, bring, as_json)


@click.command()
@SET_ON_RACK
@click.argument("journals", metavar="JOURNAL...", nargs=-1, required=True,
                type=PATH)  # fmt: skip
@JSON
@click.pass_context
def note(ctx: click.Context, ref: str, journals: tuple[Path, ...], as_json: bool) -> None:
    """Note what was cut of a set, from the journals of its jobs; also keep the files sent.

    `plotout send` prints where a job's journal is.

    Example: plotout rack note AP-1 20260411-0930-apron-ap-1-m-laser-sheet-01.journal
    """
    from plotout.rack import loans, record
    from plotout.sending import journal

    rows = []
    with open_rack(ctx) as connection:
        found = record.named(connection, ref)
        sizes = record.details_of(connection, found).get("sizes", [])
        for path in journals:
            job = journal.read(path, _NO_JOURNAL)
            file = Path(str(job.job.get("file", "")))
            _must_be_of(found, sizes, file, path)
            state = "all of it" if job.ended else f"stopped after {counted(job.done, 'stroke')}"
            if job.ended and job.left:
                state = "all but what was left out"
            if job.ended and not job.seen:
                state = "all of it was sent; this machine can't confirm what it cut"
            new = loans.note_journal(
                connection, found, _written(path), str(job.job.get("machine", "")),
                f"cut {file.name}: {state}", journal=path.name, file=file.name,
                data=_sent(file, str(job.job.get("digest", ""))),
            )  # fmt: skip
            rows.append({"file": file.name, "ended": job.ended, "strokes": job.done, "new": new})
            if not as_json:
                click.echo(f"{file.name}: {state}" + ("" if new else "; already noted"))
    if as_json:
        print_json({"set": found.ref, "noted": rows})


_NO_JOURNAL = "Name the journal of a job of this set: 'plotout send' prints where it is."


def _must_be_of(found: Found, sizes: Sequence[str], file: Path, journal: Path) -> None:
    """Refuse the journal of another set, or of another of its sizes. Raises UserError.

    The names of a set's files begin with its name and its style, followed by its size or sizes.
    """
    from plotout.errors import Place, UserError
    from plotout.files import slug, slug_among
    from plotout.manifest import listed_job

    listed = listed_job(file)
    if listed and (listed.get("set"), listed.get("style")) != (found.name, found.style):
        raise UserError(
            f"this journal is of '{file.name}', which was made of {listed.get('set')}, style "
            f"{listed.get('style')}, not of {found.ref}",
            fix="Name a journal of this set. Nothing was noted.",
            place=Place(journal),
        )
    stem = "-".join(dict.fromkeys(slug(part) for part in (found.name, found.style)))
    either = f"(?:{re.escape(stem)}|{re.escape(slug(found.style))})"  # some leave out the name
    begun = re.match(rf"{either}(?=[-.])", file.name)
    rest = file.name[begun.end() :] if begun else ""
    other = begun and sizes and f"-{slug_among(found.size, sizes)}-" not in rest
    if not begun or other:
        raise UserError(
            f"this journal is of '{file.name}', which is not a file of {found.ref}",
            fix=f"Name a journal whose file begins with '{stem}'"
            + (f" and is of size {found.size}" if other else "")
            + ". Nothing was noted.",
            place=Place(journal),
        )


def _written(path: Path) -> str:
    """Return when the job ended: its journal's last record."""
    return time.strftime(CLOCK, time.localtime(path.stat().st_mtime))


def _sent(file: Path, digest: str) -> bytes | None:
    """Return the file that was sent, if it still exists unchanged."""
    try:
        if file.stat().st_size > MOST_KEPT:
            return None
        data = file.read_bytes()
    except OSError:
        return None
    return data if hashlib.sha256(data).hexdigest() == digest else None
