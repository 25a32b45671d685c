"""Sets on the rack, looked up by name, size, words and version."""

from __future__ import annotations

import contextlib
import json
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from plotout.errors import MachineError, UserError, nearest
from plotout.rack.store import kept


@dataclass(frozen=True, slots=True)
class Found:
    """A version of a set on the rack. who, since: of the loan of its set, or empty.

    out: the version that was taken; None where that was not noted.
    """

    id: int
    style: str
    size: str
    number: int
    name: str
    date: str
    put_at: str
    maker: str
    place: str
    stock: str
    machine: str
    notes: str
    set_file: str
    changes: list[str]
    who: str = ""
    since: str = ""
    out: int | None = None

    @property
    def loan(self) -> str:
        """Who has what of the set since when, in words; "" when it hangs on its hook."""
        if not self.who:
            return ""
        what = "it" if self.out in (None, self.number) else f"version {self.out}"
        return f"{self.who} has {what} since {self.since}"

    @property
    def ref(self) -> str:
        """The name on the rack: style:size:version."""
        return f"{self.style}:{self.size}:{self.number}"


_PLAIN = ("id", "number", "name", "date", "put_at", "maker", "place", "stock", "machine", "notes",
          "set_file")  # fmt: skip
_SELECT = f"""
    SELECT {", ".join(f"version.{field}" for field in _PLAIN)}, version.changes, version.profile,
           pattern.style, pattern.size, loan.who, loan.since, loan.taken AS out
    FROM version JOIN pattern ON pattern.id = version.pattern
    LEFT JOIN loan ON loan.pattern = pattern.id AND loan.back IS NULL
"""
_NEWEST = """version.number = (SELECT max(number) FROM version AS other
                               WHERE other.pattern = version.pattern)"""


def newest(rack: sqlite3.Connection, style: str, size: str) -> Found | None:
    """Return the newest version of exactly this style and size, or None."""
    row = newest_row(rack, style, size)
    return None if row is None else _found(row)


def newest_row(rack: sqlite3.Connection, style: str, size: str) -> sqlite3.Row | None:
    """Return the same as a row, with its `profile`."""
    found: sqlite3.Row | None = rack.execute(
        _SELECT + f" WHERE pattern.style = ? AND pattern.size = ? AND {_NEWEST}", (style, size)
    ).fetchone()
    return found


def by_id(rack: sqlite3.Connection, version: int) -> Found:
    """Return the version with this row id."""
    return _found(rack.execute(_SELECT + " WHERE version.id = ?", (version,)).fetchone())


def named(rack: sqlite3.Connection, ref: str) -> Found:
    """Return the set named by `style`, `style:size` or `style:size:version`, by default the newest.

    Raises UserError when there is none, or when the style has several sizes and none is named.
    """
    rows = _all_named(rack, ref)
    if not rows:
        base, _, _ = ref.rpartition(":")
        if base and (others := _all_named(rack, base)):
            refs = " or ".join(f"{r['style']}:{r['size']}:{r['number']}" for r in others[:12])
            raise UserError(f"'{ref}' is not on the rack", fix=f"The newest there is {refs}.")
        style = ref.partition(":")[0]
        styles = [row[0] for row in rack.execute("SELECT DISTINCT style FROM pattern LIMIT 1000")]
        raise UserError(
            f"'{ref}' is not on the rack",
            fix=nearest(
                style, styles, "The rack is empty: 'plotout rack put SET' puts a set on it."
            ),
        )
    if len(rows) > 1:
        sizes = ", ".join(
            f"{found.style}:{found.size}"
            for found in _in_order(rack, [_found(row) for row in rows])
        )
        raise UserError(f"'{ref}' is on the rack in several sizes", fix=f"Choose one: {sizes}.")
    return _found(rows[0])


def all_named(rack: sqlite3.Connection, ref: str) -> list[Found]:
    """Return the set that `named` returns, or for `style:all` all sizes of the style, in order.

    Where a size is called "all", that size is meant. Raises UserError as `named` does.
    """
    style, colon, size = ref.rpartition(":")
    if colon and size == "all" and not _all_named(rack, ref):
        return sizes_of(rack, style) or [named(rack, style)]
    try:
        return [named(rack, ref)]
    except UserError as fault:
        if len(_all_named(rack, ref)) > 1:
            fault.fix += f" All of them are {ref}:all."
        raise


def _all_named(rack: sqlite3.Connection, ref: str) -> list[sqlite3.Row]:
    """Return the rows named; names are compared whole, so that they may hold colons."""
    return rack.execute(
        _SELECT
        + f""" WHERE (? IN (style, style || ':' || size) AND {_NEWEST})
        OR ? = style || ':' || size || ':' || number""",
        (ref, ref),
    ).fetchall()


def pointed(rack: sqlite3.Connection, ref: str) -> tuple[Found, str]:
    """Return the set that `ref` names and the id of its card if it ends in /card, as in QR codes.

    Raises UserError as `named` does, or when the set has no such card.
    """
    head, slash, card = ref.rpartition("/")
    if not slash or _all_named(rack, ref) or not _all_named(rack, head):
        return named(rack, ref), ""  # a style may hold a slash
    found = named(rack, head)
    cards = [row["id"] for row in details_of(rack, found).get("cards", [])]
    if card not in cards:
        raise UserError(f"'{found.ref}' has no card '{card}'", fix=nearest(card, cards))
    return found, card


def listed(rack: sqlite3.Connection, limit: int = -1) -> list[Found]:
    """Return the newest version of every set, by style, and by size in the style's own order."""
    rows = rack.execute(
        _SELECT + f" WHERE {_NEWEST} ORDER BY pattern.style, pattern.size LIMIT ?", (limit,)
    )
    styles = groupby((_found(row) for row in rows), key=lambda found: found.style)
    return [found for _, sizes in styles for found in _in_order(rack, list(sizes))]


def sizes_of(rack: sqlite3.Connection, style: str) -> list[Found]:
    """Return the newest version of every size of a style, in the style's own order."""
    rows = rack.execute(
        _SELECT + f" WHERE pattern.style = ? AND {_NEWEST} ORDER BY pattern.size", (style,)
    )
    return _in_order(rack, [_found(row) for row in rows])


def _in_order(rack: sqlite3.Connection, sizes: list[Found]) -> list[Found]:
    """Return sizes of one style as its newest set file orders them; unknown ones come last."""
    if len(sizes) < 2:
        return sizes
    order = details_of(rack, max(sizes, key=lambda found: found.id)).get("sizes", [])
    place = {size: index for index, size in enumerate(order)}
    return sorted(sizes, key=lambda found: place.get(found.size, len(place)))


def find(
    rack: sqlite3.Connection, words: str, limit: int = 50, within: Mapping[str, str] | None = None
) -> list[Found]:
    """Return newest versions that hold every word (or its beginning), best match first.

    within: words that a set must hold in its style, name, size, pieces, place or date; a size
    is matched whole. The text of a card's QR code finds its set. Raises UserError without words.
    """
    if "/" in words:
        with contextlib.suppress(UserError):
            return [pointed(rack, words.strip())[0]]
    terms = [_quoted(word) + "*" for word in words.split()]
    for column, text in (within or {}).items():
        ending = "" if column == "size" else "*"
        terms += [f"{column} : {_quoted(word)}{ending}" for word in text.split()]
    if not terms:
        raise UserError(
            "no word to look for is given", fix="Give a word: a style, piece, place ..."
        )
    rows = rack.execute(
        _SELECT + f" JOIN words ON words.rowid = version.id WHERE words MATCH ? AND {_NEWEST}"
        " ORDER BY words.rank, pattern.style, pattern.size LIMIT ?",
        (" AND ".join(terms), limit),
    )
    return [_found(row) for row in rows]


def _quoted(word: str) -> str:
    return '"' + word.replace('"', '""') + '"'


def versions(rack: sqlite3.Connection, found: Found) -> list[Found]:
    """Return every version of the same set, oldest first."""
    rows = rack.execute(
        _SELECT + " WHERE pattern.style = ? AND pattern.size = ? ORDER BY version.number",
        (found.style, found.size),
    )
    return [_found(row) for row in rows]


def files_of(rack: sqlite3.Connection, found: Found) -> dict[str, bytes]:
    """Return the set file and drawings of a version, path to bytes, checked by their hashes."""
    rows = rack.execute(
        "SELECT path, hash FROM drawing WHERE version = ? ORDER BY path", (found.id,)
    )
    return {row["path"]: kept(rack, row["hash"]) for row in rows}


def content_of(rack: sqlite3.Connection, found: Found, column: str) -> bytes | None:
    """Return the version's `picture` or `profile`, or None."""
    digest = rack.execute(f"SELECT {column} FROM version WHERE id = ?", (found.id,)).fetchone()[0]
    return kept(rack, digest) if digest else None


def details_of(rack: sqlite3.Connection, found: Found) -> dict[str, Any]:
    """Return the version's details as plain data: cards, seams, cautions, sizes."""
    row = rack.execute("SELECT details FROM version WHERE id = ?", (found.id,)).fetchone()
    details = _parsed(row[0], dict, f"the details of {found.ref}")
    for key in ("cards", "seams", "cautions", "sizes"):
        if not isinstance(details.get(key, []), list):
            raise _damaged(f"the details of {found.ref}")
    return dict(details)


def _parsed(text: object, kind: type, what: str) -> Any:
    """Return a column's JSON value. Raises MachineError if it is not of that kind."""
    try:
        value = json.loads(text) if isinstance(text, str) else None
    except (ValueError, RecursionError):
        value = None
    if not isinstance(value, kind):
        raise _damaged(what)
    return value


def _damaged(what: str) -> MachineError:
    return MachineError(
        f"the rack is damaged: {what} can't be read",
        fix="Restore a back-up of the rack. To list all damage: plotout rack check",
    )


def _found(row: sqlite3.Row) -> Found:
    texts = (row[name] for name in (*_PLAIN, "style", "size") if name not in ("id", "number"))
    if not all(isinstance(text, str) for text in texts) or not isinstance(row["number"], int):
        raise _damaged(f"the record of version {row['id']}")
    return Found(
        **{name: row[name] for name in (*_PLAIN, "style", "size")},
        changes=_parsed(row["changes"], list, f"the changes of version {row['id']}"),
        who=str(row["who"] or ""),
        since=str(row["since"] or ""),
        out=row["out"] if isinstance(row["out"], int) else None,
    )
