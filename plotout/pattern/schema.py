"""The JSON Schema of the set file, made from the loader's own tables."""

from __future__ import annotations

from importlib.resources import files
from typing import Any

from plotout.pattern.tables import SET

SHIPPED = files("plotout.pattern") / "set.schema.json"


def schema() -> dict[str, Any]:
    """Return the schema (draft 2020-12), as `set.schema.json` beside this module ships it."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A plotout set file",
        **SET.schema,
    }
