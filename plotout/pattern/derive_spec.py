"""The model of `derive`: how a piece follows its parent. mm."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated

from plotout.pattern.kinds import Ref, Reference
from plotout.pattern.model import Derive
from plotout.tables import Choice, Fault, Flag, Inner, Length, ListOf, table

_NEEDS = {Derive.FACING: ("along", "width"), Derive.COPY: ("smaller",)}
_TAKES = {
    Derive.FACING: ("along", "width"),
    Derive.FUSING: ("along", "width", "inset"),
    Derive.LINING: ("ease", "hem"),
    Derive.COPY: ("smaller",),
}


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class Hem:
    """The edge at which a lining is shortened."""

    edge: Annotated[Ref, Reference("The parent's hem.", example='"hem"')]
    shorter: Annotated[float, Length("How much shorter the lining is.", example='"20 mm"')]


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class DeriveSpec:
    """`derive`: the piece follows a parent piece."""

    parent: Annotated[Ref, Reference("The parent piece.", key="from", example='"Body"')]
    how: Annotated[Derive, Choice("Its relation to the parent.", Derive)]
    along: Annotated[
        tuple[Ref, ...],
        ListOf("Edges of the parent, in order.", of=Reference(example='"neck"'), least=1),
    ] = ()
    width: Annotated[
        float | None, Length("Width of the band along those edges.", above=True, example='"45 mm"')
    ] = None
    inset: Annotated[
        float | None,
        Length("Distance of a fusing inside the cutting line.", example='"3 mm"'),
    ] = None
    smaller: Annotated[
        float | None, Length("How much smaller a copy is on all sides.", example='"1 mm"')
    ] = None
    ease: Annotated[
        float | None, Length("How much wider a lining is at either side.", example='"5 mm"')
    ] = None
    hem: Annotated[Hem | None, Inner("The edge at which a lining is shortened.")] = None
    marked: Annotated[bool, Flag("Drawn on the parent's card, without its own card.")] = False

    def wrong(self) -> Iterator[Fault]:
        """Give the contradictions between its fields."""
        given = [
            key
            for key in ("along", "width", "inset", "smaller", "ease", "hem")
            if getattr(self, key) not in (None, ())
        ]
        for key in _NEEDS.get(self.how, ()):
            if key not in given:
                yield Fault((), f"a {self.how} needs '{key}'", f"Add {key} = ...")
        if self.how is Derive.FUSING and "along" in given and "width" not in given:
            yield Fault((), "a fusing along edges needs 'width'", "Add width = ...")
        for key in given:
            if key not in _TAKES[self.how]:
                takes = ", ".join((*_TAKES[self.how], "marked"))
                yield Fault(
                    (key,), f"'{key}' has no meaning for a {self.how}", f"Available: {takes}."
                )
