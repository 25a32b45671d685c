"""What is fuzzed: each target takes bytes as some door of plotout does.

A target may raise plotout's own errors (but PluginError, which is a fault of ours); anything else
is a fault.
"""

from __future__ import annotations

import io
import json
import random
import shutil
import sqlite3
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from fuzz.mutations import checked, json_variant, variant

ROOT = Path(__file__).parents[2]
SMOCK = ROOT / "samples" / "beekeepers-smock"
CORPUS = Path(__file__).parent / "corpus"


@dataclass(frozen=True, slots=True)
class Target:
    """sound: good files for it. take: gives it bytes, in an empty folder. made: a variant, else
    one of text.
    """

    name: str
    sound: Callable[[], list[bytes]]
    take: Callable[[bytes, Path], None]
    made: Callable[[str], bytes] | None = None

    def variant(self, seed: str) -> bytes:
        """Return the variant of this seed."""
        if self.made is not None:
            return self.made(seed)
        sound = self.sound()
        return variant(seed, sound[random.Random(seed + "which").randrange(len(sound))], sound)


@cache
def _corpus(pattern: str) -> list[bytes]:
    return [path.read_bytes() for path in sorted(CORPUS.glob(pattern))]


# files that a person writes


def _set_file(data: bytes, folder: Path) -> None:
    from plotout import job

    for name in ("front.csv", "sleeve.svg", "bands.dxf"):
        shutil.copy(CORPUS / name, folder / name)
    (folder / "set.toml").write_bytes(data)
    job.read_set(folder / "set.toml")


def _stock(data: bytes, folder: Path) -> None:
    from plotout.layout import load_stock

    (folder / "stock.toml").write_bytes(data)
    load_stock(folder / "stock.toml")


def _profile(data: bytes, folder: Path) -> None:
    from plotout import job
    from plotout.sending.settings import settings_of

    (folder / "mine.toml").write_bytes(data)
    settings_of(job.load_machine(str(folder / "mine.toml")))


@cache
def _profiles() -> list[bytes]:
    from plotout.machine import profile

    return [path.read_bytes() for path in profile.shipped()]


def _marks(data: bytes, folder: Path) -> None:
    from plotout.layout.registration.fit import fit_marks
    from plotout.layout.registration.mark_file import filled_in, load_marks, mark_names

    path = folder / "marks.csv"
    path.write_bytes(data)
    names = mark_names(path)
    filled_in(path, dict.fromkeys(names[:1], (1.0, 2.0)))
    names, meant, found = load_marks(path)
    fit_marks(meant, found)


# drawings


def _drawing(name: str, pick: str) -> Callable[[bytes, Path], None]:
    def take(data: bytes, folder: Path) -> None:
        from plotout import job

        (folder / name).write_bytes(data)
        text = '[set]\nname = "F"\nstyle = "F"\n[[piece]]\nname = "F"\n'
        (folder / "set.toml").write_text(f'{text}from = {{ file = "{name}"{pick} }}\n')
        job.read_set(folder / "set.toml")

    return take


# files that plotout wrote itself, and that may be damaged since


def _lay(data: bytes, folder: Path) -> None:
    from plotout.layout.nesting.lay_file import load_lay

    (folder / "a-lay.json").write_bytes(data)
    load_lay(folder / "a-lay.json")


def _lay_variant(seed: str) -> bytes:
    (sound,) = _corpus("*-lay.json")
    if random.Random(seed + "how").random() < 0.5:
        return variant(seed, sound, [sound])
    return json.dumps(json_variant(seed, json.loads(sound))).encode()


def _journal(data: bytes, folder: Path) -> None:
    from plotout.sending import journal
    from plotout.sending.run import Calls, order_from

    path = folder / "a.journal"
    path.write_bytes(data)
    order_from(path, journal.read(path), Calls())


def _journal_variant(seed: str) -> bytes:
    (sound,) = _corpus("*.journal")
    rng = random.Random(seed + "how")
    if rng.random() < 0.2:
        return variant(seed, sound, [sound])
    records = [json.loads(line[9:]) for line in sound.splitlines()]
    made = json_variant(seed, records)
    return b"".join(checked(each) for each in made)


# files for machines


def _back(driver: str, machine: str) -> Callable[[bytes, Path], None]:
    def take(data: bytes, _folder: Path) -> None:
        from plotout import plugins
        from plotout.proof.summary import as_data, summarise

        profile = _machine(machine)
        interpreter = plugins.interpreter_for(driver)
        with plugins.blamed(interpreter.name):
            json.dumps(as_data(summarise(interpreter.read(data, profile), profile)))

    return take


@cache
def _machine(name: str):
    from plotout import job

    return job.load_machine(name)


def _sent(name: str) -> Callable[[bytes, Path], None]:
    def take(data: bytes, folder: Path) -> None:
        from plotout import plugins
        from plotout.sending.cutfile import cut_file
        from plotout.sending.extent import extent
        from plotout.sending.recover import bounds_of

        path = folder / "job"
        path.write_bytes(data)
        with cut_file(path, plugins.language(name), 0.025) as file:
            extent(file)
            for unit in range(file.units):
                file.unit(unit)
                file.head(unit)
            file.lift()
            file.digest()
            bounds_of(file, range(file.units))

    return take


# the rack


def _rack(data: bytes, folder: Path) -> None:
    from plotout.rack import record
    from plotout.rack.care import damage
    from plotout.rack.loans import cuttings
    from plotout.rack.store import opened

    path = folder / "rack"
    path.write_bytes(data)
    with opened(path) as rack:
        damage(rack)
        found = record.listed(rack)
        record.find(rack, "smock")
        for each in found[:5]:
            record.details_of(rack, each)
            record.files_of(rack, each)
            record.versions(rack, each)
            record.content_of(rack, each, "picture")
            cuttings(rack, each)


def _rack_variant(seed: str) -> bytes:
    """A rack with damaged bytes, or with a row of another kind."""
    (sound,) = _corpus("*.rack")
    rng = random.Random(seed)
    if rng.random() < 0.4:
        made = bytearray(sound)
        for _ in range(rng.choice((1, 5, 50))):
            made[rng.randrange(len(made))] = rng.randrange(256)
        return bytes(made)
    rack = sqlite3.connect(":memory:")
    rack.deserialize(sound[:18] + b"\1\1" + sound[20:])  # in memory there is no write-ahead log
    tables = ("pattern", "version", "drawing", "piece", "content", "loan")
    for _ in range(rng.choice((1, 2))):
        table = rng.choice(tables)
        columns = [row[1] for row in rack.execute(f"PRAGMA table_info({table})")]
        value = rng.choice((None, "", "text", 0, -1, 1 << 60, 1.5, b"\x00\xff", "{}", "[1]", "nonsense{", '{"cards": 3}', "x" * 5000, "\x1b[2J"))  # noqa: E501  # fmt: skip
        try:
            rack.execute(f"UPDATE OR IGNORE {table} SET {rng.choice(columns)} = ? WHERE rowid = (SELECT rowid FROM {table} LIMIT 1 OFFSET {rng.randrange(3)})", (value,))  # noqa: E501  # fmt: skip
        except sqlite3.Error:
            continue
    rack.commit()
    return bytes(rack.serialize())


def _bundle(data: bytes, _folder: Path) -> None:
    from plotout.rack.bundle import brought
    from plotout.rack.record import listed, put
    from plotout.rack.store import opened

    entry = brought(data)
    with opened(_folder / "rack", create=True) as rack:
        put(rack, entry)
        listed(rack)


def _bundle_variant(seed: str) -> bytes:
    """An exported set with damaged bytes, or with another list of what it holds."""
    (sound,) = _corpus("*.plotout")
    rng = random.Random(seed)
    if rng.random() < 0.4:
        return variant(seed, sound, [sound])
    target = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(sound)) as old, zipfile.ZipFile(target, "w") as new:
        for name in old.namelist():
            data = old.read(name)
            if name == "rack.json":
                data = json.dumps(json_variant(seed, json.loads(data))).encode()
            to = rng.choice(("../x", "/etc/x")) if rng.random() < 0.02 else name
            new.writestr(to, data)
    return target.getvalue()


_SVG = ', outline = "#a", grain = "#g", notch = ".n"'
_DXF = ', outline = "1", unit = "mm"'
TARGETS: tuple[Target, ...] = (
    Target("set", lambda: [*_corpus("*.set.toml")], _set_file),
    Target("stock", lambda: _corpus("*.stock.toml"), _stock),
    Target("profile", _profiles, _profile),
    Target("marks", lambda: _corpus("*.marks.csv"), _marks),
    Target("pricks", lambda: _corpus("front*.csv"), _drawing("front.csv", ', square = ["neck"]')),
    Target("svg", lambda: _corpus("a-*.svg"), _drawing("a.svg", _SVG)),
    Target("dxf block", lambda: _corpus("*block.dxf"), _drawing("a.dxf", ', block = "A"')),
    Target("dxf layer", lambda: _corpus("bands.dxf"), _drawing("a.dxf", _DXF)),
    Target("lay", lambda: _corpus("*-lay.json"), _lay, _lay_variant),
    Target("journal", lambda: _corpus("*.journal"), _journal, _journal_variant),
    Target("read hpgl", lambda: _corpus("*.plt"), _back("hpgl", "roll-plotter")),
    Target("read hpgl2", lambda: _corpus("*.plt"), _back("hpgl2", "craft-cutter")),
    Target("read gcode", lambda: _corpus("*.ngc"), _back("gcode", "gantry-knife")),
    Target("read laser", lambda: _corpus("*.ngc"), _back("gcode", "laser")),
    Target("read svg", lambda: _corpus("*.svg"), _back("svg", "svg-file")),
    Target("read dxf", lambda: _corpus("*.dxf"), _back("dxf", "dxf-file")),
    Target("read pdf", lambda: _corpus("*.pdf"), _back("pdf-page", "copy-shop")),
    Target("read tiles", lambda: _corpus("*.pdf"), _back("pdf-tiles", "home-a4")),
    Target("send hpgl", lambda: _corpus("*.plt"), _sent("hpgl")),
    Target("send gcode", lambda: _corpus("*.ngc"), _sent("gcode")),
    Target("rack", lambda: _corpus("*.rack"), _rack, _rack_variant),
    Target("bundle", lambda: _corpus("*.plotout"), _bundle, _bundle_variant),
)  # fmt: skip


def by_name() -> Iterator[tuple[str, Target]]:
    """Give each target with its name."""
    for target in TARGETS:
        yield target.name, target
