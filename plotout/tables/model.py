"""Makes models (`tables.fields`) from files, and gathers all that is wrong in a file.

A model may have `wrong(self)`, which gives a `Fault` for every contradiction between its fields.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from functools import cache
from typing import Any, TypeVar

from plotout.errors import Place, UserError, all_of, nearest, shown
from plotout.tables.faults import Fault, Faults
from plotout.tables.fields import Field, all_fields, fields_of, is_table, short_of
from plotout.tables.kinds import ByName, Here, KeyName, Many
from plotout.tables.lines import Steps
from plotout.tables.misplaced import belonging, belongs_above
from plotout.tables.source import Source, Table, Text

T = TypeVar("T")
MOST_COMPARED = 100  # unknown fields of a table with what they may have meant
_GIVEN = "\x01"  # prefix of names that are not in the file; no key of a file begins with it


def read(model: type[T], source: Source, **given: Any) -> T:
    """Return the contents of a file as the model. given: its fields that are not in the file.

    Raises UserError with all faults, their places and what to do.
    """
    return read_table(model, source.top, source, (), **given)


def read_table(model: type[T], value: Any, source: Source, path: Steps, **given: Any) -> T:
    """Return one table of a file as the model; see `read`."""
    try:
        return _made(model, value, given)
    except Faults as wrong:
        raise all_of(in_order(as_error(source, fault, path) for fault in wrong.faults)) from None
    except UserError as fault:
        raise as_error(source, Fault(path, fault.problem, fault.fix)) from None


def as_error(source: Source, fault: Fault, path: Steps = ()) -> UserError:
    """Return a fault with its place in the file."""
    steps = (*path, *fault.path)
    fix = belongs_above(steps, fault.below) if fault.below else fault.fix
    return UserError(fault.problem, fix=source.remedy or fix, place=source.place(steps))


def in_order(errors: Iterable[UserError]) -> list[UserError]:
    """Return errors in the order of their lines, without repeats."""
    once = {str(error): error for error in errors}
    return sorted(once.values(), key=lambda error: error.place.line or 0)


def _made(model: type[T], value: Any, given: Mapping[str, Any]) -> T:
    """Return the model of a raw table. Raises Faults."""
    if short_of(model) and not isinstance(value, dict):
        bare = Table({_key_of(model, short_of(model)): value})
        bare.place = getattr(value, "place", Place())
        value = bare
    if not isinstance(value, dict):
        if isinstance(value, list) and any(isinstance(item, dict) for item in value):
            raise UserError(
                "it is one table, not a list of them", fix="Write its heading in single brackets."
            )
        raise UserError(f"{shown(value)} is not a table", fix="Write { field = value, ... }.")
    outside = {_GIVEN + name: item for name, item in given.items()}
    shape: Any = model
    outside |= dict.fromkeys(_heres(shape), getattr(value, "place", Place()))
    from cattrs.errors import BaseValidationError

    try:
        made: T = _converter().structure({**value, **outside}, model)
    except BaseValidationError as group:
        raise Faults(
            belonging(fault, model, value, _as_field) for fault in _faults(group)
        ) from None
    wrong: Callable[[], Iterable[Fault]] = getattr(made, "wrong", tuple)
    if faults := tuple(wrong()):
        raise Faults(faults)
    return made


@cache
def _heres(model: Any) -> tuple[str, ...]:
    """Return the names under which a model is given its own place."""
    return tuple(_GIVEN + field.name for field in all_fields(model) if isinstance(field.kind, Here))


def _key_of(model: type, name: str) -> str:
    return next(field.key for field in all_fields(model) if field.name == name)


@cache
def _converter() -> Any:
    """Return the cattrs converter, which makes the classes and gathers their faults."""
    from cattrs import Converter
    from cattrs.gen import make_dict_structure_fn, override

    converter = Converter(forbid_extra_keys=True, detailed_validation=True)

    def of_class(model: type) -> Callable[[Any, Any], Any]:
        ways = {
            field.name: override(
                rename=field.key if field.kind.inside else _GIVEN + field.name,
                struct_hook=_reader(field),
            )
            for field in all_fields(model)
        }
        return make_dict_structure_fn(model, converter, _cattrs_forbid_extra_keys=True, **ways)  # type: ignore[arg-type]

    converter.register_structure_hook_factory(is_table, of_class)
    return converter


def _reader(field: Field) -> Callable[[Any, Any], Any]:
    """Return the function that reads a field's value, as cattrs calls it."""
    kind, model = field.kind, field.model
    if model is None:
        return lambda value, _: kind.read(value)
    if isinstance(kind, Many):
        return lambda value, _: _listed(model, value, kind)
    if isinstance(kind, ByName):
        return lambda value, _: _by_name(model, value)
    return lambda value, _: _made(model, value, {})


def _as_field(field: Field, value: Any) -> Any:
    """Read a value as a field's. Raises Faults or UserError."""
    return _reader(field)(value, None)


def _listed(model: type, value: Any, kind: Many) -> Any:
    if kind.word is not None and isinstance(value, str):
        return kind.word.read(value)
    if isinstance(value, dict):
        return (_made(model, value, {}),)
    if not isinstance(value, list):
        raise UserError(f"{shown(value)} is not a list of tables", fix="Write [{ ... }, { ... }].")
    if len(value) < kind.least:
        raise UserError("at least one is needed", fix=kind.says)
    return _gathered(((index, model, item, {}) for index, item in enumerate(value)))


def _by_name(model: type, value: Any) -> tuple[Any, ...]:
    if not isinstance(value, dict):
        raise UserError(f"{shown(value)} is not a table", fix="Write a table under every name.")
    of = next(field.name for field in all_fields(model) if isinstance(field.kind, KeyName))
    return _gathered((name, model, item, {of: _named(name, item)}) for name, item in value.items())


def _named(name: str, table: Any) -> Text:
    text = Text(name)
    text.place = getattr(table, "place", Place())
    return text


def _gathered(tables: Iterable[tuple[str | int, type, Any, dict[str, Any]]]) -> tuple[Any, ...]:
    made: list[Any] = []
    wrong: list[Fault] = []
    for step, model, value, given in tables:
        try:
            made.append(_made(model, value, given))
        except Faults as faults:
            wrong += [replace(one, path=(step, *one.path)) for one in faults.faults]
        except UserError as fault:
            wrong.append(Fault((step,), fault.problem, fault.fix, bare=True))
    if wrong:
        raise Faults(wrong)
    return tuple(made)


def _faults(group: Any) -> Iterator[Fault]:
    """Give the faults that cattrs gathered in a class, with the keys of the file."""
    from cattrs.errors import ForbiddenExtraKeysError

    known = {field.name: field for field in all_fields(group.cl)}
    noted, others = group.group_exceptions()
    keys = [field.key for field in fields_of(group.cl)]
    meant = []
    for fault in others:
        if not isinstance(fault, ForbiddenExtraKeysError):
            raise fault
        extra = sorted(fault.extra_fields)
        for number, key in enumerate(extra):
            hint = nearest(key, keys) if number < MOST_COMPARED else "Remove it."
            meant.append(hint)
            yield Fault((key,), f"there is no field '{key[:60]}' here", hint, unknown=True)
    for fault, note in noted:
        if _is_missing(known[note.name], fault) and f"'{known[note.name].key}'?" in " ".join(meant):
            continue  # it is present under a misspelt name that has just been reported
        yield from _of_field(known[note.name], fault)


def _how(field: Field) -> str:
    if field.kind.sample:
        return f"Write {field.key} = {field.kind.sample}."
    if isinstance(field.kind, Many):
        return f"Each begins with [[{field.key}]]."
    return f"Write it below [{field.key}], or {field.key} = {{ ... }}."


def _is_missing(field: Field, fault: BaseException) -> bool:
    return isinstance(fault, KeyError) and fault.args == (field.key,)


def _of_field(field: Field, fault: BaseException) -> Iterator[Fault]:
    if isinstance(fault, Faults):
        for one in fault.faults:
            label = f"{field.key}: " if one.bare else ""
            path = (field.key, *one.path)
            yield replace(one, path=path, problem=label + one.problem, bare=False)
    elif isinstance(fault, UserError):
        yield Fault((field.key,), f"{field.key}: {fault.problem}", fault.fix)
    elif _is_missing(field, fault):
        yield Fault((), f"'{field.key}' is missing", f"{field.kind.says} {_how(field)}")
    else:
        raise fault
