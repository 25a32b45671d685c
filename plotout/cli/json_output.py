"""The JSON that commands print: one object, with units in the names of its keys."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import click

from plotout.errors import MachineError, PlotoutError, PluginError, StoppedAgain, UserError

KINDS = {UserError: "input", MachineError: "machine", PluginError: "plugin"}

MOST_ERRORS = 1000


def print_json(report: Mapping[str, Any]) -> None:
    """Print a command's report."""
    click.echo(json.dumps(report, indent=1, ensure_ascii=False))


def print_error(error: BaseException, exit_code: int) -> None:
    """Print why a command has no report: `errors` with their kinds and places, and `exit_code`.

    kind: "input", "machine", "plugin"; "usage" for a wrong command line; "stopped" by the user;
    "fault" for an internal error. `more` counts the errors beyond MOST_ERRORS. `notes`, if there
    are any, hold what else was found.
    """
    parts = getattr(error, "errors", (error,))
    left = {"more": len(parts) - MOST_ERRORS} if len(parts) > MOST_ERRORS else {}
    shown = [_as_data(part) for part in parts[:MOST_ERRORS]]
    notes = getattr(error, "notes", ())
    said = {"notes": list(notes)} if notes else {}
    print_json({"errors": shown} | left | said | {"exit_code": exit_code})


def _as_data(error: BaseException) -> dict[str, Any]:
    if isinstance(error, PlotoutError):
        kind = next((name for family, name in KINDS.items() if isinstance(error, family)), "fault")
        place = error.place
        found = {
            "file": None if place.file is None else str(place.file),
            "line": place.line,
            "piece": place.piece,
            "at_mm": None if place.at is None else list(place.at),
        }
        said = {"kind": kind, "problem": error.problem, "fix": error.fix}
        return said | {key: value for key, value in found.items() if value is not None}
    if isinstance(error, click.ClickException):
        return {"kind": "usage", "problem": error.format_message()}
    if isinstance(error, (click.Abort, KeyboardInterrupt, StoppedAgain)):
        return {"kind": "stopped", "problem": "stopped by the user"}
    return {"kind": "fault", "problem": f"{type(error).__name__}: {error}"}
