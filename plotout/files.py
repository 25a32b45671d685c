"""Reads and writes whole files.

Read: only an ordinary file, and no more of it than is sensible. Written: beside the target and then
moved into place, so that a failed run loses nothing.
"""

from __future__ import annotations

import errno
import hashlib
import os
import re
import stat
import tempfile
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from plotout.errors import MachineError, Place, PlotoutError, UserError

LONGEST_NAME = 255  # bytes of the name of a file or folder: NAME_MAX of POSIX, common practice
LONGEST_PATH = 4095  # bytes: PATH_MAX of Linux without its end

LONGEST = 60
"""Bytes in a part of a file's name: twenty letters of Japanese."""

_WITHOUT_WAITING = (
    getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_NOCTTY", 0) | getattr(os, "O_BINARY", 0)
)
"""To open a pipe without waiting for its writer; the last one is for Windows."""

_ORDINARY = "-_.,'`\u2019()"
_SPELT = {
    "æ": "ae", "ø": "o", "đ": "d", "ð": "d", "ł": "l", "œ": "oe", "þ": "th", "ı": "i", "ß": "ss",
}  # fmt: skip

_NO_PLACE = (
    errno.ENOENT, errno.EEXIST, errno.ENOTDIR, errno.EISDIR, errno.ENAMETOOLONG, errno.ELOOP,
    errno.EINVAL,
)  # fmt: skip
"""Errors of a path that can't be written by anybody; those of permissions are apart."""


def read_whole(path: Path, what: str, most: int, fix: str = "Is the path right?") -> bytes:
    """Return all of a file of the user's.

    what: "drawing", for messages. Raises UserError with `fix` when it can't be read, is no ordinary
    file, or holds more than `most` bytes.
    """
    with open_ordinary(path, what, fix) as file:
        try:
            data = file.read(most + 1)
        except OSError as fault:
            raise _cannot_read(path, what, fault.strerror or str(fault), fix) from fault
    if len(data) > most:
        size = f"{most >> 20} MiB" if most >> 20 else f"{most >> 10} KiB"
        raise UserError(
            f"this is more than {size}, too large for a {what}",
            fix="Check that it is the right file.",
            place=Place(file=path),
        )
    return data


def open_ordinary(path: Path, what: str, fix: str = "Is the path right?") -> BinaryIO:
    """Open a file of the user's to read it.

    Raises UserError with `fix` for a pipe or device, which might never end, and where it can't be
    opened.
    """
    try:
        handle = os.open(path, os.O_RDONLY | _WITHOUT_WAITING)
    except (OSError, ValueError) as fault:  # ValueError: a path with a null character
        why = getattr(fault, "strerror", None) or str(fault)
        raise _cannot_read(path, what, why, fix) from None
    kind = os.fstat(handle).st_mode
    if stat.S_ISREG(kind):
        return os.fdopen(handle, "rb")
    os.close(handle)
    if stat.S_ISDIR(kind):
        raise _cannot_read(path, what, "it is a folder", fix)
    raise _cannot_read(
        path, what, "it is a pipe or a device", "Save it to an ordinary file, and name that."
    )


def write_whole(path: Path, data: bytes) -> None:
    """Write `data` to `path` in one step: the old file stays until the new one is complete.

    Raises UserError where a file stands for a folder, or a folder for the file, and where nothing
    can be written; MachineError when the disk is full, or fails.
    """
    with staged({path: data}) as move:
        move()


@contextmanager
def staged(files: Mapping[Path, bytes]) -> Iterator[Callable[[], None]]:
    """Write files beside their places; give what moves all of them there, which takes no room.

    So a full disk leaves every old file, not some old and some new ones. What isn't moved is
    removed at the end. Raises as `write_whole` does.
    """
    waiting: dict[Path, Path] = {}

    def move() -> None:
        for path in list(waiting):
            try:
                waiting[path].replace(path)
            except OSError as fault:
                raise cannot_write(path, fault) from fault
            del waiting[path]

    try:
        for path, data in files.items():
            _write_beside(path, data, waiting)
        yield move
    finally:
        for beside in waiting.values():
            beside.unlink(missing_ok=True)


def _write_beside(path: Path, data: bytes, waiting: dict[Path, Path]) -> None:
    """Write a file beside its place, and note where."""
    blocked = next((parent for parent in path.parents if parent.is_file()), None)
    if blocked is not None or path.is_dir():
        raise UserError(
            "it is a file, not a folder" if blocked else "it is a folder, not a file",
            fix="Name another place.",
            place=Place(file=blocked or path),
        )
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, beside = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
        waiting[path] = Path(beside)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        waiting[path].chmod(0o666 & ~_umask())
    except OSError as fault:
        raise cannot_write(path, fault) from fault


def rewrite_whole(path: Path, data: bytes) -> None:
    """Write a file of the user's again, as `write_whole` does; it keeps its permissions, and a
    link to it stays a link. Raises UserError for one that is only to be read.
    """
    real = path.resolve()
    mode = real.stat().st_mode if real.exists() else None
    if mode is not None and not mode & stat.S_IWUSR:
        raise UserError(
            "can't write it: it is only to be read",
            fix="Change its permissions, or write it by hand.",
            place=Place(file=path),
        )
    write_whole(real, data)
    if mode is not None:
        real.chmod(stat.S_IMODE(mode))


def check_writable(folder: Path) -> None:
    """Try whether a folder, which need not exist yet, can be written to, before long work.

    Raises UserError where a file stands for it, or nothing can be written; MachineError where the
    disk is full, or fails.
    """
    try:
        steps = (folder, *folder.parents)
        there = next((at for at in steps if at.exists() or at.is_symlink()), folder)
        if not there.is_dir():
            what = "a link that leads nowhere" if there.is_symlink() else "a file"
            raise UserError(
                f"it is {what}, not a folder", fix="Name another place.", place=Place(file=there)
            )
        with tempfile.TemporaryDirectory(prefix=".", dir=there):
            pass
    except OSError as fault:
        raise cannot_write(folder, fault) from fault


def is_full(fault: OSError) -> bool:
    """Return whether a disk has no more room: in all, for this user, or in this file."""
    return fault.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)


def slug(text: str) -> str:
    """Return `text` as a part of a file name: letters and figures of every script, and hyphens.

    In Unicode's NFC, small letters, at most LONGEST bytes of UTF-8. Where signs are lost other than
    spaces and those of ordinary writing, or it is too long, six hexadecimal digits of the text's
    SHA-256 stand for them, so that two names stay two: "A+" and "A".
    """
    whole = unicodedata.normalize("NFC", text).replace("İ", "i").lower()  # not i with a dot more
    kept = "".join(letter if _is_kept(letter) else "-" for letter in whole if letter not in "'`’")
    plain = re.sub("-+", "-", unicodedata.normalize("NFC", kept)).strip("-")
    lost = any(
        not _is_kept(letter) and not letter.isspace() and letter not in _ORDINARY
        for letter in whole
    )
    if plain and not lost:
        return shortened(plain, LONGEST)
    return "-".join(part for part in (_cut(plain, LONGEST - 8), _print_of(whole)) if part)


def in_ascii(name: str) -> str:
    """Return a slug in a to z, 0 to 9 and hyphens, for machines whose screens know no others.

    Accents are dropped; for a script that has no such letters a hash stands.
    """
    bare = "".join(_SPELT.get(letter, letter) for letter in name)
    marked = unicodedata.normalize("NFKD", bare)
    plain = re.sub("[^a-z0-9]+", "-", marked.encode("ascii", "ignore").decode()).strip("-")
    lost = any(letter > "\x7f" and unicodedata.category(letter)[0] in "LN" for letter in marked)
    return "-".join(part for part in (plain, _print_of(name) if lost else "") if part)


def shortened(name: str, most: int) -> str:
    """Return a file name in at most that many bytes, with a hash where some of it is left out."""
    if len(name.encode()) <= most:
        return name
    return f"{_cut(name, most - 8)}-{_print_of(name)}"


def _is_kept(letter: str) -> bool:
    return unicodedata.category(letter)[0] in "LMN"


def _cut(name: str, most: int) -> str:
    """Return the first `most` bytes of a name, as whole letters with their marks."""
    data = name.encode()[: most + 1]
    cut = data[:most].decode("utf-8", "ignore") if len(data) > most else name
    return cut.strip("-")


def _print_of(text: str) -> str:
    return "x" + hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:6]


def slug_among(text: str, others: Iterable[str]) -> str:
    """Return the slug of `text`; with a digest where one of `others` has the same."""
    plain = slug(text)
    if all(slug(other) != plain for other in others if other != text):
        return plain
    return f"{_cut(plain, LONGEST - 8)}-{_print_of(text)}"


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _cannot_read(path: Path, what: str, why: str, fix: str) -> UserError:
    return UserError(f"can't read the {what}: {why}", fix=fix, place=Place(file=path))


def cannot_write(path: Path, fault: OSError) -> PlotoutError:
    """Return why a place can't be written: it can't hold files for this user, or a disk fails."""
    problem, place = f"can't write it: {fault.strerror or fault}", Place(file=path)
    if fault.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        fix = "Name another place, or change your permissions for that folder."
        return UserError(problem, fix=fix, place=place)
    if fault.errno in _NO_PLACE:
        fix = "Its folder was removed or replaced, or can't hold files: name another place."
        return UserError(problem, fix=fix, place=place)
    fix = "Check the disk: its free space, and whether it can still be written."
    return MachineError(problem, fix=fix, place=place)
