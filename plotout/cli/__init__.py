"""The command line: parse, call, print. No other package prints.

Every command has its own module in this package and is loaded when it is called.
"""

from __future__ import annotations

import atexit
import gc
import os
import sys
import warnings
from difflib import get_close_matches
from importlib import import_module
from typing import NoReturn

import click

from plotout.cli import interrupt
from plotout.errors import PlotoutError, StoppedAgain, UserError, clean, nearest

COMMANDS = {
    "frame": "Make strips of coded marks to lay around a pricked sheet for photographing.",
    "pricks": "Read the pricks of a sheet from photographs or scans.",
    "show": "Show what a set holds: pieces, edges, lengths, notches.",
    "check": "Walk the seams of a set and measure its truing.",
    "make": "Make the files for a machine from a set file, with a picture of every sheet.",
    "nest": "Draw all sizes of a piece over one another.",
    "page": "Write one HTML page that shows a whole set for a machine.",
    "picture": "Draw a stage of a set as PNG or SVG: piece, card, sheet or program.",
    "proof": "Report what a machine would do with a file from any source.",
    "machines": "List the available machines, or describe one.",
    "strip": "Make a strip of test cuts; write the best field's settings to the profile.",
    "send": "Send a file to a machine, or to a virtual one.",
    "resume": "Resume an interrupted job.",
    "ports": "List the ports, or ask what is connected to one.",
    "virtual": "Simulate a machine on a pseudo-terminal, for trial runs.",
    "cloth": "Work out how much cloth a set takes, at one or several widths.",
    "chart": "Print the papers of a set: pattern chart, cutter's must.",
    "rack": "Keep the record of sets: put, find, compare, recut.",
    "explain": "Explain what a set file, a stock file or a profile may hold.",
    "plugins": "List the installed plugins and what they offer.",
    "calibrate": "Calibrate a machine from its measured test square.",
    "marks": "Work out where a sheet lies from its registration marks.",
}


class _Lazy(click.Group):
    """A group whose commands are imported only when they are asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        command = getattr(import_module(f"plotout.cli.{cmd_name}_command"), cmd_name)
        return _careful(command) if isinstance(command, click.Command) else None

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if wrong := next((word for word in args if _is_mistyped(word)), None):
            plain = _plainly(wrong)
            raise click.UsageError(f"'{clean(wrong)}': type '{clean(plain)}', with {_SIGNS}", ctx)
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            raise click.UsageError(
                f"there is no command '{clean(args[0])}'. {nearest(args[0], COMMANDS)}", ctx
            )
        return super().resolve_command(ctx, args)

    def invoke(self, ctx: click.Context) -> object:
        """Run the command; what click quotes of its words is such as a terminal can show."""
        try:
            return super().invoke(ctx)
        except click.NoSuchOption as wrong:
            near = get_close_matches(wrong.option_name, wrong.possibilities or (), 1)
            raise click.NoSuchOption(clean(wrong.option_name), None, near, wrong.ctx) from wrong
        except click.UsageError as wrong:
            words = wrong.format_message()
            if clean(words) == words:
                raise
            raise click.UsageError(clean(words), wrong.ctx) from wrong

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


_SIGNS = "plain hyphens and quotes; an editor may have changed them."
_DASHES, _QUOTES = (
    "\u2010\u2011\u2012\u2013\u2014\u2015\u2212",
    "\u201c\u201d\u201e\u2018\u2019\u201a",
)


def _is_mistyped(word: str) -> bool:
    """Return whether a word is an option after a long dash, or a name in quotes no shell knows."""
    if word[:1] in tuple(_DASHES):
        return word.lstrip(_DASHES + "-").replace("-", "").isalpha() and not os.path.lexists(word)
    bare = word.strip(_QUOTES)
    return bare not in (word, "") and (bare in COMMANDS or os.path.lexists(bare))


def _plainly(word: str) -> str:
    """Return a word with hyphens for dashes, of which one stands for two, and without quotes."""
    if word[0] in _DASHES:
        return "--" + word.lstrip(_DASHES + "-")
    return f'"{word.strip(_QUOTES)}"'


def _careful(command: click.Command) -> click.Command:
    """Return a command whose texts, of all that takes any, are such as can be shown and kept."""
    from plotout.cli.options import Words

    for one in (command, *getattr(command, "commands", {}).values()):
        for param in one.params:
            if param.type is click.STRING:
                param.type = Words()
    return command


@click.group(cls=_Lazy, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="plotout")
def plotout() -> None:
    """From a garment pattern to a production set in card, ready to cut.

    Example: plotout make samples/beekeepers-smock/set.toml --machine craft-cutter --out out

    To have the shell complete commands and names, write in its start-up file, in bash (or zsh, with
    zsh_source): eval "$(_PLOTOUT_COMPLETE=bash_source plotout)"; in fish:
    _PLOTOUT_COMPLETE=fish_source plotout | source
    """


def main() -> None:
    """Run the command line; report errors in words, never as a traceback.

    With --json they are printed as data too, so that a reader of the output always gets a report.
    """
    if not os.environ.get("PLOTOUT_TRACE"):
        warnings.simplefilter("ignore")  # what libraries say to programmers is not for users
    _open_closed_streams()
    interrupt.process_ends = True
    click.termui.visible_prompt_func = interrupt.typed
    gc.set_threshold(300_000)  # a command is short: garbage collection took a tenth of its time
    atexit.register(gc.freeze)  # and another tenth at exit, where all memory is freed anyway
    try:
        sys.exit(plotout(standalone_mode=False))  # click hands back the code of ctx.exit()
    except click.ClickException as wrong:
        wrong.show()
        _fail(wrong, wrong.exit_code)
    except (click.Abort, KeyboardInterrupt, StoppedAgain) as stop:
        if isinstance(stop.__cause__, EOFError):  # of ours: click makes it the user's
            _fail_inside(stop.__cause__)
        if isinstance(stop.__context__, EOFError):
            _fail_in_words(
                UserError("the question was not answered", fix="Answer it at a terminal.")
            )
        click.echo("Stopped. Every file is whole, as it was or as it is to be.", err=True)
        _fail(stop, 130)
    except PlotoutError as error:
        _fail_in_words(error)
    except Exception as fault:
        if isinstance(fault, OSError) and _untold():
            sys.exit(1)
        _fail_inside(fault)


def _fail_in_words(error: PlotoutError) -> NoReturn:
    for note in error.notes:
        click.echo(f"Note: {note}", err=True)
    click.echo(f"plotout: {error}", err=True)
    _fail(error, error.exit_code)


def _fail_inside(fault: Exception) -> NoReturn:
    """End with a fault of ours."""
    if os.environ.get("PLOTOUT_TRACE"):
        raise fault
    click.echo(
        f"plotout: internal error: {type(fault).__name__}: {fault}\n"
        "  Report it with the set and the traceback that PLOTOUT_TRACE=1 prints.",
        err=True,
    )
    _fail(fault, 1)


def _fail(error: BaseException, exit_code: int) -> NoReturn:
    """End the process. --json is sought in the raw command line, which may itself be wrong."""
    from plotout.cli.json_output import print_error

    if "--json" in sys.argv[1:]:
        try:
            print_error(error, exit_code)
        except OSError:
            if not _untold():
                raise
    sys.exit(exit_code)


def _open_closed_streams() -> None:
    """Discard output where the caller has closed its stream; give no input where that is closed.

    The null device also takes the stream's number, which a file would else be given.
    """
    sys.stdin = sys.stdin or open(os.devnull, encoding="utf-8")  # noqa: SIM115
    sys.stdout = sys.stdout or open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
    sys.stderr = sys.stderr or open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115


def _untold() -> bool:
    """Return whether standard output takes no more, and say so.

    It is tried with an empty line, which harms neither words nor JSON. What is still in its buffer
    is let go, or Python would try again at exit.
    """
    try:
        sys.stdout.write("\n")
        sys.stdout.flush()
    except OSError as fault:
        click.echo(f"plotout: can't write its output: {fault.strerror or fault}", err=True)
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return True
    return False
