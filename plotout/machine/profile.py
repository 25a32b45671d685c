"""Profiles: machines written down in TOML, shipped with plotout or the user's own."""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields
from importlib.resources import files
from pathlib import Path
from typing import Any

from plotout.errors import Place, UserError, nearest
from plotout.geometry.strokes import Work
from plotout.machine.axes import ORIGINS
from plotout.machine.caution import KINDS
from plotout.machine.model import Bed, Calibration, Machine, Motion, Tool, ToolKind
from plotout.units import length

GREATEST_OFFSET = 3.0  # mm: drag knives are made with tips 0.1 to 1.5 mm behind the pivot
FASTEST = 3000.0  # mm/s


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
        data = tomllib.loads(text)
    except OSError as fault:
        raise UserError(f"can't read it: {fault.strerror}", place=Place(path)) from fault
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as fault:
        raise UserError(f"this is not TOML: {fault}", place=Place(path)) from fault
    return _machine(_Table(data, path, text), path.stem)


@dataclass(frozen=True, slots=True)
class _Table:
    """A table of a profile, with what is needed to say where a fault in it lies."""

    data: Mapping[str, Any]
    file: Path
    text: str

    def wrong(self, key: str, problem: str, fix: str = "") -> UserError:
        found = re.search(rf"^\s*\[*{re.escape(key)}\b", self.text, re.MULTILINE)
        line = self.text.count("\n", 0, found.start() + len(found[0])) + 1 if found else None
        return UserError(problem, fix=fix, place=Place(self.file, line))

    def only(self, keys: Sequence[str]) -> None:
        for key in self.data:
            if key not in keys:
                raise self.wrong(key, f"there is no field '{key}' here", nearest(key, keys))

    def get(self, key: str, read: Callable[[Any], Any], default: Any = None) -> Any:
        if key not in self.data:
            if default is None:
                raise self.wrong(key, f"'{key}' is missing")
            return default
        try:
            return read(self.data[key])
        except UserError as fault:
            raise self.wrong(key, f"{key}: {fault.problem}", fault.fix) from fault

    def under(self, key: str) -> _Table:
        value = self.data.get(key, {})
        if not isinstance(value, dict):
            raise self.wrong(key, f"'{key}' must be a table")
        return _Table(value, self.file, self.text)


_KEYS = ("title", "kind", "driver", "bed", "tools", "step", "axes", "origin", "motion",
         "registration", "gap", "cautions", "calibration", "options", "wire")  # fmt: skip


def _machine(table: _Table, name: str) -> Machine:
    table.only(_KEYS)
    axes_text = table.get("axes", _text, "xy")
    return Machine(
        name=name,
        title=table.get("title", _text),
        kind=table.get("kind", _one_of(KINDS)),
        driver=table.get("driver", _text),
        bed=_bed(table.under("bed")),
        tools=_tools(table),
        step=table.get("step", _positive(length), 0.025),
        axes=axes_text,
        origin=table.get("origin", _one_of(ORIGINS), "lower left"),
        motion=_motion(table.under("motion")),
        registration=table.get("registration", _flag, False),
        gap=table.get("gap", _not_negative(length), 3.0),
        cautions=table.get("cautions", _texts, ()),
        calibration=_calibration(table.under("calibration")),
        options=dict(table.under("options").data),
        wire=dict(table.under("wire").data),
    )


def _bed(table: _Table) -> Bed:
    table.only(("length", "width", "roll", "margins", "window"))
    bed = Bed(
        length=table.get("length", _positive(length)),
        width=table.get("width", _positive(length)),
        roll=table.get("roll", _flag, False),
        margins=table.get("margins", _margins, (0.0, 0.0, 0.0, 0.0)),
        window=table.get("window", _positive(length), 0.0) or None,
    )
    left, bottom, right, top = bed.margins
    if left + right >= bed.length or bottom + top >= bed.width:
        raise table.wrong("margins", "the margins leave nothing of the bed", "Make them smaller.")
    return bed


def _tools(table: _Table) -> tuple[Tool, ...]:
    tools = table.data.get("tools", [])
    if not isinstance(tools, list) or not tools or not all(isinstance(t, dict) for t in tools):
        raise table.wrong("tools", "a machine needs at least one tool", "Add a table [[tools]].")
    return tuple(_tool(_Table(tool, table.file, table.text)) for tool in tools)


def _tool(table: _Table) -> Tool:
    names = [field.name.replace("_", "-") for field in fields(Tool)]
    table.only(names)
    read = {name: reader for name, reader in _TOOL.items() if name in table.data}
    given = {name.replace("-", "_"): table.get(name, reader) for name, reader in read.items()}
    return Tool(
        name=table.get("name", _text),
        number=table.get("number", _count, 1),
        kind=table.get("kind", lambda v: ToolKind(_one_of([k.value for k in ToolKind])(v))),
        does=table.get("does", _works),
        speed=table.get("speed", _speed),
        **given,
    )


def _motion(table: _Table) -> Motion:
    names = [field.name.replace("_", "-") for field in fields(Motion)]
    table.only(names)
    readers = {"independent": _flag, "travel-speed": _speed, "junction": _positive(length)}
    given = {
        key.replace("-", "_"): table.get(key, readers.get(key, _not_negative(_number)))
        for key in table.data
    }
    if "acceleration" in given and given["acceleration"] <= 0:
        raise table.wrong("acceleration", "acceleration must be more than 0")
    return Motion(**given)


def _calibration(table: _Table) -> Calibration:
    table.only(("scale-x", "scale-y", "skew", "date"))
    return Calibration(
        scale_x=table.get("scale-x", _number, 1.0),
        scale_y=table.get("scale-y", _number, 1.0),
        skew=table.get("skew", _number, 0.0),
        date=table.get("date", _text, ""),
    )


def _text(value: Any) -> str:
    if not isinstance(value, str) or not value.strip():
        raise UserError(f"{value!r} is not a text")
    return value


def _texts(value: Any) -> tuple[str, ...]:
    if not isinstance(value, list):
        raise UserError("this must be a list of texts")
    return tuple(_text(each) for each in value)


def _flag(value: Any) -> bool:
    if not isinstance(value, bool):
        raise UserError(f"{value!r} is neither true nor false")
    return value


def _number(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) < 1e9:
        raise UserError(f"{value!r} is not a number")
    return float(value)


def _count(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value < 1000:
        raise UserError(f"{value!r} is not a whole number from 0 to 999")
    return value


def _positive(read: Callable[[Any], float]) -> Callable[[Any], float]:
    def check(value: Any) -> float:
        got = read(value)
        if got <= 0:
            raise UserError(f"{value!r} must be more than 0")
        return got

    return check


def _not_negative(read: Callable[[Any], float]) -> Callable[[Any], float]:
    def check(value: Any) -> float:
        got = read(value)
        if got < 0:
            raise UserError(f"{value!r} must not be negative")
        return got

    return check


def _at_most(limit: float, unit: str, why: str) -> Callable[[Any], float]:
    def check(value: Any) -> float:
        got = _not_negative(length if unit == "mm" else _number)(value)
        if got > limit:
            raise UserError(f"{value!r} is more than {limit:g} {unit}", fix=why)
        return got

    return check


_speed = _at_most(FASTEST, "mm/s", "Speeds are in mm/s, not in mm/min.")


def _one_of(names: Sequence[str] | Mapping[str, Any]) -> Callable[[Any], str]:
    def check(value: Any) -> str:
        if value not in names:
            raise UserError(f"{value!r} is not known here", fix=nearest(str(value), names))
        return str(value)

    return check


def _works(value: Any) -> tuple[Work, ...]:
    works = [work.value for work in Work]
    return tuple(Work(_one_of(works)(each)) for each in _texts(value))


def _margins(value: Any) -> tuple[float, float, float, float]:
    if not isinstance(value, list):
        side = _not_negative(length)(value)
        return side, side, side, side
    if len(value) != 4:
        raise UserError("margins are one length, or four: left, bottom, right, top")
    left, bottom, right, top = (_not_negative(length)(each) for each in value)
    return left, bottom, right, top


_TOOL: Mapping[str, Callable[[Any], Any]] = {
    "force": _at_most(5000.0, "gf", "Forces are in grams-force."),
    "power": _at_most(100.0, "per cent", "Power is in per cent of the greatest."),
    "depth": _not_negative(length),
    "passes": _count,
    "offset": _at_most(GREATEST_OFFSET, "mm", "A blade's tip lies 0.1 to 1.5 mm behind its pivot."),
    "overcut": _at_most(10.0, "mm", "An overcut of a blade offset or two is enough."),
    "kerf": _at_most(20.0, "mm", "The kerf is the width of the cut."),
    "swivel-above": _at_most(180.0, "degrees", "It is a corner's angle, 0 to 180."),
    "swivel-force": _at_most(5000.0, "gf", "Forces are in grams-force."),
    "size": _not_negative(length),
}
