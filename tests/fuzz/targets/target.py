"""What a target is, and the sound files that its variants are made of."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from fuzz.mutations import variant

CORPUS = Path(__file__).parents[1] / "corpus"


@dataclass(frozen=True, slots=True)
class Target:
    """A door of plotout. It may raise plotout's own errors; PluginError is a fault of ours.

    sound: good files for it. take: gives it bytes, in an empty folder. made: a variant of a seed,
    else one of text. share: of a long run's inputs. placed: its errors must name a file.
    """

    name: str
    sound: Callable[[], list[bytes]]
    take: Callable[[bytes, Path], None]
    made: Callable[[str], bytes] | None = None
    share: float = 1.0
    placed: bool = True

    def variant(self, seed: str) -> bytes:
        """Return the variant of this seed."""
        if self.made is not None:
            return self.made(seed)
        sound = self.sound()
        return variant(seed, one_of(seed, sound), sound)


def one_of(seed: str, sound: list[bytes]) -> bytes:
    """Return one of the sound files."""
    return sound[random.Random(seed + "which").randrange(len(sound))]


@cache
def corpus(pattern: str) -> list[bytes]:
    """Return the sound files whose names fit a pattern."""
    return [path.read_bytes() for path in sorted(CORPUS.glob(pattern))]
