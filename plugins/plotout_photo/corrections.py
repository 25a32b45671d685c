"""The user's corrections to a table of pricks, so that they can be repeated on a new reading.

A table ends with comments that record what was found: number, place, corner or not, run and kind.
Differences between these and the table's own lines are corrections by hand.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from plotout import FloatArray, Place, UserError
from plotout.kit import decimal_comma, plain_number, read_spreadsheet, read_whole
from plotout_photo.found_again import found_again
from plotout_photo.groups import BESIDE, STAB
from plotout_photo.slips import check_rows

MOVED_CORNER = 0.06  # mm: more than the rounding to one digit, since its stabs are left out then
MOVED = 0.006  # mm: more than the rounding of the table's last digit
FOUND = re.compile(
    r"#\s*found ([0-9]{1,6}) at (\S+) (\S+)( corner)?(?: in (.+) \((straight|curve|closed)\))?$"
)
FARTHEST = 1e6  # mm
MOST_BYTES = 1024 * 1024
_NUMBER = re.compile(r"[0-9]{1,6}")
_SPREADSHEET = ' \t;,"'  # what a spreadsheet adds to a comment
COLUMNS = ("x", "y", "run", "kind")
HEAD = "x,y,run,kind,number,sure,error,photo,px,py"
MEASURED = re.compile(r"#\s*measured: (.+?)(?:, ([0-9.]{1,9}) mm by the strips)?$")
THICKNESS = re.compile(r"#\s*thickness of the strips: (.+)$")
SAID = re.compile(r"#\s*you said: ([0-9]{1,6}) is a corner$")
SMOOTH = re.compile(r"#\s*you said: no corner at (\S+) (\S+)$")
UNSEEN = "unseen"  # instead of a corner's number, if no stab of it was seen
DRAWN = re.compile(r"#\s*drawn at (\S+) (\S+): corner ([0-9+]+)$")
FOUND_UNSEEN = re.compile(r"#\s*found unseen corner at (\S+) (\S+)$")

Pair = tuple[float, float]
"""x, y, mm."""


@dataclass(frozen=True, slots=True)
class RunSaid:
    """A run in the table. numbers: of its pricks."""

    name: str
    kind: str
    numbers: frozenset[int]


@dataclass(frozen=True, slots=True)
class Added:
    """A place that the user added, mm. run: the one it was put in; corner: it is in two."""

    at: Pair
    run: str
    corner: bool = False


@dataclass(frozen=True, slots=True)
class Corrections:
    """Numbers (from 1) of dropped marks and of corners; places that were changed or added.

    runs: those with a changed name or kind. smooth: places where there is no corner.
    """

    drop: frozenset[int] = frozenset()
    corners: frozenset[int] = frozenset()
    moved: Mapping[int, Pair] = field(default_factory=dict)
    added: tuple[Added, ...] = ()
    runs: tuple[RunSaid, ...] = ()
    smooth: tuple[Pair, ...] = ()


def corrections_in(path: Path, new: FloatArray) -> Corrections:
    """Return the corrections in a table, in the numbers of a new reading: new (n, 2), mm.

    Raises UserError if the table is from other pictures.
    """
    lines = _lines(path)
    found, old = _found(lines, path)
    again, scale, shift = found_again(old, new, path)
    rows = _rows(path)
    numbered: dict[int, list[dict[str, str]]] = {}
    by_hand: dict[Pair, list[str]] = {}
    if not any(_numbers(row.get("number", "")) for row in rows):
        raise UserError(
            "this table has lost its column 'number', so its pricks can't be told from added ones",
            fix="Keep all columns, or write to another file with --out.",
            place=Place(path),
        )
    were_corners = {int(m[1]) for m in found if m[4]}
    check_rows(rows, {int(m[1]): m[5] or "" for m in found}, were_corners, path)
    unseen = _places(FOUND_UNSEEN, lines, path)
    lines_of: dict[Pair, list[str]] = {at: [] for at in unseen}
    for row in rows:
        numbers = _numbers(row.get("number", ""))
        if not numbers:
            at = (float(row["x"]), float(row["y"]))
            same = [one for one in unseen if np.hypot(*np.subtract(one, at)) < MOVED]
            for one in same:
                lines_of[one].append(row["run"])
            if not same:
                by_hand.setdefault(at, []).append(row["run"])
        for number in numbers:
            numbered.setdefault(number, []).append(row)

    _move_both(lines_of, by_hand)
    still = {at for at, runs in lines_of.items() if len(runs) > 1}

    def here(at: Pair) -> Pair:
        return _pair(scale * np.array(at) + shift)

    in_run = {int(m[1]) for m in found if m[5]}
    corners = {
        number
        for number, its in numbered.items()
        if len({row["run"] for row in its}) > 1 and number not in were_corners
    }
    corners |= {int(m[1]) for m in map(SAID.match, lines) if m}
    moved: dict[int, Pair] = {}
    added = [Added(here(at), runs[0], len(set(runs)) > 1) for at, runs in by_hand.items()]
    drawn = {m[3]: (_mm(m[1], path), _mm(m[2], path)) for m in map(DRAWN.match, lines) if m}
    left = set[int]()
    for number, its in numbered.items():
        if number not in old:
            continue
        whole = its[0]["number"]
        was = np.array(drawn.get(whole, old[number]))
        now = _put(its, was)
        by, corner, stabs = float(np.abs(now - was).max()), number in corners, _numbers(whole)
        own = by > MOVED
        if len(stabs) > 1:  # a corner that was moved is the user's own, in place of its stabs
            ends_runs = len({row["run"] for row in its}) > 1
            if number == stabs[0] and whole in drawn and ends_runs and by > MOVED_CORNER:
                added.append(Added(here(_pair(now)), its[0]["run"], corner=True))
                left.update(again[stab] for stab in stabs if stab in again)
        elif number not in again and (own or corner):  # the user saw it, though it isn't seen now
            added.append(Added(here(_pair(now)), its[0]["run"], corner))
        elif own and not corner:
            moved[again[number]] = _pair(new[again[number] - 1] + now - old[number])
    smooth = [at for at in [*_places(SMOOTH, lines, path), *unseen] if at not in still]
    smooth += [
        at for at in _no_corners(numbered, drawn)
        if all(np.hypot(*np.subtract(at, one)) > STAB for one in smooth)
    ]  # fmt: skip
    return Corrections(
        drop=frozenset(left | {again[n] for n in in_run - set(numbered) if n in again}),
        corners=frozenset(again[n] for n in corners if n in again),
        moved=moved,
        added=tuple(added),
        runs=_runs_said(rows, found, again),
        smooth=tuple(map(here, smooth)),
    )


def _move_both(lines_of: Mapping[Pair, Sequence[str]], by_hand: dict[Pair, list[str]]) -> None:
    """Move an unseen corner in both its runs where it was moved in the line of one.

    lines_of: of unseen corners, the runs whose lines are as they were written. by_hand: places of
    the user's, and their runs. Where one line is gone, the run goes on.
    """
    for at, runs in lines_of.items():
        moved = [place for place, others in by_hand.items()
                 if len(runs) == len(others) == 1 and runs != others
                 and np.hypot(*np.subtract(place, at)) < BESIDE]  # fmt: skip
        if moved:
            by_hand[min(moved, key=lambda place: np.hypot(*np.subtract(place, at)))] += runs


def _no_corners(
    numbered: Mapping[int, Sequence[Mapping[str, str]]], drawn: Mapping[str, Pair]
) -> list[Pair]:
    """Return the places of corners of which one of two lines was removed: the run goes on there."""
    return [
        drawn[its[0]["number"]]
        for number, its in numbered.items()
        if len(its) == 1 and its[0]["number"] in drawn
        and number == _numbers(its[0]["number"])[0]
    ]  # fmt: skip


def _put(rows: Sequence[Mapping[str, str]], was: FloatArray) -> FloatArray:
    """Return where rows of one place put it, mm: a corner has two, of which one may be changed."""
    places = np.array([[float(row["x"]), float(row["y"])] for row in rows])
    return np.asarray(places[np.abs(places - was).max(axis=1).argmax()])


def numbers_again(path: Path, new: FloatArray) -> tuple[dict[int, FloatArray], dict[int, int]]:
    """Return where the pricks in a table lay, by number, and the numbers in a new reading of those
    that are found again: new (n, 2), mm.

    Raises UserError if the table is from other pictures.
    """
    _, old = _found(_lines(path), path)
    return old, found_again(old, new, path)[0]


def _found(lines: Sequence[str], path: Path) -> tuple[list[re.Match[str]], dict[int, FloatArray]]:
    """Return the record of what was found, and the places by number, mm."""
    found = [m for m in map(FOUND.match, lines) if m]
    if not found:
        raise UserError(
            "this table has no record of what was found, so corrections in it can't be kept",
            fix="Write to another file with --out, or move this one away.",
            place=Place(path),
        )
    return found, {int(m[1]): np.array([_mm(m[2], path), _mm(m[3], path)]) for m in found}


def _pair(at: FloatArray) -> Pair:
    return float(at[0]), float(at[1])


def _places(what: re.Pattern[str], lines: Sequence[str], path: Path) -> list[Pair]:
    """Return the places in comments of a kind."""
    return [(_mm(m[1], path), _mm(m[2], path)) for m in map(what.match, lines) if m]


def measured_in(path: Path) -> tuple[tuple[str, float | None], ...]:
    """Return the distances that were measured for the reading in a table, as they were given.

    With each goes what it was by the strips, mm, if the table tells.
    """
    found = [m for m in map(MEASURED.match, _lines(path)) if m]
    return tuple((m[1].strip(), _mm(m[2], path) if m[2] else None) for m in found)


def thickness_in(path: Path) -> str | None:
    """Return the strips' thickness in a table, as it was given; None if it was not."""
    found = [m[1].strip() for m in map(THICKNESS.match, _lines(path)) if m]
    return found[0] if found else None


def _lines(path: Path) -> list[str]:
    data = read_whole(path, "table", MOST_BYTES, "Move it away.")
    try:
        lines = data.decode("utf-8-sig").splitlines()
    except UnicodeDecodeError as fault:
        raise UserError("the earlier table can't be read", fix="Save it as UTF-8, or move it away.",
                        place=Place(path)) from fault  # fmt: skip
    return [line.strip(_SPREADSHEET) for line in lines]


def _mm(text: str, path: Path, line: int | None = None) -> float:
    """Return a place, mm. Raises UserError for anything else, or a place too far away."""
    try:
        if abs(number := plain_number(text)) < FARTHEST:
            return number
    except (TypeError, ValueError):
        pass
    raise UserError(
        f"in the earlier table '{text}' is not a place",
        fix="Correct the number, or move the table away.",
        place=Place(path, line=line),
    )


def _numbers(text: str) -> list[int]:
    return [int(part) for part in text.split("+") if _NUMBER.fullmatch(part.strip())]


def _rows(path: Path) -> list[dict[str, str]]:
    """Return the table's own lines, x and y with a decimal point, however it was saved again."""
    sheet = read_spreadsheet(path, COLUMNS, rows="pricks", head=HEAD)
    comma = decimal_comma(
        [(row.line, row.cells[axis]) for row in sheet.rows for axis in "xy"], path, sheet.parted
    )
    rows = [{"number": "", **row.cells, "line": str(row.line)} for row in sheet.rows]
    for row in rows:
        for axis in "xy":
            row[axis] = row[axis].replace(",", ".") if comma else row[axis]
            _mm(row[axis], path, int(row["line"]))
    return rows


def _runs_said(
    rows: list[dict[str, str]], found: list[re.Match[str]], again: Mapping[int, int]
) -> tuple[RunSaid, ...]:
    """Return the runs whose name or kind differs from what was found, and the others with them, if
    any does: the name of a run must not change because another one was divided.
    """
    before = {int(m[1]): (m[5], m[6]) for m in found if m[5]}
    corners = {int(m[1]) for m in found if m[4]}  # in two runs, of which one is recorded
    made, changed = [], False
    by_name: dict[str, list[dict[str, str]]] = {}
    for row in rows:
        by_name.setdefault(row["run"], []).append(row)
    for name, its in by_name.items():
        numbers = [n for row in its for n in _numbers(row.get("number", ""))]
        whole = {n: row["number"] for row in reversed(its) for n in _numbers(row.get("number", ""))}
        inner = [n for n in numbers if n in before and n not in corners and "+" not in whole[n]]
        as_found = (before[n] == (name, its[0]["kind"]) for n in inner or numbers if n in before)
        changed = not all(as_found) or changed
        kept = frozenset(again[n] for n in numbers if n in again)
        made.append(RunSaid(name, its[0]["kind"], kept))
    return tuple(made) if changed else ()
