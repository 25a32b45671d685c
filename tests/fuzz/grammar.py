"""TOML of the right shape with wrong values: sound files changed value by value, by their models.

What a text with random letters in it can't reach: values of every other field's kind, numbers at
the ends of their bounds, fields that no sound file happens to have, tables twice or in one another.
"""

from __future__ import annotations

import copy
import random
import tomllib
from collections.abc import Iterator
from functools import cache
from typing import Any

from plotout.tables import ByName, Many
from plotout.tables.fields import Field, fields_of

LITERALS = (
    "0", "-0.0", "-1", "1e-300", "1e300", "inf", "-inf", "nan", "9223372036854775807", "0.004",
    "1e9", "99999", "true", "false", '""', '" "', '"x"', '"1e999 mm"', '"nan mm"', '"-0"',
    '"1/0 in"', '"1/2 in"', '"0.01 mm"', '"99 m"', '"100 %"', '"-5 %"', '"0,5 mm"', '"5 furlong"',
    '"\\u202E"', '"\\u0000"', '"\\u001b[2J"', '"\\uFEFFa"', '"../../x"', '"/dev/zero"', "[]", "{}",
    "[[]]", "[0]", "[1, 2]", "[1, 2, 3]", "[nan, inf]", '["a", "a"]', "[{}]", "{ a = 1 }",
    "2026-02-28", "07:30:00", '"' + "n" * 5000 + '"', "[" + "1, " * 600 + "1]", "[" * 30 + "]" * 30,
)  # fmt: skip


class Literal(str):
    """TOML as it is to be written."""

    __slots__ = ()


def toml_variant(seed: str, sound: bytes, model: type) -> bytes:
    """Return a sound file of this model with one to five values changed."""
    rng = random.Random(seed)
    data = copy.deepcopy(tomllib.loads(sound.decode()))
    for _ in range(rng.choice((1, 1, 2, 3, 5))):
        tables = list(_tables(model, data))
        of, holder = rng.choice(tables)
        _change(rng, of, holder, [table for _, table in tables])
    return written(data).encode()


def _change(rng: random.Random, model: type, holder: dict[str, Any], tables: list[Any]) -> None:
    how, fields = rng.randrange(8), fields_of(model)
    if how < 3 and holder:
        holder[rng.choice(list(holder))] = _value(rng, rng.choice(fields))
    elif how == 3:
        field = rng.choice(fields)
        holder[field.key] = Literal(_sample(field))
    elif how == 4 and holder:
        del holder[rng.choice(list(holder))]
    elif how == 5 and len(holder) > 1:
        one, other = rng.sample(list(holder), 2)
        holder[one], holder[other] = holder[other], holder[one]
    elif how == 6:
        holder.update(copy.deepcopy(rng.choice(tables)))
    else:
        lists = [each for each in holder.values() if isinstance(each, list) and each]
        for listed in lists[:1]:
            listed.insert(rng.randrange(len(listed)), copy.deepcopy(rng.choice(listed)))


def _value(rng: random.Random, field: Field) -> Literal:
    if rng.random() < 0.5:
        return Literal(rng.choice(LITERALS))
    kind = field.kind
    ends = [getattr(kind, name) for name in ("least", "most") if hasattr(kind, name)]
    if ends and rng.random() < 0.7:
        end = rng.choice(ends)
        return Literal(rng.choice((f"{end}", f"{end + 1}", f"{end - 1}", f"{-end}")))
    return Literal(_sample(field))


def _sample(field: Field, depth: int = 0) -> str:
    """Return a value that the field may have; of a table, what must be in it."""
    if field.model is None:
        return field.kind.sample
    needed = [each for each in fields_of(field.model) if each.needed] if depth < 4 else []
    inner = ", ".join(f"{each.key} = {_sample(each, depth + 1)}" for each in needed)
    table = f"{{ {inner} }}"
    if isinstance(field.kind, Many):
        return f"[{table}]"
    return f"{{ x = {table} }}" if isinstance(field.kind, ByName) else table


def _tables(model: type, data: dict[str, Any]) -> Iterator[tuple[type, dict[str, Any]]]:
    """Give every table with its model."""
    yield model, data
    for key, value in list(data.items()):
        field = _by_key(model).get(key)
        if field is None or field.model is None:
            continue
        inner: Any = value if isinstance(value, list) else [value]
        if isinstance(field.kind, ByName) and isinstance(value, dict):
            inner = value.values()
        for each in inner:
            if isinstance(each, dict):
                yield from _tables(field.model, each)


@cache
def _by_key(model: type) -> dict[str, Field]:
    return {each.key: each for each in fields_of(model)}


def written(value: Any) -> str:
    """Return data as TOML: tables of the top as [tables], all others in one line."""
    rows, later = [], []
    for key, each in value.items():
        if isinstance(each, dict) and each:
            later += [f"[{_key(key)}]", *(f"{_key(k)} = {_inline(v)}" for k, v in each.items())]
        elif isinstance(each, list) and each and all(isinstance(one, dict) for one in each):
            for one in each:
                later += [f"[[{_key(key)}]]"]
                later += [f"{_key(k)} = {_inline(v)}" for k, v in one.items()]
        else:
            rows.append(f"{_key(key)} = {_inline(each)}")
    return "\n".join([*rows, *later, ""])


def _inline(value: Any) -> str:
    if isinstance(value, Literal):
        return str(value)
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return _quoted(value)
    if isinstance(value, list):
        return f"[{', '.join(map(_inline, value))}]"
    if isinstance(value, dict):
        return f"{{ {', '.join(f'{_key(k)} = {_inline(v)}' for k, v in value.items())} }}"
    return str(value)


def _key(text: str) -> str:
    plain = text.replace("-", "").replace("_", "").isalnum() and text.isascii()
    return text if plain else _quoted(text)


def _quoted(text: str) -> str:
    inner = "".join(c if c.isprintable() and c not in '"\\' else f"\\U{ord(c):08X}" for c in text)
    return f'"{inner}"'
