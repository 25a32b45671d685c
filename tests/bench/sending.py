"""Sending, measured on virtual machines: how full the line is, what breaks cost, memory.

Run by hand: python tests/bench/sending.py [failures]
Prints, each with its target beside it: bytes a second of the line's own at 9,600 and 115,200
baud; overruns; strokes lost and repeated over random failures (the sender killed, the line
dropped, the machine reset); the time from a wish to stop until the tool is up; peak memory of
sending 200 MB.
"""

from __future__ import annotations

import json
import random
import resource
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

from plotout_gcode.virtual import GcodeMachine
from plotout_hpgl.virtual import HpglMachine

from plotout import plugins
from plotout.kit import Head
from plotout.machine import WireSettings
from plotout.sending import journal
from plotout.sending.cutfile import cut_file
from plotout.sending.flow_control import credit_for
from plotout.sending.link import open_link
from plotout.sending.sender import send
from plotout.sending.talk import PortTalk
from plotout.sending.virtual import Fault, VirtualLine
from plotout.sending.watch import Watch, Wish

HERE = Path(__file__).parent
SENDER = HERE.parent / "sending" / "sender_process.py"


def squares(count: int, language: str) -> tuple[bytes, list[list[tuple[float, float]]]]:
    """Return a file of squares, and the strokes that it means."""
    strokes, parts = [], ["IN;SP1;VS20;PA;"] if language == "hpgl" else ["G21\nG90\nF3000\n"]
    side, step = (400, 600) if language == "hpgl" else (10, 15)
    for nth in range(count):
        x, y = nth % 20 * step, nth // 20 * step
        points = [(x, y), (x + side, y), (x + side, y + side), (x, y + side), (x, y)]
        strokes.append([(float(a), float(b)) for a, b in points])
        if language == "hpgl":
            parts.append(f"PU{x},{y};PD" + ",".join(f"{a},{b}" for a, b in points[1:]) + ";")
        else:
            parts.append(f"G0 Z5\nG0 X{x} Y{y}\nG1 Z-1\n")
            parts += [f"G1 X{a} Y{b}\n" for a, b in points[1:]]
    parts.append("PU;SP0;" if language == "hpgl" else "G0 Z5\nM5\nM2\n")
    return "".join(parts).encode(), strokes


class Serving:
    """A virtual machine on a line, in a thread."""

    def __init__(self, machine: object, folder: Path, **how: object) -> None:
        self.line = VirtualLine(machine, folder / "port", **how)  # type: ignore[arg-type]
        self._going = threading.Event()

    def __enter__(self) -> VirtualLine:
        self.line.open()
        self._going.set()
        self._thread = threading.Thread(target=self.line.run, args=(self._going.is_set,))
        self._thread.start()
        return self.line

    def __exit__(self, *_: object) -> None:
        self._going.clear()
        self._thread.join(5)


def throughput(language: str, baud: int, seconds: float) -> None:
    """Send for about `seconds` to a machine that is never slow, and print the line's use."""
    rate = baud / 10
    data, _ = squares(int(rate * seconds / (45 if language == "hpgl" else 75)), language)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path = folder / "job"
        path.write_bytes(data)
        machine = HpglMachine(1024) if language == "hpgl" else GcodeMachine(128)
        flow = "enquiry" if language == "hpgl" else "ok"
        settings = WireSettings(language, flow, baud, machine.buffer)
        with Serving(machine, folder, baud=baud) as line:
            link = open_link(str(line.link), settings)
            with (
                cut_file(path, plugins.language(language), 0.025) as file,
                journal.opened(folder / "j") as book,
            ):
                start = time.monotonic()
                outcome = send(file, PortTalk(link, file.language), credit_for(settings), book)
                took = time.monotonic() - start
            link.close()
        share = 100 * line.received / (rate * took)
        own = 100 * outcome.payload / (rate * took)
        print(
            f"{language:6} {baud:7} baud: {share:5.1f} % of the line's bytes a second "
            f"({own:.1f} % without enquiries; target 98), "
            f"{machine.overruns} overruns (target 0)"
        )


def never_waits(language: str, baud: int) -> None:
    """Send to a machine that is a little slower than the line, and count how often it waits."""
    per_unit = (60 if language == "hpgl" else 92) / (baud / 10)  # s a square and its marks take
    length = 1600.0 if language == "hpgl" else 40.0
    data, strokes = squares(max(60, int(8 / per_unit)), language)
    motion = Head(length / (per_unit * 1.25))
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "job").write_bytes(data)
        buffer = 1024 if language == "hpgl" else 128
        machine = (HpglMachine if language == "hpgl" else GcodeMachine)(buffer, head=motion)
        settings = WireSettings(language, "enquiry" if language == "hpgl" else "ok", baud, buffer)
        with Serving(machine, folder, baud=baud) as line:
            link = open_link(str(line.link), settings)
            seen: list[int] = []

            def done(units: int, of: int) -> None:
                if units == 2 or units == of - 4:
                    seen.append(line.waits)

            with (
                cut_file(folder / "job", plugins.language(language)) as file,
                journal.opened(folder / "j") as book,
            ):
                send(
                    file,
                    PortTalk(link, file.language),
                    credit_for(settings),
                    book,
                    watch=Watch(done=done),
                )
            link.close()
        print(
            f"{language:6} {baud:7} baud, {len(strokes)} strokes, machine a quarter slower than "
            f"the line: it waited {seen[1] - seen[0]} times with work left (target 0), "
            f"{machine.overruns} overruns (target 0)"
        )


def stops(language: str, count: int) -> None:
    """Stop in the middle of a job; print the time from the wish until the tool is up."""
    rng = random.Random(2)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "job").write_bytes(squares(500, language)[0])
        took = [_stop(language, folder, nth, rng) for nth in range(count)]
    print(
        f"{language:6} stop: tool up after {1000 * sum(took) / len(took):.0f} ms, at most "
        f"{1000 * max(took):.0f} ms over {count} stops (target 100 and what the machine holds; "
        "here one move of up to 20 ms is under way)"
    )


def _stop(language: str, folder: Path, nth: int, rng: random.Random) -> float:
    """Return the seconds from the wish to stop until the tool is up, 20 ms to a square's side."""
    gcode = language == "gcode"
    motion = Head(500.0 if gcode else 20_000.0)
    machine = GcodeMachine(128, head=motion) if gcode else HpglMachine(1024, head=motion)
    settings = WireSettings(language, "ok" if gcode else "enquiry", 9600, machine.buffer)
    wish = Wish()
    with Serving(machine, folder) as line:
        link = open_link(str(line.link), settings)

        def sending() -> None:
            with (
                cut_file(folder / "job", plugins.language(language)) as file,
                journal.opened(folder / f"j{nth}") as book,
            ):
                send(
                    file,
                    PortTalk(link, file.language),
                    credit_for(settings),
                    book,
                    watch=Watch(wish),
                )

        thread = threading.Thread(target=sending)
        thread.start()
        time.sleep(0.3 + rng.random() * 0.3)
        while not motion.down:
            time.sleep(0.0005)
        start = time.monotonic()
        wish.stop = True
        while motion.down and time.monotonic() - start < 5:
            time.sleep(0.0005)
        took = time.monotonic() - start
        thread.join()
        link.close()
    return took


def failures(language: str, count: int, seed: int = 1) -> None:
    """Break one 500-stroke job `count` times, resuming each time; print losses and repeats."""
    rng = random.Random(seed)
    data, strokes = squares(500, language)
    speed = 60_000.0 if language == "hpgl" else 1500.0
    machine = (HpglMachine if language == "hpgl" else GcodeMachine)(256, head=Head(speed))
    done = {"kill": 0, "drop": 0, "reset": 0}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path, book = folder / "job", folder / "j"
        path.write_bytes(data)
        with Serving(machine, folder) as line:
            act = "send"
            while True:
                breaks = sum(done.values()) < count
                what = rng.choice(list(done)) if breaks else ""
                if what in ("drop", "reset"):
                    line.faults.append(Fault(what, line.received + rng.randrange(40, 400)))
                process = subprocess.Popen(
                    [sys.executable, str(SENDER), act, str(path), str(line.link), language, "256",
                     str(book)], stderr=subprocess.PIPE, text=True,
                )  # fmt: skip
                if what == "kill":
                    begun = len(machine.head.strokes)
                    while len(machine.head.strokes) == begun and process.poll() is None:
                        time.sleep(0.002)
                    time.sleep(rng.random() * 0.06)
                    process.kill()
                _, errors = process.communicate()
                if what:
                    done[what] += 1
                line.faults.clear()
                act = "resume" if book.exists() else "send"
                if process.returncode == 0:
                    break
                if not what and process.returncode != 0:
                    print("FAILED:", errors)
                    break
                time.sleep(0.35)
        drawn = [stroke.points for stroke in machine.head.strokes]
        whole = [points for points in drawn if points in strokes]
        lost = sum(points not in whole for points in strokes)
        repeated = len(whole) - (len(strokes) - lost)
        twice = [nth for nth, each in enumerate(strokes, 1) if whole.count(each) > 1]
        print(f"{language:6} {json.dumps(done)} breaks: {lost} strokes lost (target 0), "
              f"{repeated} repeated (target 0){twice or ''}, {machine.overruns} overruns, "
              f"in order: {whole == strokes}")  # fmt: skip


def memory(megabytes: int) -> None:
    """Send a large file to a machine that takes no time, and print this process's peak memory."""
    data, _ = squares(2000, "hpgl")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path = folder / "job"
        head, tail = b"IN;SP1;PA;", b"PU;SP0;"
        body = data[len(b"IN;SP1;VS20;PA;") : -len(tail)]
        with path.open("wb") as file:
            file.write(head)
            for _ in range(megabytes * 1_000_000 // len(body)):
                file.write(body)
            file.write(tail)
        settings = WireSettings("hpgl", "paced", 10**9, 1024, answers=False)
        before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        start = time.monotonic()
        link = open_link(f"file:{folder / 'out'}", settings)
        with (
            cut_file(path, plugins.language("hpgl"), 0.025) as file,
            journal.opened(folder / "j") as book,
        ):
            units = file.units
            talk = PortTalk(link, file.language)
            send(file, talk, credit_for(settings), book, answers=False)
        link.close()
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        same = path.stat().st_size == (folder / "out").stat().st_size
        took = time.monotonic() - start
        print(
            f"{megabytes} MB, {units} strokes: peak {peak:.0f} MiB, {before:.0f} before "
            f"(target under 100; the mapped file's pages count), {took:.0f} s, "
            f"all bytes written: {same}"
        )


def main() -> None:
    """Run all; with --smoke only see that it runs."""
    asked = sys.argv[1] if len(sys.argv) > 1 else "200"
    smoke = asked == "--smoke"
    for language in ("hpgl", "gcode"):
        for baud in (115200,) if smoke else (9600, 115200):
            throughput(language, baud, 1 if smoke else 12)
            if not smoke:
                never_waits(language, baud)
        if not smoke:
            stops(language, 30)
        failures(language, 3 if smoke else int(asked))
    memory(5 if smoke else 200)


if __name__ == "__main__":
    main()
