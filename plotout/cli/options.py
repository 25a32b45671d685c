"""Options and arguments that several commands share, declared once."""

from __future__ import annotations

import dataclasses
import functools
import math
import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

import click

from plotout.cli import completion

MOST_SECONDS = 86_400.0
LONGEST_TEXT = 300
F = TypeVar("F", bound=Callable[..., Any])


class _NamedPath(click.Path):
    """A path that can be one: an empty name would silently mean the current folder."""

    def convert(self, value: Any, param: Any, ctx: Any) -> Any:
        """See click.ParamType."""
        from plotout.files import LONGEST_NAME, LONGEST_PATH

        if not str(value).strip():
            self.fail("The name of the file or folder is empty.", param, ctx)
        parts = [len(os.fsencode(part)) for part in Path(value).parts]
        if max(parts, default=0) > LONGEST_NAME or sum(parts) + len(parts) > LONGEST_PATH:
            self.fail("The name of the file or folder is too long.", param, ctx)
        if any("\ud800" <= letter <= "\udfff" for letter in str(value)):  # PEP 383
            self.fail("The name of the file or folder is not UTF-8. Rename it.", param, ctx)
        return super().convert(value, param, ctx)


class _Writable(_NamedPath):
    """Where files will be written: tried at once, before long work.

    folder: it is a folder. endings: what the name of a file may end in; anything if left out.
    """

    def __init__(self, *, folder: bool, endings: tuple[str, ...] = ()) -> None:
        super().__init__(path_type=Path)
        self.folder = folder
        self.endings = endings

    def convert(self, value: Any, param: Any, ctx: Any) -> Any:
        """See click.ParamType."""
        from plotout.errors import is_text
        from plotout.files import check_writable

        path = super().convert(value, param, ctx)
        if ctx.resilient_parsing:
            return path
        if not is_text(path.name):
            self.fail("The name holds a character that can't be shown. Choose another.", param, ctx)
        if not self.folder and path.is_dir():
            self.fail(f"'{path}' is a folder, not a file. Name a file in it.", param, ctx)
        known = " or ".join(", ".join(self.endings).rsplit(", ", 1))
        if self.endings and path.suffix.lower() not in self.endings:
            self.fail(f"'{path.name}' must end in {known}.", param, ctx)
        check_writable(path if self.folder else path.parent)
        return path


PATH = _NamedPath(path_type=Path)


class Words(click.types.StringParamType):
    """Text that can be shown and kept: no control characters."""

    def convert(self, value: Any, param: Any, ctx: Any) -> Any:
        """See click.ParamType."""
        from plotout.errors import is_text

        if not is_text(str(value)):
            self.fail("It holds a character that can't be shown. Remove it.", param, ctx)
        if len(str(value)) > LONGEST_TEXT:
            self.fail(f"It has {len(value)} letters, more than {LONGEST_TEXT}.", param, ctx)
        return super().convert(value, param, ctx)


class Real(click.FloatRange):
    """A number within bounds; neither nan nor infinite, which no bounds of click's keep out."""

    name = "number"

    def convert(self, value: Any, param: Any, ctx: Any) -> float:
        """See click.ParamType."""
        number = float(super().convert(value, param, ctx))
        if not math.isfinite(number):
            self.fail(f"{value!r} is not a number that can be meant.", param, ctx)
        return number


class TwoValues(click.Option):
    """An option of two values: the next option is not taken for the second."""

    def __init__(self, *names: Any, **settings: Any) -> None:
        super().__init__(*names, nargs=2, **settings)

    def type_cast_value(self, ctx: click.Context, value: Any) -> Any:
        """See click.Parameter."""
        swallowed = [one for one in value or () if str(one).startswith("--")]
        if swallowed:
            first = next((str(one) for one in value if one not in swallowed), "A")
            raise click.BadParameter(
                f"It takes two values: {self.opts[0]} {first} B, before {swallowed[0]}.",
                ctx,
                self,
            )
        return super().type_cast_value(ctx, value)


SET_FILE = click.argument("set_file", metavar="SET", type=PATH)
SET_ON_RACK = click.argument("ref", metavar="SET", shell_complete=completion.sets_on_rack)
JSON = click.option("--json", "as_json", is_flag=True, help="Print the report as one JSON object.")
STOCK = click.option(
    "--stock", "stock_file", type=PATH, help="Stock file: the card available to cut from."
)
CARDS = click.option(
    "--card",
    "cards",
    multiple=True,
    shell_complete=completion.cards,
    help="Make only this card (repeatable).",
)
FORCE = click.option(
    "--force", is_flag=True, help="Replace files that belong to another job or were changed since."
)
YES = click.option("--yes", is_flag=True, help="Don't ask before motion (for scripts).")


def machine_option(
    words: str = "A machine's name, or the path of its profile.", *, required: bool = True
) -> Callable[[F], F]:
    """Return --machine. words: its help, where it isn't simply the machine to make files for."""
    return click.option(
        "--machine", required=required, shell_complete=completion.machines, help=words
    )


def seconds_option(
    seconds: float, words: str = "Time for laying the cards, in seconds."
) -> Callable[[F], F]:
    """Return --seconds with its default."""
    return click.option(
        "--seconds", default=seconds, type=Real(0.0, MOST_SECONDS), show_default=True, help=words
    )


def folder_option(
    words: str = "Folder for the files.", *, required: bool = True
) -> Callable[[F], F]:
    """Return --out for a folder, as `folder`."""
    return click.option(
        "--out", "folder", type=_Writable(folder=True), required=required, help=words
    )


def new_file(*endings: str) -> click.Path:
    """Return the type of a file to write, whose name ends in one of `endings`."""
    return _Writable(folder=False, endings=endings)


def file_option(words: str, *endings: str) -> Callable[[F], F]:
    """Return --out for one file, as `target`."""
    return click.option("--out", "target", type=new_file(*endings), required=True, help=words)


@dataclass(frozen=True, slots=True)
class FitOptions:
    """How to fit the marks of a sheet. allow: see `fit_marks`; limit: a length as written."""

    allow: str | None
    limit: str


@dataclass(frozen=True, slots=True)
class EarlierOptions:
    """Which earlier lay to reuse, and where its sheet lies now."""

    lay_file: Path | None
    sheet: int | None
    marks_file: Path | None
    turned_over: bool


def _gathered(name: str, kind: type[Any], *options: Callable[[Any], Any]) -> Callable[[F], F]:
    """Return a decorator that adds options and passes their values as one object, `name`."""

    def decorate(command: F) -> F:
        @functools.wraps(command)
        def gathering(*args: Any, **given: Any) -> Any:
            values = {field.name: given.pop(field.name) for field in dataclasses.fields(kind)}
            return command(*args, **given, **{name: kind(**values)})

        decorated: Any = gathering
        for option in reversed(options):
            decorated = option(decorated)
        return decorated  # type: ignore[no-any-return]

    return decorate


FIT = _gathered(
    "fitting",
    FitOptions,
    click.option(
        "--allow",
        type=click.Choice(["shift", "turn", "scale", "shear"]),
        help="The most that the fit of the marks may do, even where they can't check it; every "
        "choice includes those before it. By default: shift and turn, and more only if the marks "
        "require it and can check it.",
    ),
    click.option(
        "--limit",
        default="0.5 mm",
        show_default=True,
        help="How far a mark may be found from where the others place it.",
    ),
)

EARLIER = _gathered(
    "earlier",
    EarlierOptions,
    click.option(
        "--lay",
        "lay_file",
        type=PATH,
        help="Lay the cards as in this earlier -lay.json file.",
    ),
    click.option(
        "--sheet", type=click.IntRange(1), help="Make only this sheet (by number) of that lay."
    ),
    click.option(
        "--found",
        "marks_file",
        type=PATH,
        help="File of where that sheet's marks lie on the machine; the work is fitted to them.",
    ),
    click.option("--turned-over", is_flag=True, help="That sheet lies face down."),
)
