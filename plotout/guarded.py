"""What plugins offer, guarded: their faults name them, and what they return is checked."""

from __future__ import annotations

import inspect
import re
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, redirect_stdout
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, TypeVar, cast

from plotout.conversation import Account, Differences, Heard, Safe
from plotout.errors import PlotoutError, PluginError
from plotout.hookspecs import Driver, Interpreter, PricksFinder, PricksFound
from plotout.language import Language
from plotout.machine import Machine
from plotout.model import Card, Program, Reading, Sheet
from plotout.pattern.drawing import Drawing, Reader, Shape
from plotout.tables.fields import is_table

OURS = "plotout"
T = TypeVar("T")
_SUFFIX = re.compile(r"(\.[A-Za-z0-9_-]+)+")


@dataclass(frozen=True, slots=True)
class Origin:
    """Where something that a plugin offers comes from."""

    plugin: str
    package: str
    version: str

    def __str__(self) -> str:
        """Name it in a message."""
        package = f", of the package {self.package} {self.version}," if self.package else ""
        return f"plugin '{self.plugin}'{package}"

    def error(self, problem: str) -> PluginError:
        """Return the error that blames it for this."""
        fix = "Report this, with the files that it was given."
        if self.package not in ("", OURS):
            fix = (
                f"Report this to the maker of {self.package}, with the files that it was given; "
                f"pip uninstall {self.package} removes it."
            )
        return PluginError(f"{self} {problem}", fix=fix)


@contextmanager
def blamed(origin: Origin, doing: str) -> Iterator[None]:
    """Turn any fault but our own errors into one that names the plugin and says what it did.

    doing: what follows "failed", as in "failed to load".
    """
    try:
        yield
    except (PlotoutError, KeyboardInterrupt):
        raise
    except (Exception, SystemExit) as fault:
        raise origin.error(f"failed {doing}: {type(fault).__name__}: {fault}") from fault


def guarded(item: T, kind: type[T], origin: Origin) -> T:
    """Return something of that kind that a plugin offers, with its functions guarded.

    Raises PluginError for what can't be used: a driver's suffix that is none, a lacking file.
    """
    if not isinstance(item, kind):
        raise origin.error(f"offers {item!r}, which is not a {kind.__name__}")
    return cast(T, _GUARDS[kind](item, origin))


@dataclass(frozen=True, slots=True)
class _Guarded:
    """A plugin's function. checked: returns what the function gave, or raises TypeError.

    What it prints goes to standard error: standard output is the command's own.
    """

    call: Callable[..., Any]
    origin: Origin
    what: str
    checked: Callable[[Any], Any]

    def __call__(self, *given: Any) -> Any:
        for one in given:
            _held(one)
        with redirect_stdout(sys.stderr):
            return self._called(given, {})

    def _called(self, given: Sequence[Any], named: Mapping[str, Any]) -> Any:
        with blamed(self.origin, f"in {self.what}"):
            result = self.checked(self.call(*given, **named))
        return self._watched(result) if isinstance(result, Iterator) else result

    def _watched(self, results: Iterator[Any]) -> Iterator[Any]:
        """Yield what a plugin yields, with its faults named."""
        with blamed(self.origin, f"in {self.what}"):
            yield from results


@dataclass(frozen=True, slots=True)
class _Spoken(_Guarded):
    """A method of a language: what is said to the user meanwhile goes where it always does."""

    def __call__(self, *given: Any, **named: Any) -> Any:
        return self._called(given, named)


def _held(given: Any) -> None:
    """Keep a plugin from changing the points that its work is compared with afterwards."""
    if isinstance(given, Program):
        for run in given.runs:
            run.points.flags.writeable = False
            run.stroke.points.flags.writeable = False
    elif isinstance(given, Sheet):
        for placed in given.placed:
            placed.card.outline.flags.writeable = False
            for stroke in placed.card.strokes:
                stroke.points.flags.writeable = False


@dataclass(frozen=True, slots=True)
class _A:
    """Checks that something is of a kind."""

    kind: type

    def __call__(self, value: Any) -> Any:
        if not isinstance(value, self.kind):
            raise TypeError(f"it returned {_shown(value)}, not {self.kind.__name__}")
        return value


def _nothing(_value: Any) -> None:
    """Take what is returned where nothing is asked for."""


def _each_a(kind: type, values: Iterable[Any]) -> tuple[Any, ...]:
    return tuple(_A(kind)(value) for value in values)


def _some(values: Any) -> tuple[Any, ...]:
    return tuple(values)


def _read_parts(values: Any) -> Iterator[tuple[int, Any]]:
    return ((at, _A(Reading)(reading)) for at, reading in values)


def _cards(values: Any) -> tuple[Any, ...]:
    return _each_a(Card, values)


def _drawing(value: Any) -> Any:
    drawing = _A(Drawing)(value)
    return replace(
        drawing, shapes=_each_a(Shape, drawing.shapes), notes=_each_a(str, drawing.notes)
    )


def _shown(value: Any) -> str:
    return "None" if value is None else f"a {type(value).__name__}"


def _driver(driver: Driver, origin: Origin) -> Driver:
    if not _SUFFIX.fullmatch(driver.suffix):
        raise origin.error(
            f"offers a driver '{driver.name}' whose suffix, {driver.suffix!r}, is not like '.txt'"
        )
    if driver.options is not None and not is_table(driver.options):
        raise origin.error(f"offers a driver '{driver.name}' whose options are not marked @table")

    def call(name: str, checked: Callable[[Any], Any]) -> Any:
        function = getattr(driver, name)
        what = f"the {name} of its driver '{driver.name}'"
        return _Guarded(function, origin, what, checked) if function else None

    return replace(
        driver,
        emit=call("emit", _A(bytes)),
        check=call("check", _nothing),
        as_driven=call("as_driven", _A(Machine)),
        tiles=call("tiles", _some),
        grids=call("grids", _some),
    )


def _interpreter(interpreter: Interpreter, origin: Origin) -> Interpreter:
    what = f"its interpreter '{interpreter.name}'"
    parts = interpreter.parts
    return replace(
        interpreter,
        read=_Guarded(interpreter.read, origin, what, _A(Reading)),
        parts=_Guarded(parts, origin, what, _read_parts) if parts else None,
    )


def _reader(reader: Reader, origin: Origin) -> Reader:
    wrong = [suffix for suffix in reader.suffixes if not _SUFFIX.fullmatch(suffix)]
    if wrong:
        raise origin.error(
            f"offers a reader '{reader.name}' whose suffix, {wrong[0]!r}, is not like '.txt'"
        )
    return replace(
        reader, read=_Guarded(reader.read, origin, f"its reader '{reader.name}'", _drawing)
    )


def _finder(finder: PricksFinder, origin: Origin) -> PricksFinder:
    what = f"its finder of pricks '{finder.name}'"
    return replace(
        finder,
        strips=_Guarded(finder.strips, origin, what, _cards),
        find=_Guarded(finder.find, origin, what, _A(PricksFound)),
    )


def _language(language: Language, origin: Origin) -> Language:
    if not isinstance(language.name, str):
        raise origin.error(f"offers a language whose name is {_shown(language.name)}")
    for name, _ in inspect.getmembers(Language, callable):
        if not name.startswith("_"):
            checked = _LANGUAGE.get(name, _as_given)
            what = f"the {name} of its language '{language.name}'"
            call = _Spoken(getattr(language, name), origin, what, checked)
            object.__setattr__(language, name, call)
    return language


def _as_given(value: Any) -> Any:
    return value


def _something(value: Any) -> Any:
    if value is None:
        raise TypeError("it returned None")
    return value


def _profile(path: Path, origin: Origin) -> Path:
    if not path.is_file():
        raise origin.error(f"offers a machine profile that isn't there: {path}")
    return path


_LANGUAGE: dict[str, Callable[[Any], Any]] = {
    "stops": _A(list),
    "state": _A(bytes),
    "opened": _A(bytes),
    "counted": _A(bytes),
    "made_for": _A(str),
    "hear": _A(Heard),
    "identify": _A(tuple),
    "differences": _A(Differences),
    "account": _A(Account),
    "make_safe": _A(Safe),
    "virtual": _something,
}
"""What the methods of a language return; the others' results are used where they are checked."""
_GUARDS: dict[type, Callable[[Any, Origin], Any]] = {
    Driver: _driver,
    Interpreter: _interpreter,
    Reader: _reader,
    PricksFinder: _finder,
    Language: _language,
    Path: _profile,
}
