"""Writes files beside their target and moves them into place, so a failed run loses nothing."""

from __future__ import annotations

import hashlib
import os
import re
import tempfile
import unicodedata
from collections.abc import Iterable
from pathlib import Path

from plotout.errors import MachineError, Place, UserError

LONGEST = 60
"""Greatest number of letters in a part of a file's name."""

_SPELT = {"æ": "ae", "ø": "o", "đ": "d", "ð": "d", "ł": "l", "œ": "oe", "þ": "th", "ı": "i"}


def write_whole(path: Path, data: bytes) -> None:
    """Write `data` to `path` in one step: the old file stays until the new one is complete.

    Raises UserError where a file stands for a folder, or a folder for the file; MachineError when
    the folder can't be written or the disk is full.
    """
    blocked = next((each for each in path.parents if each.is_file()), None)
    if blocked is not None or path.is_dir():
        raise UserError(
            "it is a file, not a folder" if blocked else "it is a folder, not a file",
            fix="Name another --out.",
            place=Place(file=blocked or path),
        )
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, beside = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    except OSError as fault:
        raise _cannot(path, fault) from fault
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        Path(beside).chmod(0o666 & ~_umask())
        Path(beside).replace(path)
    except BaseException as fault:
        Path(beside).unlink(missing_ok=True)
        if isinstance(fault, OSError):
            raise _cannot(path, fault) from fault
        raise


def slug(text: str) -> str:
    """Return `text` as a name that is safe in any file name: a to z, 0 to 9, hyphens.

    If letters or digits are lost, as from another script, six hexadecimal digits of the text's
    SHA-256 are added, so that different names stay different.
    """
    whole = unicodedata.normalize("NFKC", text).casefold()
    spelt = "".join(_SPELT.get(letter, letter) for letter in whole)
    marked = unicodedata.normalize("NFKD", spelt)
    bare = "".join(letter for letter in marked if letter.isascii() and letter not in "'`")
    plain = re.sub(r"[^a-z0-9]+", "-", bare).strip("-")
    lost = any(not letter.isascii() and not unicodedata.combining(letter) for letter in marked
               if unicodedata.category(letter)[0] in "LNM")  # fmt: skip
    if not lost and 0 < len(plain) <= LONGEST:
        return plain
    print_ = hashlib.sha256(whole.encode("utf-8", "surrogatepass")).hexdigest()[:6]
    return "-".join(part for part in (plain[: LONGEST - 7].strip("-"), f"x{print_}") if part)


def slug_among(text: str, others: Iterable[str]) -> str:
    """Return the slug of `text`; where one of `others` has the same, a digest tells them apart."""
    plain = slug(text)
    if all(slug(each) != plain for each in others if each != text):
        return plain
    return f"{plain[: LONGEST - 8]}-x{hashlib.sha256(text.encode()).hexdigest()[:6]}"


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _cannot(path: Path, fault: OSError) -> MachineError:
    return MachineError(
        f"can't write it: {fault.strerror or fault}",
        fix="Check the free space on the disk, and your permissions for that folder.",
        place=Place(file=path),
    )
