"""JSON Schema (draft 2020-12) of a model, for editors that complete and check TOML."""

from __future__ import annotations

from typing import Any

from plotout.tables.fields import Field, fields_of, short_of
from plotout.tables.kinds import ByName, Kind, Many

DRAFT = "https://json-schema.org/draft/2020-12/schema"


def schema_of(model: type, title: str) -> dict[str, Any]:
    """Return the schema of a file whose top table is this model."""
    return {"$schema": DRAFT, "title": title, **_of_table(model)}


def _of_table(model: type) -> dict[str, Any]:
    known = fields_of(model)
    found: dict[str, Any] = {
        "type": "object",
        "additionalProperties": False,
        "properties": {
            field.key: {"description": field.kind.says, **_of_field(field)} for field in known
        },
    }
    if needed := [field.key for field in known if field.needed]:
        found["required"] = needed
    short = next((field for field in known if field.name == short_of(model)), None)
    return found if short is None else {"anyOf": [short.kind.schema(), found]}


def _of_field(field: Field) -> dict[str, Any]:
    kind: Kind = field.kind
    if field.model is None:
        return kind.schema()
    inner = _of_table(field.model)
    if isinstance(kind, ByName):
        return {"type": "object", "additionalProperties": inner}
    if not isinstance(kind, Many):
        return inner
    listed: dict[str, Any] = {"type": "array", "items": inner}
    if kind.least:
        listed["minItems"] = kind.least
    if kind.alone:
        return {"anyOf": [inner, listed]}
    return listed if kind.word is None else {"anyOf": [kind.word.schema(), listed]}
