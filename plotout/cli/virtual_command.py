"""plotout virtual: a machine that is not there, on a pseudo-terminal."""

from __future__ import annotations

import json
import signal
import threading
from pathlib import Path
from types import FrameType

import click


@click.command()
@click.argument("language", type=click.Choice(["hpgl", "gcode"]))
@click.option("--link", type=click.Path(path_type=Path), required=True, help="Name of its port.")
@click.option("--buffer", type=click.IntRange(16), help="Receive buffer in bytes.")
@click.option("--baud", default=0, type=click.IntRange(0), help="Speed of the line; 0: no limit.")
@click.option("--speed", default=0.0, type=click.FloatRange(0), help="Units a second; 0: no time.")
@click.option("--fail", "faults", multiple=True, help="WHAT@BYTE: drop, reset, stall, garble, "
              "error or vanish after so many bytes (may be repeated).")  # fmt: skip
@click.option("--drawn", type=click.Path(path_type=Path), help="Write what it drew, as JSON.")
def virtual(
    language: str,
    link: Path,
    buffer: int | None,
    baud: int,
    speed: float,
    faults: tuple[str, ...],
    drawn: Path | None,
) -> None:
    """Play a machine at the port LINK until Ctrl-C; then say what it drew.

    Example: plotout virtual hpgl --link /tmp/plotter --baud 9600 --fail drop@2000
    """
    from plotout.files import write_whole
    from plotout.wire import virtual as machines

    size = buffer or (128 if language == "gcode" else 1024)
    machine = machines.machine_for(language, size, speed)
    line = machines.VirtualLine(
        machine, link, baud=baud, faults=[machines.fault_from(text) for text in faults]
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
    strokes = machine.motion.strokes
    if drawn:
        told = [{"tool": s.tool, "whole": s.whole, "points": s.points} for s in strokes]
        write_whole(drawn, json.dumps(told).encode())
    click.echo(f"{len(strokes)} strokes drawn, {line.received} bytes, {machine.overruns} overruns.")
