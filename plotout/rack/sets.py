"""Moves sets between disk and rack: gather them, unpack them, compare them."""

from __future__ import annotations

import os
import sqlite3
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Any

from plotout import job, output
from plotout.errors import Place, UserError
from plotout.files import read_whole, write_whole
from plotout.model import Card
from plotout.pattern import setfile
from plotout.pattern.model import PatternSet
from plotout.rack import record_changes
from plotout.rack.change import Change
from plotout.rack.compare import compare
from plotout.rack.putting import Entry, with_record_of
from plotout.rack.record import Found, content_of, files_of, newest
from plotout.rack.store import MOST_CONTENT

if TYPE_CHECKING:
    from plotout.pattern.spec import SetFile

THUMB = 480  # px across


def gather(path: Path, set_file: SetFile) -> dict[str, bytes]:
    """Return the set file at `path`, read, and all that it names, by their paths within the set.

    Raises UserError when a file lies outside the set file's folder.
    """
    from plotout.pattern.growth_table import named_files

    home = path.resolve().parent
    found = {path.name: read_whole(path, "set file", MOST_CONTENT)}
    for source in named_files(set_file):
        file = source.resolve()
        if not file.is_relative_to(home):
            raise UserError(
                f"'{source}' lies outside the set's folder",
                fix="Move it into the set file's folder, so that the set is complete.",
                place=Place(file=path),
            )
        name = file.relative_to(home).as_posix()
        found[name] = read_whole(file, "drawing", MOST_CONTENT)
    return found


def entry_for(
    path: Path, pattern_set: PatternSet, *, files: dict[str, bytes],
    machine: tuple[str, bytes | None], put_at: str, maker: str,
    place: str, stock: str, notes: str, changes: tuple[str, ...],
) -> Entry:  # fmt: skip
    """Return the entry of one size of a set, with its report and small picture.

    path: of its set file; files: as `gather` gives them; machine: as `machine_now`
    does; changes: as `changes_here` does.
    """
    from plotout.finish import finish

    cards = finish(pattern_set)
    name, profile = machine
    return Entry(
        style=pattern_set.style,
        size=pattern_set.size,
        name=pattern_set.name,
        date=pattern_set.date,
        put_at=put_at,
        set_file=path.name,
        files=files,
        pieces=tuple(piece.name for piece in pattern_set.pieces),
        maker=maker,
        place=place,
        stock=stock,
        machine=name,
        profile=profile,
        notes=notes,
        picture=_thumb(cards),
        details=_details(pattern_set, cards),
        changes=changes,
    )


def words(change: Change) -> str:
    """Return a change as one line."""
    return f"{change.piece}: {change.words}" if change.piece else change.words


def machine_now(machine: str | None) -> tuple[str, bytes | None]:
    """Return the machine's name and its present profile, calibration included; or neither."""
    from plotout import plugins
    from plotout.machine import profile

    if not machine:
        return "", None
    data = profile.find(machine, plugins.machine_files()).read_bytes()
    return job.load_machine(machine).name, data


def _thumb(cards: tuple[Card, ...]) -> bytes:
    """Return a small picture of the largest card."""
    from plotout.geometry.polyline import signed_area
    from plotout.proof import picture

    largest = max(cards, key=lambda card: signed_area(card.outline))
    return picture.to_png(picture.card_picture(largest), THUMB)


def card_picture(rack: sqlite3.Connection, found: Found, card: str) -> bytes:
    """Return a small picture (PNG) of one card of a version, made anew from its files."""
    from plotout.finish import finish
    from plotout.proof import picture

    cards = finish(pattern_of(rack, found))
    chosen = next(other for other in cards if other.id == card)
    return picture.to_png(picture.card_picture(chosen), THUMB)


def _details(pattern_set: PatternSet, cards: tuple[Card, ...]) -> dict[str, Any]:
    from plotout.finish.derive import all_pieces
    from plotout.pattern.walk import walk

    seams = walk(pattern_set.with_pieces(all_pieces(pattern_set)))
    return {
        "cards": [{"id": c.id, "title": c.title, "orders": list(c.orders)} for c in cards],
        "seams": [
            {
                "name": seam.name,
                "first_mm": round(seam.first, 2),
                "second_mm": round(seam.second, 2),
                "faults": list(seam.faults),
            }
            for seam in seams
        ],
        "cautions": list(pattern_set.cautions),
        "sizes": list(pattern_set.sizes),
    }


def unpack(rack: sqlite3.Connection, found: Found, folder: Path) -> Path:
    """Write the version's files into `folder`; return its set file's path.

    Raises UserError for a path that would lead out of the folder.
    """
    return _written(files_of(rack, found), folder) / found.set_file


def _written(files: Mapping[str, bytes], folder: Path) -> Path:
    """Write a set's files into `folder`, and return it."""
    for name, data in files.items():
        path = PurePosixPath(name)
        if path.is_absolute() or ".." in path.parts:
            raise UserError(
                f"'{name}' would lead outside the set",
                fix="Name files within the set's own folder.",
                place=Place(file=name),
            )
        write_whole(folder / path, data)
    return folder


@contextmanager
def unpacked(rack: sqlite3.Connection, found: Found) -> Iterator[Path]:
    """Give the set file's path of a set unpacked temporarily.

    Raises UserError when the set file names a drawing that is not part of the set.
    """
    with tempfile.TemporaryDirectory(prefix="plotout-rack-") as folder:
        path = unpack(rack, found, Path(folder))
        gather(path, setfile.load(path))
        yield path


def pattern_of(rack: sqlite3.Connection, found: Found) -> PatternSet:
    """Read a version of a set, in its own size."""
    with unpacked(rack, found) as path:
        return _in_its_size(path, found)


def _in_its_size(path: Path, found: Found) -> PatternSet:
    whole = job.open_set(path)
    return whole.in_size(found.size if whole.sizes else "")


def changes_between(
    rack: sqlite3.Connection, old: Found, new: Found
) -> tuple[PatternSet, PatternSet, tuple[Change, ...]]:
    """Return both versions, and what changed: of their patterns, their records, their files."""
    was, now = pattern_of(rack, old), pattern_of(rack, new)
    recorded, files = record_changes.changes_between(rack, old.id, new.id)
    others = [Change("", "record", change) for change in recorded]
    others += [Change("", "files", change) for change in files]
    return was, now, (*compare(was, now), *others)


def changes_here(rack: sqlite3.Connection, pattern_set: PatternSet) -> tuple[str, ...]:
    """Return, in words, what changed since the newest version of that style and size, if any."""
    there = newest(rack, pattern_set.style, pattern_set.size)
    if there is None:
        return ()
    try:
        before = pattern_of(rack, there)
    except UserError as fault:
        return (f"version {there.number} can't be compared with it: {fault.problem}",)
    return tuple(map(words, compare(before, pattern_set)))


def brought_here(rack: sqlite3.Connection, entry: Entry, *, as_newest: bool) -> Entry:
    """Return a set from another rack as it is put on this one.

    What is kept of changes is what changes here; of a set that is new here, what did there. Without
    `as_newest`, the record of a set that is here with the same files stays as it is; one with other
    files raises UserError.
    """
    there = newest(rack, entry.style, entry.size)
    if there is None:
        lines = tuple(f"{_THERE}{line.removeprefix(_THERE)}" for line in entry.changes)
        return replace(entry, changes=lines)
    if not as_newest:
        return with_record_of(rack, there, entry)
    with tempfile.TemporaryDirectory(prefix="plotout-rack-") as folder:
        path = _written(entry.files, Path(folder)) / entry.set_file
        gather(path, setfile.load(path))
        whole = job.open_set(path)
        pattern_set = whole.in_size(entry.size if whole.sizes else "")
    return replace(entry, changes=changes_here(rack, pattern_set))


_THERE = "on the rack that it came from: "


def recut(
    rack: sqlite3.Connection, found: Found, folder: Path, *, machine: str | None = None,
    only: tuple[str, ...] = (), seconds: float = 0.0, force: bool = False,
    progress: job.Progress = job.quiet,
) -> tuple[job.Made, tuple[str, ...]]:  # fmt: skip
    """Make the set's files again in `folder`, for the machine that it was put with or another.

    seconds: for laying; at 0 the lay, and so every byte, is always the same (but a piece of which
    `only` some cards are made is split as in a lay of the whole set in `folder`, if there is one).
    The cards show the version that the set file states, as when `make` made them: not the rack's
    own number, which was unknown then. force: see `output.write`, whose notes are also returned.
    """
    with unpacked(rack, found) as path:
        profile = content_of(rack, found, "profile")
        name = machine or found.machine
        if not name:
            raise UserError(
                f"'{found.ref}' was put on the rack without a machine",
                fix="Name one: --machine NAME",
            )
        if not machine and profile is not None:
            kept = path.parent / f".{os.getpid()}" / f"{Path(found.machine).stem}.toml"
            write_whole(kept, profile)
            name = str(kept)
        pattern_set = _in_its_size(path, found)
        chosen = job.load_machine(name)
        request = job.Request(
            pattern_set, chosen, seconds=seconds, cards=only, folder=folder, for_files=True
        )
        made = job.plan(request, progress)
        notes = output.write(made, folder, progress, force=force)
    return made, notes
