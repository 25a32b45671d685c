"""Check of all growth of a set file together: its rules, measurements and sizes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from plotout.errors import Place, UserError, all_of, counted, nearest
from plotout.pattern.grade_spec import GradePoint, GradeRule
from plotout.pattern.growth import Growth
from plotout.pattern.spec import SetFile
from plotout.tables.model import in_order


def check_growth(set_file: SetFile) -> SetFile:
    """Return the set file if its growth can be computed in every size.

    Raises UserError with all faults: points of a set without sizes, unknown rules and
    measurements, lists that don't match the range.
    """
    wrong = [*_twice(set_file), *_of_rules(set_file), *_of_points(set_file)]
    if wrong:
        raise all_of(in_order(wrong))
    return set_file


def _twice(set_file: SetFile) -> Iterator[UserError]:
    first: dict[str, Place] = {}
    for rule in set_file.rules:
        if rule.name in first:
            yield UserError(
                f"two rules are called '{rule.name}'; the first is on line {first[rule.name].line}",
                fix="Give them different names.",
                place=rule.place,
            )
        first.setdefault(rule.name, rule.place)


def _of_rules(set_file: SetFile) -> Iterator[UserError]:
    if set_file.sizes is None:
        return
    for rule in set_file.rules:
        yield from _of_growths(set_file, rule)


def _of_points(set_file: SetFile) -> Iterator[UserError]:
    rules: Mapping[str, GradeRule] = {rule.name: rule for rule in set_file.rules}
    for piece in set_file.pieces:
        for point in piece.grades:
            if set_file.sizes is None:
                yield UserError(
                    f"piece '{piece.name}' has a grade point, but the set has no sizes",
                    fix='Add [sizes] with base = "M" and range = ["S", "M", "L"].',
                    place=point.place,
                )
                break
            if point.rule is not None and point.rule.name not in rules:
                yield UserError(
                    f"there is no grade rule '{point.rule.name}'",
                    fix=nearest(point.rule.name, sorted(rules)),
                    place=point.rule.place,
                )
            yield from _of_growths(set_file, point)


def _of_growths(set_file: SetFile, at: GradeRule | GradePoint) -> Iterator[UserError]:
    for growth in (at.x, at.y):
        if growth is not None:
            yield from _of_growth(set_file, growth, at.place)


def _of_growth(set_file: SetFile, growth: Growth, place: Place) -> Iterator[UserError]:
    assert set_file.sizes is not None
    known = sorted(measurement.name for measurement in set_file.sizes.measure)
    for name in sorted(growth.measures - set(known)):
        yield UserError(
            f"there is no measurement '{name}'",
            fix=nearest(name, known, f"Add it: [[sizes.measure]] with name = '{name}'."),
            place=place,
        )
    count = len(set_file.sizes.range)
    if growth.listed and len(growth.listed) != count:
        yield UserError(
            f"a growth lists {counted(len(growth.listed), 'length')} for {counted(count, 'size')}",
            fix="Give one per size, 0 for the base.",
            place=place,
        )
