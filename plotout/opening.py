"""Opens what a user names: a set file with its drawings, a machine."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from plotout import plugins
from plotout.errors import UserError, found_in
from plotout.machine import AUTOMATIC, Bed, Machine
from plotout.pattern.model import PatternSet

if TYPE_CHECKING:
    from plotout.pattern.assemble import ReadSet


def open_set(path: Path, meanwhile: Callable[[], object] | None = None) -> ReadSet:
    """Read a set file and the drawings it names, once for all its sizes.

    meanwhile: done here as long as the drawings are read. Raises UserError for faults in them.
    """
    from plotout.pattern import assemble, setfile

    set_file = setfile.load(path)
    drawn = set_file.sizes.base if set_file.sizes else set_file.head.size
    return assemble.read_drawings(set_file, partial(plugins.read_drawing, size=drawn), meanwhile)


def read_set(path: Path, size: str = "") -> PatternSet:
    """Read a set file and its drawings, in one of its sizes; "" is the one drawn.

    Raises UserError for what is wrong in them.
    """
    return open_set(path).in_size(size)


def load_machine(name: str) -> Machine:
    """Return a machine by its profile's name or path, and check that its driver serves it."""
    from plotout.machine import profile

    path = profile.find(name, plugins.machine_files())
    machine = profile.load(path, (), plugins)
    with found_in(path):
        driver = plugins.driver(machine.driver)
        if machine.bed.advance == AUTOMATIC and not driver.advances:
            raise UserError(
                f"machine '{machine.name}': its driver '{driver.name}' can't have a roll advanced",
                fix='Write advance = "by hand" under [bed], so that every frame gets a file.',
            )
        if driver.check is not None:
            driver.check(machine)
        return driver.as_driven(machine) if driver.as_driven else machine


def printer(width: float, height: float, band: str = "auto") -> Machine:
    """Return a printer of full-size pages of this size in mm, as PDF.

    band: the side for the page's words and scale; the bed's margins leave room for it.
    """
    base = load_machine("copy-shop")
    machine = replace(base, name="page", bed=Bed(width, height), options={"band": band})
    driver = plugins.driver(machine.driver)
    return driver.as_driven(machine) if driver.as_driven else machine


def printer_around(width: float, height: float) -> Machine:
    """Return a printer of pages that hold just this much, mm, beside the page's own words."""
    left, bottom, right, top = printer(width, height, "foot").bed.margins
    return printer(width + left + right, height + bottom + top, "foot")
