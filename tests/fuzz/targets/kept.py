"""Files that plotout wrote itself, and that may be damaged since, or another's work."""

from __future__ import annotations

import io
import json
import random
import sqlite3
import zipfile
from collections.abc import Callable
from pathlib import Path

from fuzz.mutations import json_variant, variant
from fuzz.targets.target import Target, corpus

_CELLS = (
    None, "", "text", 0, -1, 1 << 60, 1.5, float("inf"), b"\x00\xff", "{}", "[1]", "nonsense{",
    '{"cards": 3}', '{"cards": [{"id": 1}]}', "[" * 5000, "x" * 5000, "\x1b[2J", "2026-99-99",
)  # fmt: skip


def _json_of(pattern: str) -> Callable[[str], bytes]:
    """Return a maker of variants of a JSON file, of its text and of its values."""

    def made(seed: str) -> bytes:
        (sound,) = corpus(pattern)
        if random.Random(seed + "how").random() < 0.4:
            return variant(seed, sound, [sound])
        return json.dumps(json_variant(seed, json.loads(sound))).encode()

    return made


def _lay(data: bytes, folder: Path) -> None:
    from plotout.layout.nesting.lay_file import load_lay

    (folder / "a-lay.json").write_bytes(data)
    load_lay(folder / "a-lay.json")


def _listed(data: bytes, folder: Path) -> None:
    """The list of what was written in a folder, before more is written there."""
    from plotout.manifest import NAME, Job, write_files

    (folder / NAME).write_bytes(data)
    (folder / "a-sheet-01.plt").write_bytes(b"old")
    write_files(folder, Job("a", {"style": "A"}), {"a-sheet-01.plt": b"new"})


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
    """A rack with damaged bytes, or with a cell of another kind."""
    (sound,) = corpus("*.rack")
    rng = random.Random(seed)
    if rng.random() < 0.4:
        made = bytearray(sound)
        for _ in range(rng.choice((1, 5, 50))):
            made[rng.randrange(len(made))] = rng.randrange(256)
        return bytes(made[: len(made) if rng.random() < 0.9 else rng.randrange(len(made))])
    rack = sqlite3.connect(":memory:")
    rack.deserialize(sound[:18] + b"\1\1" + sound[20:])  # in memory there is no write-ahead log
    for _ in range(rng.choice((1, 2, 4))):
        table = rng.choice(("pattern", "version", "drawing", "piece", "content", "loan"))
        columns = [row[1] for row in rack.execute(f"PRAGMA table_info({table})")]
        row = f"(SELECT rowid FROM {table} LIMIT 1 OFFSET {rng.randrange(3)})"
        change = f"UPDATE OR IGNORE {table} SET {rng.choice(columns)} = ? WHERE rowid = {row}"
        try:
            rack.execute(change, (rng.choice(_CELLS),))
        except sqlite3.Error:
            continue
    rack.commit()
    return bytes(rack.serialize())


def _bundle(data: bytes, folder: Path) -> None:
    from plotout.rack.bundle import brought
    from plotout.rack.putting import put
    from plotout.rack.record import listed
    from plotout.rack.store import opened

    entry = brought(data)
    with opened(folder / "rack", create=True) as rack:
        put(rack, entry)
        listed(rack)


def _bundle_variant(seed: str) -> bytes:
    """An exported set with damaged bytes, or with another list of what it holds."""
    (sound,) = corpus("*.plotout")
    rng = random.Random(seed)
    if rng.random() < 0.4:
        return variant(seed, sound, [sound])
    target = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(sound)) as old, zipfile.ZipFile(target, "w") as new:
        for name in old.namelist():
            data = old.read(name)
            if name == "rack.json":
                data = json.dumps(json_variant(seed, json.loads(data))).encode()
            elif rng.random() < 0.2:
                data = variant(seed, data, [data])
            to = rng.choice(("../x", "/etc/x", "a\\b", "")) if rng.random() < 0.02 else name
            new.writestr(to or "x", data)
    return target.getvalue()


KEPT = (
    Target("lay", lambda: corpus("*-lay.json"), _lay, _json_of("*-lay.json"), share=4),
    Target("list", lambda: corpus("plotout-files.json"), _listed, _json_of("plotout-files.json"),
           share=4),
    Target("rack", lambda: corpus("*.rack"), _rack, _rack_variant, placed=False, share=4),
    Target("bundle", lambda: corpus("*.plotout"), _bundle, _bundle_variant,
           placed=False, share=4),
)  # fmt: skip
