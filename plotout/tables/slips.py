"""Says what is wrong with a file that is not TOML, as whoever wrote it would see it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from plotout.errors import Place, UserError, nearest

_DECIMAL_COMMA = re.compile(r"=\s*([-+]?\d{1,9},\d{1,9})\s*(?:#|$)")
_BARE_UNIT = re.compile(r"=\s*([-+]?\d[\d./ ]{0,12}\s*(?:mm|cm|m|in|inch|inches|%|deg|s|gf|N))\b")
_DATE = re.compile(r"\d{4}-\d\d-\d\d[T ]?[\d:.]*|\d\d:\d\d[\d:.]*")
_QUOTED = re.compile(r"\"[^\"]*\"|'[^']*'|#.*")
_FOREIGN = re.compile(r"[^\s.=\[\]\"']*[^\x00-\x7f][^\s.=\[\]\"']*")
_KEY = re.compile(r"\s*([^=\[\]{}]+?)\s*=")
_CURLY = "\u201c\u201d\u201e\u2018\u2019\u00ab\u00bb"


def syntax_fault(
    path: Path,
    text: str,
    message: str,
    tables: Sequence[str],
    several: Sequence[str],
    hints: Mapping[str, str],
) -> UserError:
    """Return the fault of invalid TOML, which may be a misspelt table name."""
    rows = text.split("\n")
    heads = [
        (number, re.match(r"\s*(\[{1,2})\s*([\w-]+)\s*\]", row))
        for number, row in enumerate(rows, 1)
    ]
    found = re.search(r"at line (\d+)", message)
    line = int(found[1]) if found else len(rows)
    again = any(f"cannot {word}" in message.lower() for word in ("overwrite", "declare", "mutate"))
    for number, head in heads:
        if tables and again and head and head[2] not in tables:
            return UserError(
                f"there is no table '{head[2]}'",
                fix=nearest(head[2], tables),
                place=Place(path, number),
            )
    here = rows[min(line, len(rows)) - 1]
    twice = next((head for number, head in heads if number == line and head), None)
    if again and (fault := _twice(here, twice, message, several, hints)):
        return UserError(fault[0], fix=fault[1], place=Place(path, line))
    problem, fix = _misspelt(here, message)
    return UserError(f"it is not TOML: {problem}", fix=fix, place=Place(path, line))


def _misspelt(here: str, message: str) -> tuple[str, str]:
    """Return what is wrong with a line that is not TOML, and what to write."""
    words = re.sub(r"\s*\(at (line.*|end of document)\)", "", message)[:100]
    plain = (
        f"{words[:1].lower()}{words[1:]}",
        "Put text in quotes, and table names in [brackets].",
    )
    return next(_usual_slips(here, message), plain)


def _usual_slips(here: str, message: str) -> Iterator[tuple[str, str]]:
    """Yield the same for slips that are often made."""
    if any(mark in here for mark in _CURLY):
        fix = 'Write straight quotes ("..."); a word processor may change them.'
        yield "the quotes are curly ones", fix
    if comma := _DECIMAL_COMMA.search(here):
        yield f"{comma[1]} has a decimal comma", f"Write {comma[1].replace(',', '.')}."
    if bare := _BARE_UNIT.search(here):
        yield "a number with a unit is text", f'Put it in quotes: "{bare[1]}".'
    name = _QUOTED.sub('""', here).partition("=")[0]
    if ("=" in here or here.lstrip().startswith("[")) and (word := _FOREIGN.search(name)):
        yield (
            f"'{word[0]}' is a name with letters that need quotes",
            f'Write "{word[0]}" in quotes.',
        )
    if "invalid date" in message.lower() and (date := _DATE.search(here)):
        yield f"there is no day or time {date[0]}", "Write a day of the calendar: 2026-04-11."
    if twice := re.search(r"[Dd]uplicate inline table key '(.{1,60})'", message):
        yield f"'{twice[1]}' was given before", "Keep one of the two."


def _twice(
    here: str,
    head: re.Match[str] | None,
    message: str,
    several: Sequence[str],
    hints: Mapping[str, str],
) -> tuple[str, str] | None:
    """Return the problem of a table or key that is there already, and what to write."""
    if head and head[1] == "[":
        fix = f"Put the fields of both below one [{head[2]}]."
        if head[2] in several or not several:
            fix = f"Write [[{head[2]}]] for several tables of one kind."
        return f"[{head[2]}] is here a second time", fix
    if key := _KEY.match(here):
        return f"'{key[1].strip()[:60]}' was given before", "Keep one of the two."
    table = re.match(r"\s*\[{1,2}[^\]]*?([\w-]+)\s*\]", here)
    if table and "declare" in message.lower():
        return f"{here.strip()[:60]} is here a second time", "Put the fields of both below one."
    if table is None:
        return None
    problem = f"'{table[1]}' was given a value in a line above, and begins a table here"
    return problem, hints.get(table[1], "Take one of them out.")
