"""Files that a person writes: sets, stocks, profiles, marks."""

from __future__ import annotations

import shutil
from functools import cache
from pathlib import Path

from fuzz.grammar import toml_variant
from fuzz.targets.target import CORPUS, Target, corpus, one_of


def _set_file(data: bytes, folder: Path) -> None:
    from plotout import job

    for name in ("front.csv", "sleeve.svg", "bands.dxf"):
        shutil.copy(CORPUS / name, folder / name)
    (folder / "set.toml").write_bytes(data)
    job.read_set(folder / "set.toml")


def _set_variant(seed: str) -> bytes:
    from plotout.pattern.spec import SetFile

    return toml_variant(seed, one_of(seed, corpus("*.set.toml")), SetFile)


def _stock(data: bytes, folder: Path) -> None:
    from plotout.layout import load_stock

    (folder / "stock.toml").write_bytes(data)
    load_stock(folder / "stock.toml")


def _stock_variant(seed: str) -> bytes:
    from plotout.layout.stock.stock_file import StockFile

    return toml_variant(seed, one_of(seed, corpus("*.stock.toml")), StockFile)


def _profile(data: bytes, folder: Path) -> None:
    from plotout import job
    from plotout.errors import found_in
    from plotout.sending.settings import settings_of

    path = folder / "mine.toml"
    path.write_bytes(data)
    machine = job.load_machine(str(path))
    with found_in(path):  # the machine is named, which is as good
        settings_of(machine)


def _profile_variant(seed: str) -> bytes:
    from plotout.machine import Machine

    return toml_variant(seed, one_of(seed, _profiles()), Machine)


@cache
def _profiles() -> list[bytes]:
    from plotout.machine import profile

    return [path.read_bytes() for path in profile.shipped()]


def _marks(data: bytes, folder: Path) -> None:
    from plotout.errors import found_in
    from plotout.layout.registration.fit import fit_marks
    from plotout.layout.registration.mark_file import filled_in, load_marks, mark_names

    path = folder / "marks.csv"
    path.write_bytes(data)
    names = mark_names(path)
    filled_in(path, dict.fromkeys(names[:1], (1.0, 2.0)))
    names, meant, found = load_marks(path)
    with found_in(path):
        fit_marks(meant, found)


HAND = (
    Target("set", lambda: corpus("*.set.toml"), _set_file, share=0.8),
    Target("set values", lambda: corpus("*.set.toml"), _set_file, _set_variant, share=0.8),
    Target("stock", lambda: corpus("*.stock.toml"), _stock),
    Target("stock values", lambda: corpus("*.stock.toml"), _stock, _stock_variant),
    Target("profile", _profiles, _profile, share=3),
    Target("profile values", _profiles, _profile, _profile_variant, share=3),
    Target("marks", lambda: corpus("*.marks.csv"), _marks, share=3),
)
