"""What is fuzzed: each target takes bytes as some door of plotout does."""

from fuzz.targets.answers import ANSWERS
from fuzz.targets.commands import COMMANDS
from fuzz.targets.drawings import DRAWINGS
from fuzz.targets.hand import HAND
from fuzz.targets.kept import KEPT
from fuzz.targets.machine_files import MACHINE_FILES
from fuzz.targets.target import Target

TARGETS: tuple[Target, ...] = (*HAND, *DRAWINGS, *KEPT, *MACHINE_FILES, *ANSWERS, *COMMANDS)


def named(seed: str) -> Target:
    """Return the target that a seed is of."""
    name = seed.split("/", maxsplit=1)[0]
    return next(each for each in TARGETS if each.name == name)


__all__ = ["TARGETS", "Target", "named"]
