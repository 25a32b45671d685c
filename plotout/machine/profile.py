"""Profiles: machines written down in TOML, shipped with plotout or the user's own."""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib.resources import files
from itertools import pairwise
from pathlib import Path
from typing import Any

from plotout.errors import Place, UserError, nearest
from plotout.machine import fields
from plotout.machine.model import AUTOMATIC, Bed, Calibration, Machine, Motion, Tool
from plotout.machine.quantities import Read

GAP = 3.0  # mm between cards, where the profile doesn't say


def shipped() -> tuple[Path, ...]:
    """Return the profiles that come with plotout."""
    folder = Path(str(files("plotout.machine") / "shipped"))
    return tuple(sorted(folder.glob("*.toml")))


def own_folder() -> Path:
    """Return the folder of the user's own profiles: PLOTOUT_MACHINES, or in the config folder."""
    told = os.environ.get("PLOTOUT_MACHINES")
    config = os.environ.get("XDG_CONFIG_HOME") or os.environ.get("APPDATA")
    base = Path(config) if config else Path.home() / ".config"
    return Path(told) if told else base / "plotout" / "machines"


def known(extra: Sequence[Path] = ()) -> dict[str, Path]:
    """Return name to profile; the user's own come before plugins' and shipped ones."""
    own = sorted(own_folder().glob("*.toml")) if own_folder().is_dir() else []
    return {path.stem: path for path in (*shipped(), *extra, *own)}


def find(name_or_path: str | Path, extra: Sequence[Path] = ()) -> Path:
    """Return the profile of a machine by its name, or its path. Raises UserError."""
    name = str(name_or_path)
    by_name = known(extra)
    if name in by_name:
        return by_name[name]
    path = Path(name)
    if path.suffix == ".toml":
        return path
    raise UserError(f"there is no machine '{name}'", fix=nearest(name, by_name))


def load(name_or_path: str | Path, extra: Sequence[Path] = ()) -> Machine:
    """Return a machine by its name or its profile's path. Raises UserError, with the line."""
    path = find(name_or_path, extra)
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as fault:
        reason = fault.strerror if isinstance(fault, OSError) else "it is not text (UTF-8)"
        raise UserError(f"can't read it: {reason}", place=Place(path)) from fault
    return parse(text, path)


def parse(text: str, path: Path) -> Machine:
    """Return the machine that a profile's text describes. path: for its name, and for errors."""
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise UserError(f"this is not TOML: {fault}", place=Place(path)) from fault
    return _machine(_Table(data, path, text), path.stem)


def with_settings(text: str, tool: str, settings: Mapping[str, str]) -> str:
    """Return a profile's text with fields of one tool set anew, all else as it was written.

    settings: field to value as it stands in the file, "0.45 mm". Raises UserError when there is
    no such tool.
    """
    lines = text.splitlines()
    heads = [nth for nth, line in enumerate(lines) if _header(line)] + [len(lines)]
    for begin, end in pairwise(heads):
        block = lines[begin:end]
        if _header(block[0]) != "tools" or not _names(block, tool):
            continue
        for key, value in settings.items():
            found = [nth for nth, line in enumerate(block) if re.match(rf"\s*{key}\s*=", line)]
            if found:
                note = re.search(r"\s+#.*$", block[found[0]])
                block[found[0]] = f'{key} = "{value}"' + (note[0] if note else "")
            else:
                last = max(
                    nth for nth, line in enumerate(block) if re.match(r"\s*[\w-]+\s*=", line)
                )
                block.insert(last + 1, f'{key} = "{value}"')
        return "\n".join([*lines[:begin], *block, *lines[end:]]) + "\n"
    raise UserError(f"there is no tool '{tool}' in the profile")


def _names(block: Sequence[str], tool: str) -> bool:
    return any(re.match(rf"""\s*name\s*=\s*["']{re.escape(tool)}["']""", line) for line in block)


@dataclass(frozen=True, slots=True)
class _Table:
    """A table of a profile, with what is needed to say where a fault in it lies.

    header: the table's name in the file, "" for the top. nth: which of a list of tables it is.
    """

    data: Mapping[str, Any]
    file: Path
    text: str
    header: str = ""
    nth: int = 0

    def wrong(self, key: str, problem: str, fix: str = "") -> UserError:
        return UserError(problem, fix=fix, place=Place(self.file, self._line(key)))

    def _line(self, key: str) -> int | None:
        lines = self.text.splitlines()
        begin = 0
        if self.header:
            heads = [n for n, line in enumerate(lines) if _header(line) == self.header]
            begin = heads[self.nth] if self.nth < len(heads) else 0
        for nth in range(begin, len(lines)):
            if nth > begin and _header(lines[nth]) not in ("", key):
                break
            if _header(lines[nth]) == key or re.match(rf"\s*{re.escape(key)}\s*[=.]", lines[nth]):
                return nth + 1
        return begin + 1 if self.header else None

    def read(self, known: Mapping[str, Read], needed: Sequence[str] = ()) -> dict[str, Any]:
        """Return the table's values by field name (underscores); refuse what is not known."""
        got = {}
        for key, value in self.data.items():
            if key not in known:
                raise self.wrong(key, f"there is no field '{key}' here", nearest(key, known))
            try:
                got[key.replace("-", "_")] = known[key](value)
            except UserError as fault:
                raise self.wrong(key, f"{key}: {fault.problem}", fault.fix) from fault
        for key in needed:
            if key not in self.data:
                raise self.wrong(key, f"'{key}' is missing", "The machine can't do without it.")
        return got

    def under(self, key: str) -> _Table:
        value = self.data.get(key, {})
        if not isinstance(value, dict):
            raise self.wrong(
                key, f"'{key}' must be a table", f"Write [{key}] on a line of its own."
            )
        return _Table(value, self.file, self.text, key)


def _header(line: str) -> str:
    found = re.match(r"\s*\[{1,2}\s*([\w-]+)\s*\]{1,2}", line)
    return found[1] if found else ""


def _machine(table: _Table, name: str) -> Machine:
    given = table.read(fields.MACHINE, needed=("title", "kind", "driver", "bed", "tools"))
    motion = Motion(**table.under("motion").read(fields.MOTION))
    given |= {
        "bed": _bed(table.under("bed")),
        "motion": motion,
        "tools": _tools(table, motion, given.get("gap", GAP)),
        "calibration": Calibration(**table.under("calibration").read(fields.CALIBRATION)),
        "options": dict(table.under("options").data),
        "wire": dict(table.under("wire").data),
    }
    return Machine(name=name, **{"gap": GAP, **given})


def _bed(table: _Table) -> Bed:
    bed = Bed(**table.read(fields.BED, needed=("length", "width")))
    left, bottom, right, top = bed.margins
    if left + right >= bed.length or bottom + top >= bed.width:
        raise table.wrong("margins", "the margins leave nothing of the bed", "Make them smaller.")
    if bed.window is not None and not bed.roll:
        raise table.wrong("window", "only a roll is worked a window at a time", "Add roll = true.")
    if bed.advance == AUTOMATIC and bed.window is None:
        raise table.wrong(
            "advance",
            "how far does the machine advance the roll?",
            "Add window: the length of a frame, as the machine's manual says.",
        )
    return bed


def _tools(table: _Table, motion: Motion, gap: float) -> tuple[Tool, ...]:
    tools = table.data.get("tools", [])
    if not isinstance(tools, list) or not tools or not all(isinstance(t, dict) for t in tools):
        raise table.wrong("tools", "a machine needs at least one tool", "Add a table [[tools]].")
    found: list[Tool] = []
    for nth, data in enumerate(tools):
        one = _Table(data, table.file, table.text, "tools", nth)
        tool = Tool(**one.read(fields.TOOL, needed=("name", "number", "kind", "does", "speed")))
        for key, problem, fix in fields.faults(tool, motion, gap):
            raise one.wrong(key, f"tool '{tool.name}': {problem}", fix)
        if tool.name in [other.name for other in found]:
            raise one.wrong("name", f"there are two tools '{tool.name}'", "Name them apart.")
        found.append(tool)
    return tuple(found)
