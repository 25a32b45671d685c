"""Tables from spreadsheets: commas, semicolons or tabs; decimal points or commas."""

from __future__ import annotations

import codecs
import csv
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from plotout.errors import Place, UserError, all_of, counted, shown
from plotout.files import read_whole
from plotout.tables.source import check_text

MOST_BYTES = 20 * 1024 * 1024
MOST_ROWS = 20_000
LONGEST_LINE = 2_000
LARGEST = 10_000  # mm: nothing of a garment, or on a machine, is as long
SMALLEST_WHOLE = 10  # a table with whole numbers from here on can mean thousands by 1.290
_NUMBER = re.compile(r"(?<![\w.,])\d+(?:[.,]\d+)*")
_BROKEN = re.compile(r"\s*#(NULL!|DIV/0!|VALUE!|REF!|NAME\?|NUM!|N/A)")
"""A spreadsheet's own errors (ECMA-376 Part 1, 18.17.3), which are no titles."""
_WITHOUT_SEPARATOR = str.maketrans("", "", ".,")
_THOUSANDS = re.compile(r"[1-9]\d{0,2}[.,]\d{3}")


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a table: its number in the file, and its values by column.

    Needed columns have the requested names, others those written in the head.
    """

    line: int
    cells: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Spreadsheet:
    """A table. head: its words as written, in order; line: the head's line; parted: by what."""

    file: Path
    head: tuple[str, ...]
    line: int
    rows: tuple[Row, ...]
    parted: str


def read_spreadsheet(
    path: Path,
    needed: Sequence[str],
    *,
    rows: str,
    head: str,
    uneven: list[UserError] | None = None,
) -> Spreadsheet:
    """Read a table whose head has the `needed` words, in any order and case.

    rows: what messages call its rows; head: its expected first line. Lines that are empty or begin
    with # are ignored. uneven: takes the faults of rows with too many values or too few, which are
    left out, so that what else is wrong can be told with them; else they are raised. Raises
    UserError with the lines of all faults.
    """
    lines = [
        (number, line)
        for number, line in enumerate(_text(path).splitlines(), 1)
        if line.strip() and (_BROKEN.match(line) or not line.lstrip().startswith("#"))
    ]
    if lines and lines[0][1].lower().startswith("sep="):  # a spreadsheet's hint
        del lines[0]
    if not lines:
        raise UserError(
            f"the file contains no {rows}", fix=f"The first line is: {head}", place=Place(path)
        )
    if len(lines) > MOST_ROWS:
        raise UserError(
            f"the table has {len(lines)} rows, more than {MOST_ROWS}",
            fix="Check that it is the right file.",
            place=Place(path),
        )
    _check_lines(lines, path, head)
    parted = parted_by(lines[0][1])
    (head_line, words), *values = (
        (number, [value.strip() for value in next(csv.reader([line], delimiter=parted))])
        for number, line in lines
    )
    while words and not words[-1]:  # columns that a spreadsheet left empty
        words.pop()
    place = Place(path, head_line)
    keys = [word.lower() if word.lower() in needed else word for word in words]
    if lost := [name for name in needed if name not in keys]:
        raise all_of([_no_column(name, lost, keys, needed, head, place) for name in lost])
    written = dict(lines)
    wrong = [
        _uneven(written[number], len(row), len(words), parted, Place(path, number))
        for number, row in values
        if any(row) and (len(row) < len(words) or any(row[len(words) :]))
    ]
    if wrong and uneven is None:
        raise all_of(wrong)
    found = tuple(
        Row(number, dict(zip(keys, row, strict=False))) for number, row in values if any(row)
    )
    if uneven is not None:
        uneven += wrong
        lines_wrong = {fault.place.line for fault in wrong}
        found = tuple(row for row in found if row.line not in lines_wrong)
    if not found and not wrong:
        raise UserError(
            f"the file contains no {rows}", fix=f"The first line is: {head}", place=Place(path)
        )
    return Spreadsheet(path, tuple(words), head_line, found, parted)


def parted_by(line: str) -> str:
    """Return what separates the values of a table's line: a tab, a semicolon or a comma."""
    return max("\t;,", key=line.count)


def _no_column(
    name: str, lost: Sequence[str], keys: Sequence[str], needed: Sequence[str], head: str,
    place: Place,
) -> UserError:  # fmt: skip
    """Return the fault of a head without a column: is it misspelt, or is this no head at all?"""
    if len(lost) == len(needed):
        fix = f"The first line is: {head} (begin a title line with #)"
        return UserError(f"no column '{name}'", fix=fix, place=place)
    spare = [key for key in keys if key not in needed]
    unit = next((key for key in spare if re.fullmatch(rf"(?i){name}\s*[(\[/,].*", key)), None)
    near = unit or next(iter(get_close_matches(name, spare, n=1, cutoff=0.6)), None)
    fix = f"Write {name} for {shown(near)}." if near else f"The first line is: {head}"
    if unit:
        fix += " The unit is named in the set file."
    return UserError(f"no column '{name}'", fix=fix, place=place)


def decimal_comma(numbers: Iterable[tuple[int, str]], file: Path, parted: str) -> bool:
    """Return whether decimals have a comma, in the cells (line, text) of a table that hold numbers.

    parted: what separates the table's values.
    Raises UserError where points and commas both occur, where a comma both separates the values and
    stands in one, and where 1.290 may mean 1290: a silent error by a factor of a thousand.
    """
    cells = list(numbers)
    first: dict[str, int] = {}
    for number, text in cells:
        for sign in ".,":
            if sign in text:
                first.setdefault(sign, number)
    if len(first) > 1:
        raise UserError(
            f"decimals are written with a comma in line {first[',']} and with a point in line "
            f"{first['.']}",
            fix="Use only one of them, and no thousands separator.",
            place=Place(file, max(first.values())),
        )
    if "," in first and parted == ",":
        raise all_of(_commas_in_values(cells, file))
    if wrong := _thousands(cells, file):
        raise all_of(wrong)
    return "," in first


def _commas_in_values(cells: Iterable[tuple[int, str]], file: Path) -> list[UserError]:
    return [
        UserError(
            f"'{text}' has a comma, and commas separate the values",
            fix="Write decimals with a point and thousands without a separator, or separate the "
            "values by semicolons or tabs.",
            place=Place(file, line),
        )
        for line, text in cells
        if "," in text
    ]


def _thousands(cells: Iterable[tuple[int, str]], file: Path) -> list[UserError]:
    """Return a fault for every number that may have a decimal or a thousands separator.

    That is so if all numbers with a separator could be thousands (one to three digits, not 0 first,
    then three), none of them too long for a garment, and whole numbers stand among them: a table
    written with three decimals has none.
    """
    found = [(line, number) for line, text in cells for number in _NUMBER.findall(text)]
    whole = [number for _, number in found if number.isdecimal()]
    divided = [(line, number) for line, number in found if not number.isdecimal()]
    if not all(_THOUSANDS.fullmatch(number) for _, number in divided):
        return []
    if any(int(number.translate(_WITHOUT_SEPARATOR)) >= LARGEST for _, number in divided):
        return []
    if not any(int(number) >= SMALLEST_WHOLE for number in whole):
        return []
    return [
        UserError(
            f"'{number}' can mean {number.replace(',', '').replace('.', '')}, or "
            f"{number.replace(',', '.')} with decimals",
            fix=f"Write {number.replace(',', '').replace('.', '')} or {_as_decimal(number)}.",
            place=Place(file, line),
        )
        for line, number in divided
    ]


def _as_decimal(number: str) -> str:
    """Return the number with other than three decimals, so that no separator of thousands fits."""
    return number[:-1] if number.endswith("0") else f"{number}0"


def _text(path: Path) -> str:
    data = read_whole(path, "table", MOST_BYTES)
    check_text(data, path, "table saved as CSV")
    try:
        if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
            return data.decode("utf-16")
        if b"\0" in data[:2]:  # UTF-16 whose mark of the order of bytes is missing
            return data.decode("utf-16-be" if data[:1] == b"\0" else "utf-16-le")
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = data[: fault.start].count(b"\n") + 1
        raise UserError(
            "this is not UTF-8 text", fix="Save it as UTF-8.", place=Place(path, line)
        ) from fault


def _check_lines(lines: Sequence[tuple[int, str]], path: Path, head: str) -> None:
    wrong = [
        UserError(
            f"this line has {len(line)} characters, more than {LONGEST_LINE}",
            fix=f"Write every row in its own line: {head}.",
            place=Place(path, number),
        )
        for number, line in lines
        if len(line) > LONGEST_LINE
    ]
    if wrong:
        raise all_of(wrong)


def _uneven(line: str, many: int, wanted: int, parted: str, place: Place) -> UserError:
    if line.count('"') % 2:
        fix = "A quotation mark in it has no second one: close it, or take it out."
        return UserError(
            f"this line has {counted(many, 'value')}, not {wanted}", fix=fix, place=place
        )
    return UserError(
        f"this line has {counted(many, 'value')}, not {wanted}",
        fix="Write decimals with a point, or separate the values by semicolons or tabs."
        if parted == "," and many > wanted
        else "The first line names the columns.",
        place=place,
    )
