"""What a user is informed of pricks that strayed, or may have."""

from __future__ import annotations

from collections.abc import Sequence

from plotout.kit import Strays
from plotout_pricks.end_pricks import stand_ins
from plotout_pricks.tidy import Tidy

SURE = 0.95  # chance that a prick strayed above which it is left out without qualification
SURE_OF_FEW = 0.995  # the same among FEW pricks or less, where bends and strays look alike
FEW = 10


def stray_notes(tidy: Tidy, judged: Strays) -> list[str]:
    """Return a note on every prick that may be a stray."""
    if not judged.worth_asking:
        return []
    name, numbers = tidy.run.name, tidy.numbers
    notes, instead = [], stand_ins(tidy, judged)
    for index, suspect in judged.left_out.items():
        note = f"prick {numbers[index]} of '{name}' lies {suspect.off:.1f} mm off; left out"
        if suspect.chance < (SURE if len(numbers) > FEW else SURE_OF_FEW):
            note += f", though its pricks don't prove it ({100 * suspect.chance:.0f} %)"
        if index in instead:
            note += f"; prick {numbers[instead[index]]} may have strayed in its stead"
        notes.append(note)
    if judged.doubted:
        candidates = [
            f"prick {numbers[index]} ({suspect.off:.1f} mm off, {100 * suspect.chance:.0f} %)"
            for index, suspect in judged.doubted.items()
        ]
        notes.append(f"'{name}': its pricks don't show whether one strayed: it may be "
                     f"{' or '.join(candidates)}; kept: prick that seam again")  # fmt: skip
    if also := _either(numbers, judged.candidates):
        if notes:
            notes.append(f"'{name}': prick {also} may have strayed as well")
        else:
            notes.append(f"'{name}': its pricks don't show whether any strayed: prick it again")
    return notes


def _either(numbers: Sequence[int], indices: Sequence[int]) -> str:
    """Return the pricks' numbers, "2, 3 or 5"."""
    *others, last = [str(numbers[index]) for index in indices] or [""]
    return f"{', '.join(others)} or {last}" if others else last
