"""One family of errors: where it went wrong, what is wrong, what to do."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, replace
from datetime import date, time
from pathlib import Path
from typing import Any
from unicodedata import category

MOST_TOLD = 30  # faults of one input
_NO_ISOLATES = dict.fromkeys(range(0x2066, 0x206A))  # which papers have about names
_TURNING = "\u202a\u202b\u202c\u202d\u202e"  # UAX 9, 2.1 and 2.2
LONGEST_LINE = 300  # characters of a message: more than that is quoted input


@dataclass(frozen=True, slots=True)
class Place:
    """Where a fault lies; every part is optional. `at` is x, y in mm."""

    file: Path | str | None = None
    line: int | None = None
    piece: str | None = None
    at: tuple[float, float] | None = None

    def __str__(self) -> str:
        parts = []
        if self.file is not None:
            parts.append(clean(str(self.file)) + (f", line {self.line}" if self.line else ""))
        elif self.line:
            parts.append(f"line {self.line}")
        if self.piece:
            parts.append(f"piece '{clean(' '.join(self.piece.split()))}'")
        if self.at is not None:
            parts.append(f"at x {self.at[0]:.2f} mm, y {self.at[1]:.2f} mm")
        return ", ".join(parts)


class PlotoutError(Exception):
    """A fault reported to the user in words. `exit_code` is the process's.

    `problem` says what is wrong, `fix` what to do about it, `place` where it is. in_job: a job had
    begun at a machine, so that it can be resumed. notes: what else was found, and is no fault.
    """

    exit_code = 1
    in_job = False
    notes: tuple[str, ...] = ()

    def __init__(self, problem: str, *, fix: str = "", place: Place | None = None) -> None:
        super().__init__(problem)
        self.problem = clean(problem)
        self.fix = clean(fix)
        self.place = place or Place()

    def __str__(self) -> str:
        where = str(self.place)
        text = f"{where}: {self.problem}" if where else self.problem
        return f"{text}\n  {self.fix}" if self.fix else text

    @property
    def in_a_line(self) -> str:
        """What is wrong in one line, as a fault of its piece or of the set."""
        piece = clean(self.place.piece) if self.place.piece else ""
        text = f"{self.problem}. {self.fix}" if self.fix else self.problem
        text += f" (line {self.place.line})" if self.place.line else ""
        return f"{piece}: {text}" if piece else text


class UserError(PlotoutError):
    """The user's input is at fault: set file, drawing, profile, option. Exit code 2."""

    exit_code = 2


class UserErrors(UserError):  # noqa: N818 (there are several)
    """Several faults of one input, all listed. `problem`, `fix` and `place` are the first one's."""

    def __init__(self, errors: Iterable[UserError]) -> None:
        self.errors = tuple(errors)
        first = self.errors[0]
        super().__init__(first.problem, fix=first.fix, place=first.place)

    def __reduce__(self) -> tuple[Any, ...]:
        # it may be passed between processes
        return UserErrors, (self.errors,), {"notes": self.notes}

    def __str__(self) -> str:
        lines = [str(error) for error in self.errors[:MOST_TOLD]]
        if len(self.errors) > MOST_TOLD:
            lines.append(f"and {len(self.errors) - MOST_TOLD} more")
        return "\n".join([f"{len(self.errors)} things are wrong", *lines])


def all_of(errors: Sequence[UserError]) -> UserError:
    """Return one error that lists all of these, at least one; those of a file by their lines."""
    return errors[0] if len(errors) == 1 else UserErrors(_by_line(errors))


def _by_line(errors: Sequence[UserError]) -> list[UserError]:
    """Return errors with those of every file in the order of their lines; others stay in place."""
    ordered = list(errors)
    for file in {error.place.file for error in errors if error.place.line is not None}:
        spots = [
            index
            for index, error in enumerate(errors)
            if error.place.line is not None and error.place.file == file
        ]
        sorted_ones = sorted((errors[index] for index in spots), key=lambda e: e.place.line or 0)
        for index, error in zip(spots, sorted_ones, strict=True):
            ordered[index] = error
    return ordered


def each_of(error: UserError) -> tuple[UserError, ...]:
    """Return the faults that an error lists, or itself."""
    return error.errors if isinstance(error, UserErrors) else (error,)


@contextmanager
def collecting_errors() -> Iterator[Callable[[], AbstractContextManager[None]]]:
    """Give what each of several things is tried in; all that went wrong is raised at the end."""
    errors: list[UserError] = []

    @contextmanager
    def trying() -> Iterator[None]:
        try:
            yield
        except UserError as fault:
            errors.extend(each_of(fault))

    yield trying
    if errors:
        raise all_of(errors)


@contextmanager
def found_in(file: Path | str) -> Iterator[None]:
    """Add this file to errors raised within that name no file."""
    try:
        yield
    except UserError as fault:
        for error in (fault, *getattr(fault, "errors", ())):
            if error.place.file is None:
                error.place = replace(error.place, file=file)
        raise


@contextmanager
def in_context(what: str) -> Iterator[None]:
    """Begin what is wrong within with `what`, as the size that it is wrong in; "" for nothing."""
    try:
        yield
    except UserError as fault:
        if not what:
            raise
        raise all_of(
            [UserError(f"{what}: {e.problem}", fix=e.fix, place=e.place) for e in each_of(fault)]
        ) from fault


class MachineError(PlotoutError):
    """A machine, port or file system failed. Exit code 1."""


class PluginError(PlotoutError):
    """A plugin failed or broke its contract; the message names it. Exit code 1."""


def nearest(wrong: str, right: Iterable[str], none: str = "There is none yet.") -> str:
    """Return a hint such as "Did you mean 'armhole'?", or the list of available names.

    none: what to do where none has a name.
    """
    names = list(dict.fromkeys(filter(None, right)))
    folded = {name.casefold(): name for name in reversed(names)}
    near = difflib.get_close_matches(wrong[:200].strip().casefold(), folded, n=1, cutoff=0.5)
    if near:
        return f"Did you mean '{folded[near[0]]}'?"
    return "Available: " + ", ".join(names) + "." if names else none


def nearest_file(wrong: str, right: Iterable[str], none: str = "Is the path right?") -> str:
    """Return such a hint for names of files, whose endings alone make no two alike."""
    ending = Path(wrong).suffix
    names = sorted(right, key=lambda name: Path(name).suffix == ending)
    by_stem = {Path(name).stem: name for name in names}
    hint = nearest(Path(wrong).stem, by_stem, none)
    for stem, name in by_stem.items():
        if hint == f"Did you mean '{stem}'?":
            return f"Did you mean '{name}'?"
    return "Available: " + ", ".join(sorted(names)) + "." if names else none


class StoppedAgain(BaseException):
    """Ctrl-C was pressed twice: unlike the first, it also ends a search that keeps its best."""


def counted(number: int, noun: str) -> str:
    """Return a number of things in words: "1 sheet", "2 sheets"."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def quoted(names: Iterable[str]) -> str:
    """Return names in quotation marks, joined by "and"."""
    return " and ".join(f"'{name}'" for name in names)


def shown(value: Any) -> str:
    """Return a value as it was read, for a message: one short line of printable characters."""
    if isinstance(value, date | time):
        text = value.isoformat()
    elif isinstance(value, bool):
        text = str(value).lower()  # as TOML, JSON and the guides write it
    elif isinstance(value, dict):
        text = "a table"
    elif isinstance(value, list) and any(isinstance(item, dict) for item in value):
        text = "a list of tables"
    elif isinstance(value, list) and len(value) <= 60:
        text = f"[{', '.join(map(shown, value))}]"
    else:
        text = repr(str(value)) if isinstance(value, str) else repr(value)
    return text if len(text) <= 60 else f"{text[:40]} ... {text[-12:]}"


def is_text(value: object) -> bool:
    """Return whether it is text that can be written and shown: no control characters, and none
    that turn what follows round.
    """
    return isinstance(value, str) and all(
        letter in "\t\n" or (letter not in _TURNING and category(letter) not in ("Cc", "Cs"))
        for letter in value
    )


def clean(text: str) -> str:
    """Return text that a terminal can show: no control characters, no overlong line."""
    text = text.translate(_NO_ISOLATES)
    if text.isprintable() and len(text) <= LONGEST_LINE:
        return text
    lines = (line[:LONGEST_LINE] + " ..." * (len(line) > LONGEST_LINE) for line in text.split("\n"))
    return "\n".join("".join(c if c.isprintable() else "\ufffd" for c in line) for line in lines)
