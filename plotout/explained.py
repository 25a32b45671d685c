"""Every file that a user writes, by its model, for `plotout explain` and the JSON Schemas."""

from __future__ import annotations

import tomllib
from typing import Any

from plotout import plugins
from plotout.layout.stock.stock_file import StockFile
from plotout.machine import Machine
from plotout.pattern.spec import SetFile
from plotout.tables.explain import Key, Topic, topics_of
from plotout.tables.schema import schema_of

FILES: dict[str, tuple[type, str]] = {
    "set": (SetFile, "A set file: a style, its sizes and pieces, and how they are sewn."),
    "stock": (StockFile, "A stock file: the card and paper available."),
    "machine": (Machine, "A machine's profile."),
}


def topics() -> tuple[Topic, ...]:
    """Return the topics: every table of every file, what every reader picks, drivers' options."""
    found = [
        topic for name, (model, title) in FILES.items() for topic in topics_of(model, name, title)
    ]
    for reader in plugins.readers():
        says = f"What a piece takes from {' or '.join(reader.suffixes)}, beside the file's name."
        keys = tuple(
            Key(key, _form(pick.sample), "", "", f"{key} = {pick.sample}", pick.says)
            for key, pick in reader.picks.items()
        )
        found.append(Topic(f"from.{reader.name}", "from = { file = ... }", says, keys))
    for driver in plugins.drivers():
        if driver.options is not None:
            says = f"A profile's [options] for the driver '{driver.name}'."
            found += topics_of(driver.options, f"options.{driver.name}", says)
    return tuple(found)


def _form(sample: str) -> str:
    value = tomllib.loads(f"it = {sample}")["it"]
    return "list" if isinstance(value, list) else "text" if isinstance(value, str) else "number"


def schemas() -> dict[str, dict[str, Any]]:
    """Return the JSON Schema of every file, as shipped in `plotout/schemas`."""
    return {name: schema_of(model, title) for name, (model, title) in FILES.items()}
