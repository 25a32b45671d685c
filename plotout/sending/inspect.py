"""Before anything is sent: what would this file do on this machine, and is that allowed?

What can do harm is refused. What isn't understood may be sent unchanged if the user agrees.
"""

from __future__ import annotations

import mmap
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from plotout import plugins
from plotout.errors import Place, UserError
from plotout.hookspecs import Interpreter
from plotout.language import Language
from plotout.machine import Machine
from plotout.model import Reading
from plotout.proof.faults import Faults
from plotout.proof.repeats import Repeats
from plotout.sending.cutfile import digest_of, mapped
from plotout.sending.window import LARGE, Window

_SOMETHING = re.compile(rb"\S")
REFUSED = ".refused"  # suffix of a file that failed its proof
MOST_TOLD = 5


@dataclass(frozen=True, slots=True)
class Look:
    """unsafe: what can do harm, in words. doubtful: what isn't understood, or seems odd. notes: the
    rest. digest: the SHA-256 of what was looked at.
    """

    unsafe: tuple[str, ...]
    doubtful: tuple[str, ...]
    notes: tuple[str, ...] = ()
    digest: str = ""


def look(
    path: Path,
    machine: Machine,
    language: Language,
    machines: Sequence[str],
    said: Callable[[str], None] = lambda _text: None,
) -> Look:
    """Read a file as the machine would. machines: the names of all machines. said: told how far a
    large file is read.

    Raises UserError if it can't be read.
    """
    with mapped(path, language) as data:
        if not _SOMETHING.search(data):
            raise UserError("the file is empty", fix="Make it again.", place=Place(path))
        safety = Window(data, said, f"Looking through {path.name}")
        unsafe = list(language.unsafe(data, safety.passed))
        if path.name.endswith(REFUSED):
            unsafe.append("it failed its proof when it was made")
        doubtful = list(_strangers(path, machine, language.made_for(data), machines))
        doubtful += language.doubtful(data, safety.passed)
        interpreter = plugins.interpreter_for(machine.driver)
        if interpreter is None:
            doubtful.append(f"no plugin reads files of the driver '{machine.driver}': unchecked")
            return Look(tuple(unsafe), tuple(doubtful), digest=digest_of(data))
        first = next(iter(language.unit_starts(data)), len(data))
        if first <= LARGE and interpreter.read(data[:first], machine).traced:
            unsafe.append(
                "it works before it first lifts its tool, or switches it off: that could not be "
                "counted"
            )
        found, again, last = Faults(machine), Repeats(machine), Reading((), ends_safe=False)
        window = Window(data, said, f"Reading {path.name} as the machine would")
        for at, part in _parts(interpreter, data, machine):
            found.add(part)
            again.add(part)
            window.passed(at)
            last = part
        digest = digest_of(data)
    unsafe += (*found.words(), *last.unsafe)
    if not found.works:
        unsafe += [f"not understood: {text}" for text in last.unknown]
    doubtful += [f"not understood: {text}" for text in last.unknown]
    if found.still:
        doubtful.append(
            "its cutter is in the stock with the spindle off, or without a speed (M3 S)"
        )
    if found.turning:
        doubtful.append("a tool that does not turn works while the spindle does (M5 is missing)")
    repeated = tuple(filter(None, (again.words(),)))
    if again.whole:
        doubtful += repeated
    notes = () if again.whole else repeated
    if found.no_speed:
        notes += ("it does not say how fast it works: the machine's own speed holds",)
    return Look(tuple(dict.fromkeys(unsafe)), tuple(doubtful), notes, digest)


def _parts(
    interpreter: Interpreter, data: mmap.mmap, machine: Machine
) -> Iterator[tuple[int, Reading]]:
    """Yield a reading in parts; of an interpreter that has none, whole."""
    if interpreter.parts is not None:
        return interpreter.parts(data, machine)
    return iter([(len(data), interpreter.read(data[:], machine))])


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
) -> str:
    """Refuse a file that can do harm, or that nobody vouches for; return the digest of what was
    looked at. Raises UserError.

    as_it_is: what isn't understood may be sent if the user agrees.
    """
    size = path.stat().st_size if path.exists() else 0
    if size > LARGE:
        said(f"Reading {path.name} ({size / 1e6:.0f} MB) as the machine would ...")
    seen = look(path, machine, language, sorted(_machines()), said)
    if seen.unsafe:
        raise UserError(
            f"it is not sent: {_shortened(seen.unsafe)}",
            fix=f"Make it again for '{machine.name}', or correct it; see 'plotout proof'.",
            place=Place(path),
        )
    for text in seen.notes:
        said(f"Note: {text}.")
    if not seen.doubtful:
        return seen.digest
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
    return seen.digest


def _machines() -> list[str]:
    from plotout.machine import profile

    return list(profile.known(plugins.machine_files()))


def _shortened(words: Sequence[str]) -> str:
    more = f"; and {len(words) - MOST_TOLD} more" if len(words) > MOST_TOLD else ""
    return "; ".join(words[:MOST_TOLD]) + more
