"""Finds plugins by their entry points, and what they offer by its name."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from importlib.metadata import EntryPoint, entry_points
from pathlib import Path
from typing import Any, TypeVar

import pluggy

from plotout import hookspecs
from plotout.errors import Place, PluginError, UserError, nearest
from plotout.guarded import Origin, blamed, guarded
from plotout.hookspecs import Driver, Interpreter, PricksFinder
from plotout.language import Language
from plotout.pattern.drawing import Drawing, Reader

GROUP = "plotout"
T = TypeVar("T")


@dataclass(frozen=True)
class Offer:
    """The contents of one plugin, which is loaded when something of it is first asked for."""

    entry: EntryPoint
    origin: Origin

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

    @cached_property
    def _hooks(self) -> Any:
        """Its hooks, once it is loaded. Raises PluginError."""
        manager = pluggy.PluginManager(GROUP)
        manager.add_hookspecs(hookspecs)
        with blamed(self.origin, "to load"):
            name = manager.register(self.entry.load(), name=self.origin.plugin)
            manager.check_pending()
        if name is None or not manager.get_hookcallers(manager.get_plugin(name)):
            raise self.origin.error("offers nothing: none of its functions is marked @hookimpl")
        return manager.hook

    def _all(self, hook: str, kind: type[T]) -> tuple[T, ...]:
        caller = getattr(self._hooks, hook)
        with blamed(self.origin, f"in {hook}"):
            given = caller()
            if len(given) < len(caller.get_hookimpls()):
                raise TypeError("it returned None, not a list")
            found = tuple(item for group in given for item in group)
        return tuple(guarded(item, kind, self.origin) for item in found)


@cache
def offers() -> tuple[Offer, ...]:
    """Return all installed plugins, in the order of their names."""
    entries = sorted(entry_points(group=GROUP), key=lambda entry: entry.name)
    return tuple(Offer(entry, _origin(entry)) for entry in entries)


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
    offered = [(offer, one) for offer in offers() for one in offer.languages if one.name == name]
    if not offered:
        raise UserError(
            f"no plugin has the machine language '{name}'", fix=nearest(name, languages())
        )
    return _only(offered, f"the machine language '{name}'")


def machine_files() -> tuple[Path, ...]:
    """Return the machine profiles in plugins."""
    return tuple(path for offer in offers() for path in offer.machines)


def reader_for(path: Path) -> Reader:
    """Return the reader for a drawing by its suffix, the longest that some reader has.

    Raises UserError when there is none.
    """
    by_suffix: dict[str, list[tuple[Offer, Reader]]] = {}
    for offer in offers():
        for reader in offer.readers:
            for suffix in reader.suffixes:
                by_suffix.setdefault(suffix.lower(), []).append((offer, reader))
    for suffix in sorted(by_suffix, key=len, reverse=True):
        if path.name.lower().endswith(suffix):
            return _only(by_suffix[suffix], f"a reader of {suffix}")
    raise UserError(
        f"'{path.name}' is not a drawing that can be read",
        fix=f"Available: {', '.join(sorted(by_suffix))}.",
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
    return reader.read(path, pick)


def driver(name: str) -> Driver:
    """Return the driver of that name. Raises UserError when there is none."""
    offered = [(offer, one) for offer in offers() for one in offer.drivers if one.name == name]
    if not offered:
        known = (one.name for one in drivers())
        raise UserError(f"there is no driver '{name}'", fix=nearest(name, known))
    return _only(offered, f"the driver '{name}'")


def options_model(driver_name: str) -> type | None:
    """Return the model of a driver's options. Raises UserError when there is no such driver."""
    return driver(driver_name).options


def flows(driver_name: str, language_name: str) -> Sequence[str]:
    """Return the flow controls of a language; of the driver's own where none is named.

    Raises UserError when there is no such language or driver.
    """
    name = language_name or driver(driver_name).language
    return language(name).flows if name else ()


def interpreter_for(driver_name: str) -> Interpreter | None:
    """Return the interpreter that reads this driver's files back, if any."""
    offered = [
        (offer, one)
        for offer in offers()
        for one in offer.interpreters
        if driver_name in one.drivers
    ]
    return _only(offered, f"an interpreter for '{driver_name}'") if offered else None


def pricks_finder() -> PricksFinder:
    """Return the finder of pricks in pictures. Raises UserError when no plugin has one."""
    offered = [(offer, one) for offer in offers() for one in offer.pricks_finders]
    if offered:
        return _only(offered, "a finder of pricks")
    raise UserError(
        "no installed plugin finds pricks in pictures",
        fix="Install one: pip install 'plotout[photo]'.",
    )


def _only(offered: Sequence[tuple[Offer, T]], what: str) -> T:
    """Return the one thing that is offered. Raises PluginError where several plugins offer it."""
    if len(offered) > 1:
        first, second = (offer.origin for offer, _ in offered[:2])
        raise PluginError(
            f"two plugins have {what}: {first} and {second}",
            fix="Which one is meant can't be known. Uninstall one of the packages.",
        )
    return offered[0][1]


def _origin(entry: EntryPoint) -> Origin:
    dist = entry.dist
    return Origin(entry.name, dist.name if dist else "", dist.version if dist else "")
