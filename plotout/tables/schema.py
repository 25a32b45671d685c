"""JSON Schema (draft 2020-12) of a model, for editors that complete and check TOML."""

from __future__ import annotations

from typing import Any

from plotout.tables.fields import Field, fields_of, short_of
from plotout.tables.kinds import ByName, Kind, Many

DRAFT = "https://json-schema.org/draft/2020-12/schema"
Schema = dict[str, Any]


def schema_of(model: type, title: str) -> Schema:
    """Return the schema of a file whose top table is this model."""
    inner: dict[str, Schema] = {}
    top = _of_table(model, inner)
    return {"$schema": DRAFT, "title": title, **top, "$defs": dict(sorted(inner.items()))}


def _of_table(model: type, inner: dict[str, Schema]) -> Schema:
    """Return a table's schema; those of the tables in it are put into `inner`."""
    known = fields_of(model)
    found: Schema = {
        "type": "object",
        "additionalProperties": False,
        "properties": {
            field.key: {"description": field.kind.says, **_of_field(field, inner)}
            for field in known
        },
    }
    if needed := [field.key for field in known if field.needed]:
        found["required"] = needed
    if one_of := getattr(model, "at_least_one_of", ()):
        found["anyOf"] = [{"required": [key]} for key in one_of]
    short = next((field for field in known if field.name == short_of(model)), None)
    return found if short is None else {"anyOf": [short.kind.schema(), found]}


def _of_field(field: Field, inner: dict[str, Schema]) -> Schema:
    kind: Kind = field.kind
    if field.model is None:
        return kind.schema()
    name = field.model.__name__
    if name not in inner:
        inner[name] = {}  # a model may hold itself
        inner[name] = _of_table(field.model, inner)
    one = {"$ref": f"#/$defs/{name}"}
    if isinstance(kind, ByName):
        return {"type": "object", "additionalProperties": one}
    if not isinstance(kind, Many):
        return one
    listed: Schema = {"type": "array", "items": one}
    if kind.least:
        listed["minItems"] = kind.least
    words = [] if kind.word is None else [kind.word.schema()]
    return {"anyOf": [*words, one, listed]}
