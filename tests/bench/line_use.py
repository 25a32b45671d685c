"""How full the line is in every flow, on a simulated clock: all bytes, and the file's own.

Run by hand: python tests/bench/line_use.py [--smoke] [--language hpgl|gcode] [--flow NAME]
    [--baud N]
The machines are written from the notes (`machines_from_notes`) and never slow, so that only the
line and the sender count. The line takes a byte in ten bits, both ways; time in which nothing is
there to send is lost. What a system or a USB adapter adds to an answer's way is `--late` ms.
A plotter that can't answer and is stopped by DTR alone is fed at most 4,000 bytes/s on purpose, see
`dtr-lag` in a profile: that is all of a line up to 38,400 baud. The rows "dtr 1 ms" are with a
port that is not behind a USB adapter, and with `dtr-lag = "1 ms"`.
"""

from __future__ import annotations

import argparse
import math
import random
import sys
import tempfile
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from breaks import PROFILE, STEP, plotted  # noqa: E402
from machines_from_notes import gcode, hpgl, simulated  # noqa: E402
from machines_from_notes.simulated import Sender, Wire  # noqa: E402

FLOWS = {
    "hpgl": ("enquiry", "enq-ack", "xon-xoff", "rts-cts", "dtr", "paced"),
    "gcode": ("ok", "xon-xoff", "rts-cts", "dtr", "paced"),
}
NATIVE = "dtr 1 ms"
BAUDS = (9600, 38400, 115200)
SECONDS = 16.0  # of the line's time per file: its start (0.14 s at 115,200 baud) counts little
NEVER_SLOW = 1e6
TICK = 0.0005  # s: a few bytes of the line


def curves(size: int, points: int) -> list[list[tuple[float, float]]]:
    """Return lines of that many points, mm: `size` bytes of a file at about 12 a point."""
    rng = random.Random(16)
    lines = []
    for nth in range(max(3, size // (12 * (points + 2)))):
        x, y, r = 20.0 + nth % 9 * 35.0, 20.0 + nth // 9 % 7 * 35.0, rng.uniform(8.0, 16.0)
        turns = [math.tau * k / points for k in range(points)]
        lines.append([(x + r * math.cos(a), y + r * math.sin(a)) for a in turns])
    return lines


def gcode_file(lines: list[list[tuple[float, float]]]) -> bytes:
    """Return them as a program for a knife."""
    text = ["G21", "G90", "G17", "G94", "M5"]
    for (x, y), *rest in lines:
        text += ["G0 Z5.000", f"G0 X{x:.3f} Y{y:.3f}", "G1 Z-1.000 F3000"]
        text += [f"G1 X{a:.3f} Y{b:.3f}" for a, b in rest]
    return ("\n".join([*text, "G0 Z5.000", "M5", "M2"]) + "\n").encode()


def machine_for(language: str, flow: str) -> tuple[Any, dict[str, Any]]:
    """Return a machine that stops its line in this flow, and what its profile says."""
    said: dict[str, Any] = {"step": STEP, "options": "", "flow": flow, "driver": language}
    if language == "gcode":
        said |= {"kind": "knife", "tool": "creaser", "buffer": 128, "answers": ""}
        return gcode.Controller(gcode.Habits(speed=NEVER_SLOW)), said
    answers = flow in ("enquiry", "enq-ack")
    said |= {"kind": "pen", "tool": "pen", "buffer": 1024}
    said["answers"] = f"answers = {str(answers).lower()}"
    if flow == NATIVE:
        said |= {"flow": "dtr", "answers": 'answers = false\ndtr-lag = "1 ms"'}
        flow = "dtr"
    own = {"xon-xoff": "xon-xoff", "rts-cts": "hardware", "dtr": "hardware"}.get(flow, "enquiry")
    return hpgl.Plotter(hpgl.Habits(answers=answers, flow=own, speed=NEVER_SLOW)), said


def use(language: str, flow: str, baud: int, data: bytes, late: float) -> tuple[float, float]:
    """Send a file; return the share of the line's time that was used, and the file's own share."""
    machine, said = machine_for(language, flow)
    wire = Wire(machine, baud, said["flow"], late=late)
    begun: list[tuple[float, int]] = []
    last = [0.0, 0.0, 0.0]  # when, bytes over the line, work
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "trial.toml").write_text(PROFILE.format(**said, baud=baud))
        (folder / "job.txt").write_bytes(data)
        (folder / "port").touch()
        words = ["send", str(folder / "job.txt"), "--machine", str(folder / "trial.toml"),
                 "--port", str(folder / "port"), "--yes"]  # fmt: skip
        sender = Sender(words, wire, folder / "said.txt", folder / "jobs")

        def on_tick() -> None:
            if not begun:
                if any("IN" in str(line) or "G21" in str(line) for line in machine.log[-8:]):
                    begun.append((wire.now, wire.sent))
            elif machine.work != last[2]:
                last[:] = wire.now, wire.sent, machine.work

        code = sender.run(on_tick)
        assert code in (0, 3), (folder / "said.txt").read_text()
        assert not machine.overflows
    (since, before), seconds = begun[0], last[0] - begun[0][0]
    took = seconds * baud / 10.0
    assert since < last[0]
    return (last[1] - before) / took, len(data) / took


def main() -> None:
    """Print a table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--smoke", action="store_true")
    parser.add_argument("--late", type=float, default=0.0, help="ms an answer is late")
    parser.add_argument("--language", choices=tuple(FLOWS))
    parser.add_argument("--flow", help="only this one")
    parser.add_argument("--baud", type=int, help="only this one")
    asked = parser.parse_args()
    for language in (asked.language,) if asked.language else tuple(FLOWS):
        measure(language, asked.smoke, asked.late, asked.flow, asked.baud)


def measure(
    language: str, smoke: bool = False, late: float = 0.0, only: str | None = None, at: int = 0
) -> None:
    """Send in every flow, and print a table. late: ms that an answer is late."""
    print("share of the line's time, %: used (target 98), the file's own bytes (target 85)")
    print(f"answers {late:g} ms late")
    simulated.TICK = TICK
    more = (NATIVE,) if language == "hpgl" else ()
    for flow in (only,) if only else (*FLOWS[language], *more):
        for baud in (at,) if at else BAUDS[-1:] if smoke else BAUDS:
            size = int((0.5 if smoke else SECONDS) * baud / 10.0)
            for points in (5, 40):
                lines = curves(size, points)
                for encoded in (False, True) if language == "hpgl" else (False,):
                    plot = plotted(lines, encoded) + b"PU;SP0;"
                    data = plot if language == "hpgl" else gcode_file(lines)
                    used, own = use(language, flow, baud, data, late / 1000.0)
                    form = "encoded" if encoded else ""
                    print(f"{language:6}{flow:10}{baud:7}  {points:2} points{form:>8}"
                          f"{100 * used:7.1f}{100 * own:7.1f}", flush=True)  # fmt: skip


if __name__ == "__main__":
    main()
