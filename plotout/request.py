"""Everything asked of a job, what was made of it, and how its files are named."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import KW_ONLY, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from plotout.files import in_ascii, shortened, slug, slug_among
from plotout.geometry.strokes import FloatArray, Work
from plotout.machine import Calibration, Machine
from plotout.manifest import Job, own_stem
from plotout.model import Card, Sheet
from plotout.pattern.model import PatternSet
from plotout.sheet_job import SheetResult

if TYPE_CHECKING:
    from plotout.layout import EarlierLay, Laid, SplitBy, Stock
    from plotout.pattern.assemble import ReadSet

_LONGEST = 150  # bytes of the names' beginning: file systems hold 255 of a name


class Progress(Protocol):
    """Called with a stage in words, the share of it done (0 to 1), and how many things it is of."""

    def __call__(self, stage: str, share: float, of: int = 0, /) -> None:
        """Take note. of: 0 where nothing is counted."""


@dataclass(frozen=True, slots=True)
class Finished:
    """A set and its finished cards that are to be made.

    split: what the pieces were split to fit, if it is not the stock on which the cards are laid.
    faults, notes: what walking the set's seams found, in words.
    """

    pattern_set: PatternSet
    cards: tuple[Card, ...]
    split: SplitBy | None = None
    faults: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Request:
    """Everything asked of a job. Every stage takes what it needs from it.

    source: the path of a set file, a read one, a set, or finished cards. sizes: those of a set file
    to make, laid together; empty for the drawn one. stock: what to cut from; None: the machine's.
    seconds: time for laying. cards: ids of the only cards to make; empty for all. works: the only
    work to do; empty for all. earlier: the lay to reuse. folder: where the files will be
    written, None if that is not known; an earlier lay of the whole set in it says how the piece of
    a card made alone is split. for_files: draw every
    sheet, find its off-cut, and keep only its files and what is reported of it: the strokes take
    most of the memory.
    travel: also draw travel with the tool up. name: the part of file names after the style;
    empty for the machine and the chosen cards. ascii_names: file names in a to z
    alone. strict: refuse a set that has faults.
    """

    source: Path | ReadSet | PatternSet | Finished
    machine: Machine
    _: KW_ONLY
    sizes: tuple[str, ...] = ()
    stock: Stock | None = None
    seconds: float = 10.0
    cards: tuple[str, ...] = ()
    works: tuple[Work, ...] = ()
    earlier: EarlierLay | None = None
    folder: Path | None = None
    for_files: bool = False
    travel: bool = False
    name: str = ""
    ascii_names: bool = False
    strict: bool = False

    @property
    def found(self) -> FloatArray | None:
        """Where the sheet was found on the machine by its marks; see `EarlierLay.matrix`."""
        return self.earlier.matrix if self.earlier else None

    def job(self, pattern_set: PatternSet) -> Job:
        """Return the job as listed beside its files, named as in an empty folder."""
        more = [f"and-{len(self.cards) - 3}-more"] if len(self.cards) > 3 else []
        name = self.name or "-".join([slug(self.machine.name), *self.cards[:3], *more])
        found = ["found"] if self.found is not None else []
        whole = "-".join([stem_of(pattern_set), name, *self.works, *found])
        stem = shortened(in_ascii(whole) if self.ascii_names else whole, _LONGEST)
        return Job(stem, self.what(pattern_set))

    def what(self, pattern_set: PatternSet) -> dict[str, str]:
        """Return what identifies the job, whatever its files are called."""
        return {
            "set": pattern_set.name,
            "style": pattern_set.style,
            "size": pattern_set.size,
            "machine": self.machine.name,
            "cards": " ".join(self.cards),
            "work": " ".join(self.works),
        }

    def stem(self, pattern_set: PatternSet) -> str:
        """Return the beginning of the job's file names, which no other job in its folder has."""
        job = self.job(pattern_set)
        return own_stem(self.folder, job) if self.folder else job.stem


@dataclass(frozen=True, slots=True)
class Made:
    """A whole job: its request, the set, its cards, their lay, and the result of every sheet.

    stem: the beginning of the names of files for the whole lay. faults, notes: as in `Finished`.
    """

    request: Request
    pattern_set: PatternSet
    cards: tuple[Card, ...]
    results: tuple[SheetResult, ...]
    laid: Laid
    stem: str
    faults: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def machine(self) -> Machine:
        """The machine for which it was made."""
        return self.request.machine

    @property
    def sheets(self) -> tuple[Sheet, ...]:
        """The sheets as laid."""
        return self.laid.sheets

    @property
    def warnings(self) -> tuple[str, ...]:
        """Everything the user should know, without repeats, in the order of the stages."""
        from plotout.review.common_warnings import card_warnings

        texts = [*self.notes, *(f"{text}: left out" for text in self.laid.stock.unfit)]
        texts += card_warnings(self.cards)
        texts += [text for result in self.results for text in result.warnings]
        texts += self.machine.notes
        if self.machine.calibration != Calibration():
            texts.append(f"{self.machine.title} is {self.machine.calibration}")
        return tuple(dict.fromkeys(texts))


def quiet(_stage: str, _share: float, _of: int = 0, /) -> None:
    """Report nothing."""


def stem_of(pattern_set: PatternSet) -> str:
    """Return how the names of a set's files begin."""
    return stem_by(pattern_set.name, pattern_set.style, pattern_set.size, pattern_set.sizes)


def stem_by(name: str, style: str, size: str, sizes: Sequence[str]) -> str:
    """Return the same by what it is made of. sizes: all of the set's."""
    said = [slug(text) for text in (name, style) if text]
    return "-".join(dict.fromkeys([*said, *([slug_among(size, sizes)] if size else [])]))


def size_slug(pattern_set: PatternSet) -> str:
    """Return the set's size as a part of a file's name, other than that of its other sizes."""
    return slug_among(pattern_set.size, pattern_set.sizes)
