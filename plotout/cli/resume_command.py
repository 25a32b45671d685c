"""plotout resume: continue an interrupted job."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import click

from plotout.cli import sending
from plotout.cli.interrupt import remembered
from plotout.cli.options import JSON, PATH, YES


@click.command()
@click.argument("journal_file", metavar="[JOURNAL]", required=False,
                type=PATH)  # fmt: skip
@click.option("--port", help="The machine's port, if it has changed.")
@click.option("--from", "go_from", type=click.IntRange(1), help="Resume at this stroke.")
@click.option("--back", default=0, type=click.IntRange(0), help="Go back this many strokes.")
@YES
@JSON
def resume(
    journal_file: Path | None,
    port: str | None,
    go_from: int | None,
    back: int,
    yes: bool,
    as_json: bool,
) -> None:
    """Resume the job of JOURNAL; by default the last one that was started.

    Home the machine or register the sheet first. A stroke known to be done is not cut again unless
    you go back with --back or --from; one that --from leaves out is named.

    Example: plotout resume --back 1
    """
    click.get_current_context().find_root().with_resource(remembered())
    from dataclasses import replace

    from plotout import folders, job
    from plotout.errors import Place, UserError, clean
    from plotout.sending import journal
    from plotout.sending.lock import job_is_free
    from plotout.sending.order import TO_FILE, as_profile_is, order_from
    from plotout.sending.resume import resume as resumed

    asking = sending.calls(yes, as_json)
    path = journal_file or _last(folders.journals(), asking.said)
    job_is_free(path)
    record = journal.read(path)
    if record.ended and go_from is None and not record.seen:
        raise UserError(
            f"all of the job in {path} was sent, but its machine can't confirm what it did",
            fix="Look at the sheet. To resume at stroke N: plotout resume --from N",
        )
    if record.ended and go_from is None:
        raise UserError(f"the job in {path} is done", fix=_again(record.left))
    order = order_from(path, record, asking, port or "")
    asking.said(f"The job: {clean(str(order.file))}, on {clean(order.machine)}")
    try:
        profile = job.load_machine(order.profile_at or order.machine)
        order = replace(order, profile=profile)
        order = order if order.port.startswith("file:") else as_profile_is(order, profile)
    except UserError as fault:  # the journal suffices
        order.calls.said(f"Note: the job goes by its machine as it was, since: {fault.problem}.")
    if not port and order.port.startswith("file:"):
        raise UserError(
            "the job went to a file, which would be overwritten",
            fix="Name a file for the rest of it: --port file:PATH",
            place=Place(path),
        )
    if order.port.startswith("file:"):
        order = replace(order, settings=replace(order.settings, **TO_FILE))
    if not port:
        order.calls.said(f"Port, by the journal: {clean(order.port)}")
    if not record.sound:
        order.calls.said(f"The journal is {record.note}.")
    with sending.naming(path):
        outcome = resumed(order, record, None if go_from is None else go_from - 1, back)
    sending.report(outcome, order, as_json)


def _again(left: Sequence[tuple[int, int]]) -> str:
    """Return how to cut again what is done, or at all what was left out."""
    again = "To cut it again, send the file again."
    return (
        f"To cut what was left out: plotout resume --from {left[0][0] + 1}. {again}"
        if left
        else again
    )


def _last(folder: Path, said: Callable[[str], None]) -> Path:
    """Return the last job's journal. An empty one is of a job that sent nothing: that is said."""
    from plotout.errors import Place, UserError

    found = sorted(folder.glob("*.journal"))
    empty = []
    while found and not found[-1].stat().st_size:
        empty.append(found.pop())
    if not found:
        if empty:
            raise UserError(
                "there is no job to resume: the only journal is empty",
                fix="Send the file from the start. If the journal was emptied since, what is cut "
                "already would be cut again: look at the sheet first.",
                place=Place(empty[0]),
            )
        raise UserError(
            "no job has been started yet", fix="Send a file first: plotout send FILE ..."
        )
    if empty:
        said(f"Note: {empty[0]} is empty; this is the last job that was begun before it.")
    return found[-1]
