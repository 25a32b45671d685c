"""Before anything is sent: what would this file do on this machine, and is that allowed?

What can do harm is refused. What isn't understood may be sent unchanged if the user agrees.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from plotout import plugins
from plotout.errors import Place, UserError
from plotout.files import read_whole
from plotout.language import Language
from plotout.machine import Machine
from plotout.proof.readback import MOST_BYTES
from plotout.proof.summary import summarise

LARGE = 4 * 1024 * 1024  # bytes from which reading takes long enough to report it
REFUSED = ".refused"  # suffix of a file that failed its proof
MOST_TOLD = 5


@dataclass(frozen=True, slots=True)
class Look:
    """unsafe: what can do harm, in words. doubtful: what isn't understood, or seems odd."""

    unsafe: tuple[str, ...]
    doubtful: tuple[str, ...]


def look(path: Path, machine: Machine, language: Language, machines: Sequence[str]) -> Look:
    """Read a file as the machine would. machines: the names of all machines.

    Raises UserError if it can't be read.
    """
    data = read_whole(path, "machine file", MOST_BYTES)
    if not data.strip():
        raise UserError("the file is empty", fix="Make it again.", place=Place(path))
    unsafe = list(language.unsafe(data))
    if path.name.endswith(REFUSED):
        unsafe.append("it failed its proof when it was made")
    doubtful = list(_strangers(path, machine, language.made_for(data), machines))
    interpreter = plugins.interpreter_for(machine.driver)
    if interpreter is None:
        doubtful.append(f"no plugin reads files of the driver '{machine.driver}': unchecked")
        return Look(tuple(unsafe), tuple(doubtful))
    with plugins.blamed(interpreter.name):
        reading = interpreter.read(data, machine)
    summary = summarise(reading, machine)
    unsafe += (*summary.faults, *summary.unsafe)
    doubtful += [f"not understood: {text}" for text in summary.unknown]
    return Look(tuple(dict.fromkeys(unsafe)), tuple(doubtful))


def _strangers(path: Path, machine: Machine, header: str, machines: Sequence[str]) -> Iterator[str]:
    """Yield where a file's header or its name mentions another machine."""
    if header and header != machine.name:
        yield f"its header says that it is for '{header}', not for '{machine.name}'"
        return
    inside = [name for name in machines if re.search(rf"(^|-){re.escape(name)}(-|\.|$)", path.name)]
    longest = max(inside, key=len, default=machine.name)
    if not header and longest != machine.name and machine.name not in inside:
        yield f"its name says that it is for '{longest}', not for '{machine.name}'"


def must_be_sound(
    path: Path,
    machine: Machine,
    language: Language,
    *,
    as_it_is: bool,
    said: Callable[[str], None],
    agreed: Callable[[str], bool],
) -> None:
    """Refuse a file that can do harm, or that nobody vouches for. Raises UserError.

    as_it_is: what isn't understood may be sent if the user agrees.
    """
    size = path.stat().st_size if path.exists() else 0
    if size > LARGE:
        said(f"Reading {path.name} ({size / 1e6:.0f} MB) as the machine would ...")
    seen = look(path, machine, language, sorted(_machines()))
    if seen.unsafe:
        raise UserError(
            f"it is not sent: {_shortened(seen.unsafe)}",
            fix=f"Make it again for '{machine.name}', or correct it; see 'plotout proof'.",
            place=Place(path),
        )
    if not seen.doubtful:
        return
    if not as_it_is:
        raise UserError(
            f"it is not sent: {_shortened(seen.doubtful)}",
            fix="If you know that this is right: --as-it-is",
            place=Place(path),
        )
    for text in seen.doubtful[:MOST_TOLD]:
        said(f"Caution: {text}.")
    if not agreed("Only you vouch for this file. Send it as it is?"):
        raise UserError("not sent", fix="Nothing has moved.")


def _machines() -> list[str]:
    from plotout.machine import profile

    return list(profile.known(plugins.machine_files()))


def _shortened(words: Sequence[str]) -> str:
    more = f"; and {len(words) - MOST_TOLD} more" if len(words) > MOST_TOLD else ""
    return "; ".join(words[:MOST_TOLD]) + more
