"""plotout virtual: a simulated machine on a pseudo-terminal."""

from __future__ import annotations

import signal
import threading
from pathlib import Path
from types import FrameType

import click

from plotout.cli.json_output import print_json
from plotout.cli.options import FORCE, JSON, PATH, Real, new_file
from plotout.errors import counted


@click.command()
@click.argument("language")
@click.option("--link", type=PATH, required=True, help="Name of its port.")
@click.option("--buffer", type=click.IntRange(16, 1 << 30), help="Receive buffer in bytes.")
@click.option("--baud", default=0, type=click.IntRange(0), help="Line speed; 0: no limit.")
@click.option("--speed", default=0.0, type=Real(0.0, 1e9), help="Units per second; 0: instantly.")
@click.option("--fail", "faults", multiple=True, help="WHAT@BYTE: drop, reset, stall, fill, "
              "garble, error or vanish after so many bytes (repeatable).")  # fmt: skip
@click.option("--flow", type=click.Choice(["xon-xoff", "rts-cts"]), help="How it stops the sender "
              "when its buffer is full; by default it answers enquiries or lines.")  # fmt: skip
@click.option("--drawn", type=new_file(".png", ".svg", ".json"),
              help="Write what it drew: .png, .svg or .json.")  # fmt: skip
@click.option("--hand", "hands", multiple=True, help="X,Y in machine mm: where the user finds "
              "a mark (repeatable).")  # fmt: skip
@click.option("--step", type=Real(0.0, 1e3, min_open=True), help="What the machine "
              "counts in, mm, for the picture.")  # fmt: skip
@FORCE
@JSON
def virtual(
    language: str,
    link: Path,
    buffer: int | None,
    baud: int,
    speed: float,
    faults: tuple[str, ...],
    flow: str | None,
    drawn: Path | None,
    hands: tuple[str, ...],
    step: float | None,
    force: bool,
    as_json: bool,
) -> None:
    """Simulate a machine that speaks LANGUAGE at the port LINK until Ctrl-C; report what it drew.

    `plotout plugins` lists the languages.

    Example: plotout virtual hpgl --link /tmp/plotter --baud 9600 --fail drop@2000
    """
    from plotout import plugins
    from plotout.manifest import check_file
    from plotout.sending import virtual as machines

    sent = f"what it was sent at {link.name}"
    if drawn:
        check_file(drawn, machines.drawn_of(sent), force=force)
    spoken = plugins.language(language)
    machine = spoken.virtual(buffer or spoken.buffer, speed)
    scale = step or machine.unit
    machine.head.places.extend(_place(text, scale) for text in hands)
    line = machines.VirtualLine(
        machine,
        link,
        baud=baud,
        flow=flow or "",
        faults=[machines.fault_from(text) for text in faults],
    )
    going = threading.Event()
    going.set()

    def stop(_number: int, _frame: FrameType | None) -> None:
        going.clear()

    for name in (signal.SIGINT, signal.SIGTERM):
        signal.signal(name, stop)
    line.open()
    click.echo(f"A virtual {language} machine listens at {link}; Ctrl-C ends it.", err=True)
    line.run(going.is_set)
    strokes = machine.head.strokes
    if drawn:
        machines.write_drawn(strokes, drawn, scale, sent, force=force)
    if as_json:
        report = {"strokes": len(strokes), "bytes": line.received, "overruns": machine.overruns}
        print_json(report | {"drawn": None if drawn is None else str(drawn)})
    else:
        click.echo(
            f"{counted(len(strokes), 'stroke')} drawn, {counted(line.received, 'byte')}, "
            f"{counted(machine.overruns, 'overrun')}."
        )


def _place(text: str, scale: float) -> tuple[float, float]:
    """Return a place in machine units. Raises UserError for anything else."""
    from plotout.errors import UserError
    from plotout.units import length

    x, comma, y = text.partition(",")
    if not comma:
        raise UserError(f"'{text}' is not a place", fix="Write x and y in mm: 12.5,30")
    return length(x) / scale, length(y) / scale
