"""What cards warn of, once for all that have it in common."""

from __future__ import annotations

from collections.abc import Sequence

from plotout.model import Card


def card_warnings(cards: Sequence[Card]) -> list[str]:
    """Return the cards' warnings; what several cards have in common once, with their names."""
    titles: dict[str, list[str]] = {}
    for card in cards:
        for text in card.warnings:
            titles.setdefault(text, []).append(card.title)
    every = len({card.title for card in cards})

    def named(of: Sequence[str]) -> str:
        names = dict.fromkeys(of)
        return "every card" if 2 < len(names) == every else "; ".join(names)

    return [f"{named(of)}: {text}" for text, of in titles.items()]
