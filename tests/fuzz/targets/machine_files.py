"""Files for machines: read back, sent, and gone on with after a break."""

from __future__ import annotations

import hashlib
import json
import random
import struct
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any

from fuzz.mutations import checked, json_variant, variant
from fuzz.targets.command_line import run
from fuzz.targets.target import Target, corpus

JOB = "a-roll-plotter.plt"  # of the journals


def _back(driver: str, machine: str) -> Callable[[bytes, Path], None]:
    def take(data: bytes, _folder: Path) -> None:
        from plotout import plugins
        from plotout.proof.summary import as_data, summarise

        profile = profile_of(machine)
        interpreter = plugins.interpreter_for(driver)
        json.dumps(as_data(summarise(interpreter.read(data, profile), profile)))

    return take


@cache
def profile_of(name: str):
    from plotout import job

    return job.load_machine(name)


def _looked_at(language: str) -> Callable[[bytes, Path], None]:
    """What the sender works out of a file: its units, its reach, where its work can rest."""

    def take(data: bytes, folder: Path) -> None:
        from plotout import plugins
        from plotout.sending.cutfile import cut_file
        from plotout.sending.doubt import worked
        from plotout.sending.extent import extent

        path = folder / "job"
        path.write_bytes(data)
        with cut_file(path, plugins.language(language), 0.025) as file:
            extent(file)
            for unit in range(min(file.units, 2000)):
                file.unit(unit)
            for unit in range(0, file.units, 1 + file.units // 20):
                file.head(unit)
            file.digest()
            list(worked(file, range(file.units)))

    return take


def _sent(machine: str, suffix: str) -> Callable[[bytes, Path], None]:
    def take(data: bytes, folder: Path) -> None:
        (folder / f"a{suffix}").write_bytes(data)
        with no_waiting():
            run(folder, "send", f"a{suffix}", "--machine", machine, "--port", "file:out", "--yes",
                "--as-it-is")  # fmt: skip

    return take


def _sent_virtual(machine: str, suffix: str) -> Callable[[bytes, Path], None]:
    def take(data: bytes, folder: Path) -> None:
        (folder / f"a{suffix}").write_bytes(data)
        (folder / "hasty.toml").write_text(_hasty(machine), encoding="utf-8")
        run(folder, "send", f"a{suffix}", "--machine", "hasty.toml", "--as-it-is", "--drawn",
            "a.json")  # fmt: skip

    return take


@cache
def _hasty(machine: str) -> str:
    """A machine's profile with little patience: a virtual one that stumbles is soon given up."""
    from plotout.machine import profile

    text = next(path for path in profile.shipped() if path.stem == machine).read_text()
    wire = '[sending]\npatience = "2 s"\n'
    return text.replace("[sending]\n", wire) if "[sending]\n" in text else f"{text}\n{wire}"


def _journal(data: bytes, folder: Path) -> None:
    from plotout.sending import journal
    from plotout.sending.order import Calls, order_from

    path = folder / "a.journal"
    path.write_bytes(data)
    order_from(path, journal.read(path), Calls())


def _journal_variant(seed: str) -> bytes:
    (sound,) = corpus("a.journal")
    if random.Random(seed + "how").random() < 0.2:
        return variant(seed, sound, [sound])
    return _rewritten(seed, [json.loads(line[9:]) for line in sound.splitlines()])


def _rewritten(seed: str, records: list[object]) -> bytes:
    made = json_variant(seed, records)
    return b"".join(checked(each) for each in made)  # a wrong content with a right checksum


def _resumed(data: bytes, folder: Path) -> None:
    """data: the options as JSON, how far the sender got as hex, and the journal."""
    options, now, journal = data.split(b"\n", 2)
    (file,) = corpus("short.plt")
    (folder / JOB).write_bytes(file)
    (folder / "a.journal").write_bytes(journal)
    if now:
        (folder / "a.now").write_bytes(bytes.fromhex(now.decode()))
    with no_waiting():
        run(folder, "resume", "a.journal", "--port", "file:out", "--yes", *json.loads(options))


def _broken_off() -> list[dict[str, Any]]:
    """The records of a job that has not ended."""
    (file,) = corpus("short.plt")
    (sound,) = corpus("a.journal")
    records = [json.loads(line[9:]) for line in sound.splitlines()]
    records[0]["job"].update(file=JOB, digest=hashlib.sha256(file).hexdigest())
    records[0]["job"]["settings"].update(answers=False, flow="paced", baud=1_000_000)
    return [each for each in records if "adrift" not in each and "ended" not in each]


def _resumed_sound() -> list[bytes]:
    return [b'["--from", "2"]\n\n' + b"".join(map(checked, _broken_off()))]


def _resumed_variant(seed: str) -> bytes:
    rng = random.Random(seed + "how")
    records = _broken_off()
    records = records[: rng.randrange(1, len(records) + 1)]
    records[0]["job"]["settings"]["answers"] = rng.random() < 0.3
    journal = _rewritten(seed, records)
    if rng.random() < 0.2:
        journal = variant(seed, journal, [journal])
    options = rng.choice(([], [], ["--from", "3"], ["--from", "99999"], ["--back", "2"],
                          ["--back", "99999999999"], ["--json"]))  # fmt: skip
    return json.dumps(options).encode() + b"\n" + _now(rng) + b"\n" + journal


def _now(rng: random.Random) -> bytes:
    """How far the sender got, with its right checksum, in hex."""
    if rng.random() < 0.5:
        return b""
    from plotout.sending.now import _boot

    numbers = [rng.choice((0, 1, 3, 9, -1, 1 << 40, -(1 << 62), 7)) for _ in range(6)]
    body = struct.pack("<36s6q", _boot(), *numbers)
    data = body + struct.pack("<L", zlib.crc32(body))
    return (data if rng.random() < 0.9 else data[: rng.randrange(len(data))]).hex().encode()


@contextmanager
def no_waiting() -> Iterator[None]:
    """Let time pass by itself: nobody is at the other end, and each nap is over at once."""
    import time

    real_sleep, real_clock = time.sleep, time.monotonic
    ahead = [0.0]

    def nap(seconds: float) -> None:
        ahead[0] += max(seconds, 0.01)

    time.sleep, time.monotonic = nap, lambda: real_clock() + ahead[0]
    try:
        yield
    finally:
        time.sleep, time.monotonic = real_sleep, real_clock


def _read(name: str, pattern: str, driver: str, machine: str, share: float = 2.0) -> Target:
    take = _back(driver, machine)
    return Target(f"read {name}", lambda: corpus(pattern), take, share=share, placed=False)


MACHINE_FILES = (
    _read("hpgl", "*.plt", "hpgl", "craft-cutter", 0.8),
    _read("hpgl2", "*.plt", "hpgl2", "roll-plotter", 0.8),
    _read("gcode", "*.ngc", "gcode", "gantry-knife"),
    _read("laser", "*.ngc", "gcode", "laser"),
    _read("svg", "*.svg", "svg", "svg-file"),
    _read("dxf", "*.dxf", "dxf", "dxf-file"),
    _read("pdf", "*.pdf", "pdf-page", "copy-shop"),
    _read("tiles", "*.pdf", "pdf-tiles", "home-a4"),
    Target("units hpgl", lambda: corpus("*.plt"), _looked_at("hpgl"), share=0.8),
    Target("units gcode", lambda: corpus("*.ngc"), _looked_at("gcode"), share=0.8),
    Target("send hpgl", lambda: corpus("s*.plt"), _sent("roll-plotter", ".plt"), share=0.8),
    Target("send gcode", lambda: corpus("s*.ngc"), _sent("laser", ".ngc"), share=0.8),
    Target("send to virtual hpgl", lambda: corpus("s*.plt"),
           _sent_virtual("craft-cutter", ".plt"), placed=False, share=0.05),
    Target("send to virtual gcode", lambda: corpus("s*.ngc"),
           _sent_virtual("gantry-knife", ".ngc"), placed=False, share=0.05),
    Target("journal", lambda: corpus("a.journal"), _journal, _journal_variant, share=4),
    Target("resume", _resumed_sound, _resumed, _resumed_variant,
           placed=False, share=4),
)  # fmt: skip
