"""The growth table of a set: measurements and rules from a spreadsheet.

Its first line names the columns: name, what, and every size of the set, or step. A row is a
measurement, or the x or y of a rule:

    name;what;S;M;L
    chest;measurement;-40;0;40
    side;x;-10;0;10
    side;y;0;0;2,5
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from plotout.errors import Place, UserError, all_of, each_of, nearest, nearest_file
from plotout.pattern.grade_spec import GradeRule, Measurement, Sizes
from plotout.pattern.growth import Growth, read_term
from plotout.pattern.kinds import From
from plotout.pattern.spec import SetFile
from plotout.tables.model import in_order
from plotout.tables.spreadsheet import Row, Spreadsheet, decimal_comma, read_spreadsheet
from plotout.units import length, unit_length

MEASUREMENT, AXES, STEP = "measurement", ("x", "y"), "step"
_COLUMNS = ("name", "what")
_HEAD = "name;what;S;M;L, with every size of the set"


def growth_file(set_file: SetFile) -> Path | None:
    """Return the path of the set's growth table, or None."""
    asked = set_file.sizes.table if set_file.sizes else None
    return set_file.file.parent / asked.file if asked else None


def with_growth(set_file: SetFile) -> SetFile:
    """Return the set file with the measurements and rules of its growth table.

    Raises UserError with the lines of all faults in the table.
    """
    path, sizes = growth_file(set_file), set_file.sizes
    if path is None or sizes is None or sizes.table is None:
        return set_file
    unit = _unit(sizes.table)
    if not path.is_file():
        around = path.parent.iterdir() if path.parent.is_dir() else ()
        beside = sorted(entry.name for entry in around if entry.suffix.lower() == ".csv")[:20]
        raise UserError(
            f"there is no growth table '{path.name}'",
            fix=nearest_file(path.name, beside),
            place=sizes.table.place,
        )
    wrong: list[UserError] = []
    sheet = read_spreadsheet(path, _COLUMNS, rows="rows", head=_HEAD, uneven=wrong)
    try:
        columns = _columns(sheet, sizes)
        cells = [(row.line, row.cells[key]) for row in sheet.rows for key in columns.values()]
        comma = decimal_comma(cells, path, sheet.parted)
    except UserError as fault:  # of every row: they can't be read one by one
        raise all_of(in_order([*wrong, *each_of(fault)])) from fault
    known = {(MEASUREMENT, measurement.name) for measurement in sizes.measure}
    known |= {(axis, rule.name) for rule in set_file.rules for axis in AXES}
    grown: dict[tuple[str, str], tuple[Growth, Place]] = {}
    for row in sheet.rows:
        try:
            key = _what(row, path), row.cells["name"]
            if not key[1]:
                raise UserError(
                    "this row has no name",
                    fix="Name the rule or the measurement.",
                    place=Place(path, row.line),
                )
            if key in known or key in grown:
                raise UserError(
                    f"'{key[1]}', {key[0]}, is given twice",
                    fix="Keep one of the two, here or in the set file.",
                    place=Place(path, row.line),
                )
            growth = _growth(row, columns, sizes, unit, Place(path, row.line), comma=comma)
            grown[key] = growth, Place(path, row.line)
        except UserError as fault:
            wrong += getattr(fault, "errors", (fault,))
    measures = _measures(grown)
    names = {measurement.name for measurement in (*sizes.measure, *measures)}
    wrong += _unknown(grown, names)
    if wrong:
        raise all_of(in_order(wrong))
    return replace(
        set_file,
        sizes=replace(sizes, measure=(*sizes.measure, *measures)),
        rules=(*set_file.rules, *_rules(grown)),
    )


def _unit(asked: From) -> float:
    wrong = next((key for key in asked.pick if key != "unit"), None)
    if wrong is not None:
        raise UserError(f"unknown key '{wrong}'", fix="Allowed: unit.", place=asked.place)
    try:
        return unit_length(asked.pick.get("unit", "mm"))
    except UserError as fault:
        raise UserError(fault.problem, fix='Write unit = "cm".', place=asked.place) from fault


def _columns(sheet: Spreadsheet, sizes: Sizes) -> dict[str, str]:
    """Return the key in a row's cells of every size, or of "step" if the head has it.

    Sizes are compared with regard to case if the set's names differ only in that.
    """
    words = [word for word in sheet.head if word.lower() not in _COLUMNS]
    place = Place(sheet.file, sheet.line)
    wrong = []
    for word in dict.fromkeys(words):
        if word not in sizes.range and word.lower() != STEP:
            wrong.append(
                UserError(f"there is no size '{word}'", fix=nearest(word, sizes.range), place=place)
            )
        if words.count(word) > 1:
            wrong.append(UserError(f"column '{word}' appears twice", fix="Keep one.", place=place))
    has = set(words)
    missing = [size for size in sizes.range if size not in has]
    if missing and (len(missing) < len(sizes.range) or STEP not in {w.lower() for w in words}):
        wrong.append(
            UserError(
                f"no column for size {', '.join(missing)}",
                fix=f"The first line is: {_HEAD}",
                place=place,
            )
        )
    if wrong:
        raise all_of(wrong)
    return {word if word in sizes.range else STEP: word for word in words}


def _what(row: Row, path: Path) -> str:
    what = row.cells["what"].lower()
    if what not in (MEASUREMENT, *AXES):
        raise UserError(
            f"'{what}' is not a kind of row" if what else "this row has no kind",
            fix=f"Write {MEASUREMENT}, or x or y of a rule.",
            place=Place(path, row.line),
        )
    return what


def _growth(
    row: Row, columns: Mapping[str, str], sizes: Sizes, unit: float, place: Place, *, comma: bool
) -> Growth:
    """Return the growth of a row: a sum per step, or a length per size."""
    step = row.cells[columns[STEP]] if STEP in columns else ""
    listed = [row.cells[columns[size]] for size in sizes.range if size in columns]
    if bool(step) == any(listed):
        raise UserError(
            "this row has no growth" if not step else "this row has both a step and lengths",
            fix="Give a length per size, or a step.",
            place=place,
        )
    if step:
        text = _plain(step, comma=comma)
        try:
            return Growth(text, read_term(text, unit))
        except UserError as fault:
            raise UserError(fault.problem, fix=fault.fix, place=place) from fault
    wrong, lengths = [], []
    for size, text in zip(sizes.range, listed, strict=True):
        try:
            lengths.append(_length(text, unit, comma=comma))
        except UserError as fault:
            wrong.append(UserError(f"size {size}: {fault.problem}", fix=fault.fix, place=place))
    if wrong:
        raise all_of(wrong)
    return Growth(", ".join(listed), listed=tuple(lengths))


def _plain(text: str, *, comma: bool) -> str:
    """Return a number with a decimal point and an ASCII minus."""
    text = text.replace("\N{MINUS SIGN}", "-")
    return text.replace(",", ".") if comma else text


def _length(text: str, unit: float, *, comma: bool) -> float:
    if not text:
        raise UserError("no length is given", fix="Write 0 for no growth.")
    plain = _plain(text, comma=comma)
    bare = plain.strip().lstrip("+-").strip()
    try:
        return length(plain) * (unit if bare.replace(".", "", 1).isdecimal() else 1.0)
    except UserError as fault:
        problem = fault.problem.replace(plain.strip(), text.strip())  # as the table has it
        raise UserError(problem, fix=fault.fix) from fault


def _measures(grown: Mapping[tuple[str, str], tuple[Growth, Place]]) -> tuple[Measurement, ...]:
    return tuple(
        Measurement(name=name, grows=growth)
        for (what, name), (growth, _) in grown.items()
        if what == MEASUREMENT
    )


def _rules(grown: Mapping[tuple[str, str], tuple[Growth, Place]]) -> tuple[GradeRule, ...]:
    """Return the rules, combined from their rows of x and y."""
    names = dict.fromkeys(name for what, name in grown if what in AXES)
    rules = []
    for name in names:
        found = {axis: grown[axis, name] for axis in AXES if (axis, name) in grown}
        place = next(iter(found.values()))[1]
        rules.append(
            GradeRule(place=place, name=name, **{axis: read[0] for axis, read in found.items()})
        )
    return tuple(rules)


def _unknown(
    grown: Mapping[tuple[str, str], tuple[Growth, Place]], names: set[str]
) -> Iterator[UserError]:
    """Yield faults: unknown measurements, and measurements that are sums of others."""
    for (what, name), (growth, place) in grown.items():
        if what == MEASUREMENT and growth.measures:
            yield UserError(
                f"'{name}' is neither a length nor a list of them", fix="Give lengths.", place=place
            )
            continue
        for unknown in sorted(growth.measures - names):
            yield UserError(
                f"there is no measurement '{unknown}'",
                fix=nearest(unknown, sorted(names)),
                place=place,
            )


def named_files(set_file: SetFile) -> Sequence[Path]:
    """Return all files that a set file names: its drawings and its growth table."""
    table = growth_file(set_file)
    drawings = [piece.drawing for piece in set_file.pieces if piece.drawing is not None]
    return [*drawings, *([table] if table else [])]
