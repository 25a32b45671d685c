"""plotout send: send a file to its machine."""

from __future__ import annotations

import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

import click

from plotout.cli import sending
from plotout.cli.interrupt import remembered
from plotout.cli.options import FORCE, JSON, PATH, YES, machine_option, new_file
from plotout.errors import PlotoutError, UserError

if TYPE_CHECKING:
    from plotout.machine import Machine, SendingSettings
    from plotout.sending.virtual import VirtualLine

SETTLED_AFTER = 2.0  # s in which an idle machine neither receives nor does anything
NOTHING_LEFT = "This was a virtual machine: nothing moved, and its job can't be resumed."
VIRTUAL_BAUD = 1_000_000  # of a virtual machine, so that nobody waits for it

_KINDS = {"pen": "draw", "punch": "punch"}  # how the lines of a kind of tool are drawn


@click.command()
@click.argument("file", type=PATH)
@machine_option()
@click.option("--port", help="Device, socket://HOST:PORT, rfc2217://HOST:PORT or file:PATH.")
@click.option("--trace", is_flag=True, help="First trace round the work with the tool up.")
@click.option(
    "--drawn",
    type=new_file(".png", ".svg", ".json"),
    help="Without a port: what the virtual machine drew, as .png, .svg or .json.",
)
@click.option("--as-it-is", is_flag=True, help="Send a file even if its contents can't be checked.")
@FORCE
@YES
@JSON
def send(
    file: Path,
    machine: str,
    port: str | None,
    trace: bool,
    drawn: Path | None,
    as_it_is: bool,
    force: bool,
    yes: bool,
    as_json: bool,
) -> None:
    """Send FILE to a machine at a port; without --port, to a virtual machine: nothing moves.

    While it runs, p pauses with the tool up and resumes; q or Ctrl-C stops with the tool up.
    A job sent to a machine that can't confirm what it did ends with exit code 3.

    Example: plotout send out/apron-ap-1-m-craft-cutter-sheet-01.plt --machine craft-cutter
    """
    click.get_current_context().find_root().with_resource(remembered())
    from dataclasses import replace

    from plotout import job, plugins
    from plotout.machine import caution
    from plotout.manifest import check_file
    from plotout.sending.inspect import must_be_sound
    from plotout.sending.order import TO_FILE, Order, bed_of
    from plotout.sending.run import run
    from plotout.sending.settings import settings_of
    from plotout.sending.virtual import drawn_of

    profile = job.load_machine(machine)
    settings = settings_of(profile)
    virtual = port is None
    if drawn and not virtual:
        raise UserError("--drawn is for the virtual machine", fix="Leave out --port or --drawn.")
    if drawn:
        check_file(drawn, drawn_of(file.name), force=force)
    if virtual:
        settings = replace(settings, baud=VIRTUAL_BAUD)
    elif port and port.startswith("file:"):
        settings = replace(settings, **TO_FILE)
    elif not as_json:
        for text in caution(profile):
            click.echo(f"Caution: {text}")
    asking = sending.calls(yes or virtual, as_json, virtual)
    digest = must_be_sound(
        file,
        profile,
        plugins.language(settings.language),
        as_it_is=as_it_is,
        said=asking.said,
        agreed=asking.agreed,
    )
    with _port(port, settings, profile, file, drawn, force) as at, _journal(file, virtual) as book:
        order = Order(
            file=file,
            machine=profile.name,
            port=at,
            settings=settings,
            journal=book,
            step=profile.step,
            bed=bed_of(profile),
            calls=asking,
            profile=profile,
            virtual=virtual,
            digest=digest,
            profile_at=str(Path(machine).resolve()) if Path(machine).is_file() else "",
        )
        outcome = run(order, trace)
    sending.report(outcome, order, as_json, virtual)


@contextmanager
def _journal(file: Path, virtual: bool) -> Iterator[Path]:
    """Yield a journal's path. A virtual machine's job can't be resumed: its journal isn't kept."""
    from plotout.sending.order import new_journal

    if not virtual:
        book = new_journal(file)
        try:
            with sending.naming(book):
                yield book
        finally:
            with suppress(OSError):  # nothing was sent
                if not book.stat().st_size:
                    book.unlink()
        return
    with tempfile.TemporaryDirectory() as folder:
        try:
            yield Path(folder) / "virtual.journal"
        except PlotoutError as fault:
            if fault.in_job:
                fault.fix = NOTHING_LEFT
            raise


@contextmanager
def _port(
    port: str | None,
    settings: SendingSettings,
    profile: Machine,
    file: Path,
    drawn: Path | None,
    force: bool,
) -> Iterator[str]:
    """Yield the user's port, or one with a virtual machine."""
    if port is not None:
        yield port
        return
    from plotout import plugins
    from plotout.sending import virtual

    flow = settings.flow if settings.flow in virtual.FLOWS else ""
    with tempfile.TemporaryDirectory() as folder:
        machine = plugins.language(settings.language).virtual(settings.buffer)
        line = virtual.VirtualLine(machine, Path(folder) / "port", flow=flow)
        line.open()
        going = threading.Event()
        going.set()
        failed: list[Exception] = []
        thread = threading.Thread(target=_play, args=(line, going, failed), daemon=True)
        thread.start()
        try:
            yield str(line.link)
            _settle(line)
        finally:
            going.clear()
            thread.join(5)
            _must_have_worked(settings.language, failed)
            if drawn:
                scale = plugins.language(settings.language).report_mm(profile.step)
                kinds = {tool.number: _KINDS.get(tool.kind.value, "cut") for tool in profile.tools}
                virtual.write_drawn(
                    machine.head.strokes, drawn, scale, file.name, kinds, force=force
                )


def _play(line: VirtualLine, going: threading.Event, failed: list[Exception]) -> None:
    """Run a virtual machine while `going` is set; what it raises is its plugin's fault."""
    try:
        line.run(going.is_set)
    except Exception as fault:
        failed.append(fault)


def _must_have_worked(language: str, failed: list[Exception]) -> None:
    """Raise PluginError for a virtual machine that failed."""
    from plotout.errors import PluginError

    for fault in failed:
        raise PluginError(
            f"the virtual machine of the language '{language}' failed: "
            f"{type(fault).__name__}: {fault}",
            fix="Report this to the maker of the plugin with that language.",
        ) from fault


def _settle(line: object) -> None:
    """Wait until the machine has done what was sent: the line is fast, so this is brief."""
    from plotout.sending.virtual import VirtualLine

    assert isinstance(line, VirtualLine)
    seen, since = (-1, -1), time.monotonic()
    while not line.idle or seen[0] != line.received:
        now = (line.received, len(line.machine.held))
        if now != seen:
            seen, since = now, time.monotonic()
        elif time.monotonic() - since > SETTLED_AFTER:
            return  # what it still holds is half an instruction
        time.sleep(0.05)
