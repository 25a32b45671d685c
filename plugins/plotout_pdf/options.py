"""A profile's options for its printer's pages."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from plotout import Machine
from plotout.kit import Choice, Flag, Kind, Length, ListOf, Words, options_of, table

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Page(Kind):
    """A paper, by name or by its sides: width and height, portrait, mm."""

    def read(self, value: Any) -> tuple[float, float]:
        """See Kind."""
        from plotout.kit import page_size

        return page_size(Words().read(value))

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        return {"type": "string"}

    @property
    def form(self) -> str:
        """See Kind."""
        return '"A4", "letter", "300 mm x 400 mm" ...'

    @property
    def sample(self) -> str:
        """See Kind."""
        return '"A4"'


@table
@dataclass(frozen=True, slots=True)
class PageOptions:
    """A profile's `[options]` for full-size pages."""

    band: Annotated[
        str,
        Choice(
            "Where the page's text and scale are; auto: at a roll's start, or along the page's "
            "shorter side.",
            ("auto", "left", "foot"),
        ),
    ] = "auto"


@table
@dataclass(frozen=True, slots=True)
class Options:
    """A profile's `[options]` for tiles: pages and how they join, mm."""

    page: Annotated[tuple[float, float], Page("The paper.")] = (210.0, 297.0)
    margin: Annotated[
        Box,
        ListOf(
            "What the printer can't reach: one length, or [left, bottom, right, top].",
            of=Length("", most=1000.0),
            least=4,
            most=4,
            spread=True,
        ),
    ] = (5.0, 5.0, 5.0, 5.0)
    overlap: Annotated[float, Length("Overlap of neighbouring pages.", most=1000.0)] = 10.0
    style: Annotated[
        str,
        Choice("trim: cut both pages and butt them; lap: cut one, lay it over.", ("trim", "lap")),
    ] = "trim"
    orientation: Annotated[
        str,
        Choice(
            "The pages' orientation; auto: whichever takes fewer.",
            ("auto", "portrait", "landscape"),
        ),
    ] = "auto"
    by_card: Annotated[bool, Flag("Tile every card separately.")] = False


def page_options(machine: Machine) -> PageOptions:
    """Return the profile's settings for full-size pages. Raises UserError as `options`."""
    return options_of(machine, PageOptions)


def options(machine: Machine) -> Options:
    """Return the profile's settings. Raises UserError for an unknown one."""
    return options_of(machine, Options)
