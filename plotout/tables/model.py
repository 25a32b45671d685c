"""Models: frozen dataclasses that describe, field by field, what a table of a file may hold.

    @table
    @dataclass(frozen=True, slots=True)
    class Drill:
        at: Annotated[tuple[float, float], Point("Its centre.")]
        size: Annotated[float, Length("Its diameter.", 0.2, 50.0)] = 3.0

`read` makes a model from a file. A field without a default is required. A model may have
`wrong(self)`, which gives a `Fault` for every contradiction between its fields.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from types import NoneType
from typing import Any, TypeVar, get_args, get_type_hints

from plotout.errors import Place, UserError, all_of, nearest, shown
from plotout.tables.faults import Fault, Faults
from plotout.tables.kinds import ByName, Here, Inner, KeyName, Kind, Many
from plotout.tables.lines import Steps
from plotout.tables.source import Source, Table, Text

T = TypeVar("T")
MOST_COMPARED = 100  # unknown fields of a table with what they may have meant
_SHORT = "__table_short__"
_GIVEN = "\x01"  # prefix of names that are not in the file; no key of a file begins with it


def table(cls: type[T]) -> type[T]:
    """Mark a dataclass as the model of a table."""
    setattr(cls, _SHORT, "")
    return cls


def table_or(short: str) -> Callable[[type[T]], type[T]]:
    """Mark a dataclass as a model that may be written as a bare value, of its field `short`."""

    def mark(cls: type[T]) -> type[T]:
        setattr(cls, _SHORT, short)
        return cls

    return mark


@dataclass(frozen=True, slots=True)
class Field:
    """A field of a model: its name in the class and in the file, its kind, and its default.

    model: of the tables in it, if any.
    """

    name: str
    key: str
    kind: Kind
    default: Any
    needed: bool
    model: type | None


@cache
def fields_of(model: type) -> tuple[Field, ...]:
    """Return the fields of a model that a file may hold."""
    return tuple(field for field in _all_fields(model) if field.kind.inside)


@cache
def _all_fields(model: Any) -> tuple[Field, ...]:
    hints = get_type_hints(model, include_extras=True)
    found = []
    for field in dataclasses.fields(model):
        kind = kind_of(hints[field.name])
        if kind is None:
            raise TypeError(f"{model.__name__}.{field.name} has no kind")
        default = (
            field.default
            if field.default_factory is dataclasses.MISSING
            else field.default_factory()
        )
        needed = default is dataclasses.MISSING
        key = kind.key or field.name.rstrip("_").replace("_", "-")
        inner = _model_in(hints[field.name]) if isinstance(kind, Inner | Many | ByName) else None
        found.append(Field(field.name, key, kind, default, needed, inner))
    return tuple(found)


def short_of(model: type) -> str:
    """Return the name of the field whose bare value may replace the table, or ""."""
    return str(getattr(model, _SHORT))


def kind_of(hint: Any) -> Kind | None:
    """Return the kind in an annotation."""
    return next(
        (extra for extra in getattr(hint, "__metadata__", ()) if isinstance(extra, Kind)), None
    )


def _model_in(hint: Any) -> type:
    """Return the model in an annotation such as `Bed`, `tuple[Tool, ...]`, `Hem | None`."""
    if hasattr(hint, _SHORT):
        return hint  # type: ignore[no-any-return]
    for arg in get_args(hint):
        if arg is not NoneType and (get_args(arg) or hasattr(arg, _SHORT)):
            return _model_in(arg)
    raise TypeError(f"{hint} holds no model")


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
    return UserError(fault.problem, fix=fault.fix, place=source.place((*path, *fault.path)))


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
        raise Faults(_faults(group)) from None
    wrong: Callable[[], Iterable[Fault]] = getattr(made, "wrong", tuple)
    if faults := tuple(wrong()):
        raise Faults(faults)
    return made


@cache
def _heres(model: Any) -> tuple[str, ...]:
    """Return the names under which a model is given its own place."""
    return tuple(
        _GIVEN + field.name for field in _all_fields(model) if isinstance(field.kind, Here)
    )


def _key_of(model: type, name: str) -> str:
    return next(field.key for field in _all_fields(model) if field.name == name)


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
            for field in _all_fields(model)
        }
        return make_dict_structure_fn(model, converter, _cattrs_forbid_extra_keys=True, **ways)  # type: ignore[arg-type]

    converter.register_structure_hook_factory(lambda t: hasattr(t, _SHORT), of_class)
    return converter


def _reader(field: Field) -> Callable[[Any, Any], Any]:
    """Return the function that reads a field's value, as cattrs calls it."""
    kind, model = field.kind, field.model
    if model is None:
        return lambda value, _: kind.read(value)
    if isinstance(kind, Many):
        return lambda value, _: _listed(model, value, kind, field.key)
    if isinstance(kind, ByName):
        return lambda value, _: _by_name(model, value)
    return lambda value, _: _made(model, value, {})


def _listed(model: type, value: Any, kind: Many, key: str) -> Any:
    if kind.word is not None and isinstance(value, str):
        return kind.word.read(value)
    if isinstance(value, dict) and kind.alone:
        return (_made(model, value, {}),)
    if isinstance(value, dict):
        fix = f"Write {key} = [{{ ... }}], or its heading with double brackets: [[{key}]]."
        raise UserError("it must be a list of tables", fix=fix)
    if not isinstance(value, list):
        raise UserError(f"{shown(value)} is not a list of tables", fix="Write [{ ... }, { ... }].")
    if len(value) < kind.least:
        raise UserError("at least one is needed", fix=kind.says)
    return _gathered(((index, model, item, {}) for index, item in enumerate(value)))


def _by_name(model: type, value: Any) -> tuple[Any, ...]:
    if not isinstance(value, dict):
        raise UserError(f"{shown(value)} is not a table", fix="Write a table under every name.")
    of = next(field.name for field in _all_fields(model) if isinstance(field.kind, KeyName))
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

    known = {field.name: field for field in _all_fields(group.cl)}
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
            yield Fault((key,), f"there is no field '{key[:60]}' here", hint)
    for fault, note in noted:
        if _is_missing(known[note.name], fault) and f"'{known[note.name].key}'?" in " ".join(meant):
            continue  # it is present under a misspelt name that has just been reported
        yield from _of_field(known[note.name], fault)


def _how(field: Field) -> str:
    if field.kind.sample:
        return f"Write {field.key} = {field.kind.sample}."
    if isinstance(field.kind, Many) and not field.kind.alone:
        return f"Each begins with [[{field.key}]]."
    return f"Write it below [{field.key}], or {field.key} = {{ ... }}."


def _is_missing(field: Field, fault: BaseException) -> bool:
    return isinstance(fault, KeyError) and fault.args == (field.key,)


def _of_field(field: Field, fault: BaseException) -> Iterator[Fault]:
    if isinstance(fault, Faults):
        for one in fault.faults:
            label = f"{field.key}: " if one.bare else ""
            yield Fault((field.key, *one.path), label + one.problem, one.fix)
    elif isinstance(fault, UserError):
        yield Fault((field.key,), f"{field.key}: {fault.problem}", fault.fix)
    elif _is_missing(field, fault):
        yield Fault((), f"'{field.key}' is missing", f"{field.kind.says} {_how(field)}")
    else:
        raise fault
