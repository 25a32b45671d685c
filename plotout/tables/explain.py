"""What a file may hold, from its models, for `plotout explain` and the guides."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, is_dataclass
from typing import Any

from plotout.tables.fields import Field, fields_of, short_of
from plotout.tables.kinds import ByName, Count, Kind, Length, ListOf, Many, Number


@dataclass(frozen=True, slots=True)
class Key:
    """A key of a table, in words. default: "" for none, "needed" for a required key."""

    key: str
    form: str
    bounds: str
    default: str
    example: str
    says: str


@dataclass(frozen=True, slots=True)
class Topic:
    """A table of a file. name: its path, "piece.notch"; head: how it is written."""

    name: str
    head: str
    says: str
    keys: tuple[Key, ...]


def topics_of(model: type, name: str, says: str) -> tuple[Topic, ...]:
    """Return the tables of a file: the top one as `name`, and after every table those within it."""
    keys = tuple(_key(field, ()) for field in fields_of(model))
    return (Topic(name, "", says, keys), *_within(model, name, ()))


def _within(model: type, name: str, path: tuple[str, ...]) -> Iterator[Topic]:
    for field in fields_of(model):
        if field.model is not None:
            steps = (*path, field.key)
            keys = tuple(_key(inner, steps) for inner in fields_of(field.model))
            yield Topic(".".join((name, *steps)), _head(field, steps), field.kind.says, keys)
            yield from _within(field.model, name, steps)


def _head(field: Field, path: tuple[str, ...]) -> str:
    where = ".".join(path)
    if isinstance(field.kind, ByName):
        return f"[{where}.NAME]"
    several = isinstance(field.kind, Many) and not field.kind.alone
    return f"[[{where}]]" if several else f"[{where}]"


def _key(field: Field, path: tuple[str, ...]) -> Key:
    form = field.kind.form
    if field.model is not None and short_of(field.model):
        short = next(
            inner for inner in fields_of(field.model) if inner.name == short_of(field.model)
        )
        form = f"table; or {short.kind.form}"
    if isinstance(field.kind, Many) and field.kind.word is not None:
        form = f"{form}; or {field.kind.word.form}"
    example = f"{field.key} = {field.kind.sample}"
    if field.model is not None or not field.kind.sample:
        example = _head(field, (*path, field.key))
    default = "needed" if field.needed else _shown(field.default, field)
    return Key(field.key, form, field.kind.bounds, default, example, field.kind.says)


def _is_beyond(value: Any, kind: Kind) -> bool:
    if not (isinstance(kind, Number | Count) and isinstance(value, int | float)):
        return False
    return not kind.least <= value <= kind.most


def _is_sample(value: Any, kind: Kind) -> bool:
    """Return whether a default is the kind's own example, of whose form nothing else is known."""
    if not isinstance(value, tuple) or isinstance(kind, ListOf) or not kind.sample:
        return False
    return bool(kind.read(tomllib.loads(f"it = {kind.sample}")["it"]) == value)


def _shown(value: Any, field: Field) -> str:
    if is_dataclass(value) or value in (None, "", (), {}):
        return ""
    kind = field.kind.of if isinstance(field.kind, ListOf) else field.kind
    if _is_beyond(value, kind):
        return ""  # it stands for what is not known yet
    if _is_sample(value, field.kind):
        return field.kind.sample.strip('"')
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, tuple):
        alike = len(set(value)) == 1
        return _shown(value[0] if alike else ", ".join(f"{item:g}" for item in value), field)
    unit = f" {kind.unit}" if isinstance(kind, Number | Length) and kind.unit else ""
    return f"{value:g}{unit}" if isinstance(value, float) else str(value)


def as_text(topic: Topic) -> str:
    """Return a topic for a terminal."""
    lines = [f"{topic.name}  {topic.head}".rstrip(), f"  {topic.says}"]
    wide = max((len(key.key) for key in topic.keys), default=0)
    for key in topic.keys:
        facts = [key.form, key.bounds, "needed" if key.default == "needed" else ""]
        if key.default not in ("", "needed"):
            facts.append(f"{key.default} if left out")
        lines.append(f"  {key.key.ljust(wide)}  {key.says}")
        lines.append(f"  {' ' * wide}  {'; '.join(fact for fact in facts if fact)}")
        if key.example:
            lines.append(f"  {' ' * wide}  {key.example}")
    return "\n".join(lines)


def as_markdown(topic: Topic) -> str:
    """Return a topic as a table of a guide."""
    title = f"`{topic.head}`: {topic.says}" if topic.head else topic.says
    rows = [
        "| key | what it is for | what to write | if left out | example |",
        "|---|---|---|---|---|",
    ]
    for key in topic.keys:
        form = ", ".join(part for part in (key.form, key.bounds) if part)
        cells = (
            f"`{key.key}`",
            key.says,
            form,
            key.default,
            f"`{key.example}`" if key.example else "",
        )
        rows.append("| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |")
    return "\n".join([title, "", *rows]) + "\n"
