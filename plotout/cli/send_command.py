"""plotout send: send a file to its machine."""

from __future__ import annotations

import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from plotout.cli import sending

if TYPE_CHECKING:
    from plotout.wire.link import WireSettings


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--machine", required=True, help="A machine's name, or the path of its profile.")
@click.option("--port", help="Device, socket://HOST:PORT, rfc2217://HOST:PORT or file:PATH.")
@click.option("--trace", is_flag=True, help="First go round the work with the tool up.")
@click.option("--yes", is_flag=True, help="Don't ask before motion (for scripts).")
@click.option("--json", "as_json", is_flag=True, help="Report as one JSON object.")
def send(file: Path, machine: str, port: str | None, trace: bool, yes: bool, as_json: bool) -> None:
    """Send FILE to a machine at a port; without a port, to a virtual machine: nothing moves.

    While it runs: p pauses and goes on, q or Ctrl-C stops with the tool up.

    Example: plotout send out/bk-01-craft-cutter-sheet-01.plt --machine craft-cutter
    """
    from dataclasses import replace

    from plotout import job
    from plotout.machine import caution
    from plotout.wire import run as wire

    profile = job.load_machine(machine)
    settings = wire.settings_of(profile)
    virtual = port is None
    if port is not None and port.startswith("file:"):
        settings = replace(settings, answers=False, flow="paced", baud=10**9)  # a file has no pace
    if not virtual and not as_json:
        for text in caution(profile):
            click.echo(f"Caution: {text}")
    with _port(port, settings) as at:
        order = wire.Order(
            file=file,
            machine=profile.name,
            port=at,
            settings=settings,
            journal=wire.new_journal(file),
            step=profile.step,
            bed=wire.bed_of(profile),
            calls=sending.calls(yes or virtual, as_json),
        )
        outcome = wire.run(order, trace)
    sending.report(outcome, order, as_json, virtual)


@contextmanager
def _port(port: str | None, settings: WireSettings) -> Iterator[str]:
    """Give the user's port, or one with a virtual machine on it."""
    if port is not None:
        yield port
        return
    from plotout.wire import virtual

    with tempfile.TemporaryDirectory() as folder:
        machine = virtual.machine_for(settings.language, settings.buffer)
        line = virtual.VirtualLine(machine, Path(folder) / "port")
        line.open()
        going = threading.Event()
        going.set()
        thread = threading.Thread(target=line.run, args=(going.is_set,), daemon=True)
        thread.start()
        try:
            yield str(line.link)
        finally:
            going.clear()
            thread.join(5)
