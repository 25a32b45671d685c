"""Finds plugins by their entry points, and blames the right one when it fails."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache, cached_property
from importlib.metadata import entry_points
from pathlib import Path
from typing import Any, TypeVar

import pluggy

from plotout import hookspecs
from plotout.errors import Place, PlotoutError, PluginError, UserError, nearest
from plotout.hookspecs import Driver, Interpreter, PricksFinder
from plotout.language import Language
from plotout.pattern.drawing import Drawing, Reader

GROUP = "plotout"
T = TypeVar("T")


@dataclass(frozen=True)
class Offer:
    """The contents of one plugin. A hook is called when what it offers is first asked for."""

    plugin: str
    package: str
    version: str
    hook: Any

    @cached_property
    def readers(self) -> tuple[Reader, ...]:
        """Its readers of drawings."""
        return self._all("plotout_readers", Reader)

    @cached_property
    def drivers(self) -> tuple[Driver, ...]:
        """Its drivers."""
        return self._all("plotout_drivers", Driver)

    @cached_property
    def interpreters(self) -> tuple[Interpreter, ...]:
        """Its interpreters of drivers' files."""
        return self._all("plotout_interpreters", Interpreter)

    @cached_property
    def languages(self) -> tuple[Language, ...]:
        """The languages that it speaks with machines."""
        return self._all("plotout_languages", Language)  # type: ignore[type-abstract]

    @cached_property
    def machines(self) -> tuple[Path, ...]:
        """Its machine profiles."""
        return self._all("plotout_machines", Path)

    @cached_property
    def pricks_finders(self) -> tuple[PricksFinder, ...]:
        """Its finders of pricks in pictures."""
        return self._all("plotout_pricks_finders", PricksFinder)

    def _all(self, hook: str, kind: type[T]) -> tuple[T, ...]:
        with blamed(self.plugin):
            found = tuple(item for group in getattr(self.hook, hook)() for item in group)
        for item in found:
            if not isinstance(item, kind):
                raise PluginError(
                    f"plugin '{self.plugin}' offers {item!r}, which is not a {kind.__name__}"
                )
        return found


@cache
def offers() -> tuple[Offer, ...]:
    """Return the contents of all installed plugins, in the order of their names."""
    return tuple(_offer(entry) for entry in sorted(entry_points(group=GROUP), key=lambda e: e.name))


def readers() -> tuple[Reader, ...]:
    """Return all readers."""
    return tuple(reader for offer in offers() for reader in offer.readers)


def drivers() -> tuple[Driver, ...]:
    """Return all drivers."""
    return tuple(driver for offer in offers() for driver in offer.drivers)


def languages() -> dict[str, Language]:
    """Return all languages by their names."""
    return {one.name: one for offer in offers() for one in offer.languages}


def language(name: str) -> Language:
    """Return the language of that name. Raises UserError when there is none."""
    known = languages()
    if name not in known:
        raise UserError(f"no plugin has the machine language '{name}'", fix=nearest(name, known))
    return known[name]


def machine_files() -> tuple[Path, ...]:
    """Return the machine profiles in plugins."""
    return tuple(path for offer in offers() for path in offer.machines)


def reader_for(path: Path) -> Reader:
    """Return the reader for a drawing by its suffix. Raises UserError when there is none."""
    suffix = path.suffix.lower()
    for reader in readers():
        if suffix in reader.suffixes:
            return reader
    known = sorted({suffix for reader in readers() for suffix in reader.suffixes})
    raise UserError(
        f"'{path.name}' is not a drawing that can be read", fix=f"Available: {', '.join(known)}."
    )


def read_drawing(path: Path, pick: Mapping[str, Any], size: str = "") -> Drawing:
    """Read a drawing with the reader for its suffix. pick: a `from` table without its file.

    size: the set's, for a reader whose files may hold several sizes of one piece.

    Public: a reader may pass on what it made from its file. Raises UserError for a key that the
    reader doesn't know, and for faults in the drawing.
    """
    reader = reader_for(path)
    wrong = next((key for key in pick if key not in reader.picks), None)
    if wrong is not None:
        raise UserError(
            f"the reader '{reader.name}' has no key '{wrong}'",
            fix=nearest(wrong, reader.picks),
            place=Place(file=path),
        )
    if size and "size" in reader.picks:
        pick = {"size": size, **pick}
    with blamed(reader.name):
        return reader.read(path, pick)


def driver(name: str) -> Driver:
    """Return the driver of that name. Raises UserError when there is none."""
    for one in drivers():
        if one.name == name:
            return one
    raise UserError(f"there is no driver '{name}'", fix=nearest(name, (d.name for d in drivers())))


def options_model(driver_name: str) -> type | None:
    """Return the model of a driver's options. Raises UserError when there is no such driver."""
    return driver(driver_name).options


def interpreter_for(driver_name: str) -> Interpreter | None:
    """Return the interpreter that reads this driver's files back, if any."""
    for offer in offers():
        for interpreter in offer.interpreters:
            if driver_name in interpreter.drivers:
                return interpreter
    return None


def pricks_finder() -> PricksFinder:
    """Return the finder of pricks in pictures. Raises UserError when no plugin has one."""
    for offer in offers():
        for finder in offer.pricks_finders:
            return finder
    raise UserError(
        "no installed plugin finds pricks in pictures",
        fix="Install one: pip install 'plotout[photo]'.",
    )


@contextmanager
def blamed(plugin: str) -> Iterator[None]:
    """Turn any fault but our own errors into a PluginError that names the plugin."""
    try:
        yield
    except (PlotoutError, KeyboardInterrupt):
        raise
    except Exception as fault:
        raise PluginError(
            f"plugin '{plugin}' failed: {type(fault).__name__}: {fault}",
            fix="Report this to its maker, with the file that it was given.",
        ) from fault


def _offer(entry: Any) -> Offer:
    manager = pluggy.PluginManager(GROUP)
    manager.add_hookspecs(hookspecs)
    with blamed(entry.name):
        manager.register(entry.load(), name=entry.name)
        manager.check_pending()
    return Offer(
        plugin=entry.name,
        package=entry.dist.name if entry.dist else "",
        version=entry.dist.version if entry.dist else "",
        hook=manager.hook,
    )
