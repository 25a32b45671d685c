"""Profiles: descriptions of machines in TOML, shipped with plotout or the user's own."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from importlib.resources import files
from pathlib import Path
from typing import Any, Protocol, TypeVar

from plotout import folders
from plotout.errors import UserError, all_of, nearest
from plotout.machine.model import FLOWS, Calibration, Machine
from plotout.tables import Source, Table, parse_toml, read, read_table
from plotout.tables.edit import Document
from plotout.tables.source import text_of

T = TypeVar("T")


class Plugins(Protocol):
    """What a profile is checked with: the contents of the installed plugins."""

    def options_model(self, driver_name: str, /) -> type | None:
        """Return the model of a driver's `[options]`; None where it has none."""

    def flows(self, driver_name: str, language_name: str, /) -> Sequence[str]:
        """Return the flow controls of a language by name; "" is the driver's own."""


def shipped() -> tuple[Path, ...]:
    """Return the profiles that come with plotout."""
    folder = Path(str(files("plotout.machine") / "shipped"))
    return tuple(sorted(folder.glob("*.toml")))


def known(extra: Sequence[Path] = ()) -> dict[str, Path]:
    """Return name to profile; the user's own override those of plugins and plotout."""
    try:
        own = sorted(folders.profiles().glob("*.toml"))
    except UserError:  # the user has no home folder, and so no profiles
        own = []
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


def load(
    name_or_path: str | Path, extra: Sequence[Path] = (), known: Plugins | None = None
) -> Machine:
    """Return a machine by its name or its profile's path.

    known: to check the driver's own options, and the language. Raises UserError with all faults.
    """
    path = find(name_or_path, extra)
    return parse(text_of(path, "profile"), path, known)


def parse(text: str, path: Path, known: Plugins | None = None) -> Machine:
    """Return the machine that a profile's text describes. path: for its name, and for errors."""
    source = parse_toml(
        text,
        path,
        tables=("bed", "motion", "tools", "calibration", "options", "sending"),
        several=("tools",),
    )
    wrong: list[UserError] = []
    machine = _tried(wrong, lambda: read(Machine, source, name=path.stem))
    if known is not None:
        _tried(wrong, lambda: _check_options(source, known))
        _tried(wrong, lambda: _check_flow(source, known))
    if machine is None or wrong:
        raise all_of(wrong)
    return machine


def _tried(wrong: list[UserError], make: Callable[[], T]) -> T | None:
    try:
        return make()
    except UserError as fault:
        wrong += getattr(fault, "errors", (fault,))
        return None


def _check_options(source: Source, known: Plugins) -> None:
    driver, options = source.top.get("driver"), source.top.get("options", {})
    if not isinstance(driver, str) or not isinstance(options, dict):
        return
    try:
        model = known.options_model(driver)
    except UserError as fault:
        raise UserError(fault.problem, fix=fault.fix, place=source.place(("driver",))) from None
    if model is not None:
        read_table(model, options, source, ("options",))
    elif options:
        raise UserError(
            f"the driver '{driver}' has no options",
            fix="Remove [options].",
            place=source.place(("options",)),
        )


def _check_flow(source: Source, known: Plugins) -> None:
    """Raise UserError for a language that no plugin has, and for a flow that it doesn't have."""
    driver, written = source.top.get("driver"), source.top.get("sending", {})
    given = written if isinstance(written, dict) else {}
    language, flow = given.get("language", ""), given.get("flow", "")
    if not (isinstance(driver, str) and isinstance(language, str) and (language or flow)):
        return
    try:
        flows = known.flows(driver, language)
    except UserError as fault:
        place = source.place(("sending", "language") if language else ("driver",))
        raise UserError(fault.problem, fix=fault.fix, place=place) from None
    if isinstance(flow, str) and flow in FLOWS and flows and flow not in flows:
        raise UserError(
            f"the machine's language has no flow control '{flow}'",
            fix=nearest(flow, flows),
            place=source.place(("sending", "flow")),
        )


def to_edit(name: str, source: Path) -> tuple[str, Path]:
    """Return a profile's text, line ends and all, and the path of the user's own to write it to.

    name: as the user gave it; source: where it was found. One that comes with plotout or a plugin
    stays as it is.
    """
    home = folders.profiles()
    own = source.resolve().parent == home.resolve() or name.endswith(".toml")
    return source.read_bytes().decode("utf-8-sig"), source if own else home / source.name


def options_of(machine: Machine, model: type[T], **given: Any) -> T:
    """Return a machine's `[options]` as its driver's model. Raises UserError for bad ones.

    given: fields of the model that are not in the profile.
    """
    source = Source(Path(f"{machine.name}.toml"), Table(options=machine.options))
    return read_table(model, dict(machine.options), source, ("options",), **given)


def with_settings(text: str, tool: str, settings: Mapping[str, Any]) -> str:
    """Return a profile's text with new values for fields of one tool, and no other change.

    settings: field to value as written in the file, "0.45 mm". Raises UserError when there is no
    such tool.
    """
    document = Document(text)
    document.set_in("tools", tool, settings)
    return document.text


def with_calibration(text: str, calibration: Calibration) -> str:
    """Return a profile's text with this calibration in place of any other."""
    document = Document(text)
    values = {
        "scale-x": round(calibration.scale_x, 6),
        "scale-y": round(calibration.scale_y, 6),
        "skew": round(calibration.skew, 4),
        "date": calibration.date,
    }
    document.set("calibration", values)
    return document.text
