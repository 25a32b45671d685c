"""Changes values in a TOML file and leaves its comments and its order as they are."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from plotout.errors import UserError, nearest


class Document:
    """The text of a TOML file that is being edited. The text must be TOML.

    Its lines go on ending as they did.
    """

    def __init__(self, text: str) -> None:
        import tomlkit

        self._end = "\r\n" if "\r\n" in text else "\n"
        self._document = tomlkit.parse(text.replace("\r\n", "\n"))

    @property
    def text(self) -> str:
        """The text as it is now."""
        return self._document.as_string().replace("\n", self._end)

    def set(self, table: str, values: Mapping[str, Any]) -> None:
        """Set values of a table, which is added at the end if missing."""
        import tomlkit

        if table not in self._document:
            self._document.add(tomlkit.nl())
            self._document.add(table, tomlkit.table())
        self._document[table].update(values)

    def set_in(self, tables: str, name: str, values: Mapping[str, Any]) -> None:
        """Set values of the table with this name in a list of tables. Raises UserError."""
        listed: Any = self._document.get(tables, [])
        for entry in listed:
            if entry.get("name") == name:
                entry.update(values)
                return
        names = [str(one.get("name")) for one in listed]
        raise UserError(f"there is no '{name}' among the {tables}", fix=nearest(name, names))
