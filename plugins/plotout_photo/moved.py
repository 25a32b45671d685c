"""Tells whether the sheet or a strip was moved between pictures, from what each of them shows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations

import numpy as np

from plotout import FloatArray, Place, UserError
from plotout_photo.camera import eye_of
from plotout_photo.shot import Shot
from plotout_photo.solve import Solution

ALONE, WORSE = 0.03, 5.0  # pixels: marks fit no better alone; and times that, together
FEW = 4  # pricks that two pictures ought to share, from which it is known that they don't
SHARED = 0.5  # share of them that is shared at least (rendered sheets: 0.94)
ENOUGH = 8  # pricks that show a move
SLID = 0.05  # mm by which the sheet is moved (rendered sheets that stayed: at most 0.007)
PLAIN = 3.0  # times the rest by which a move stands out
SIDEWAYS = 0.03  # slant, mm per mm of height, from which heights move what two pictures see
EDGE = 20.0  # pixels at a picture's edge where pricks may be missed

AGAIN = (
    "Take all of them again without moving anything, or read one alone, or those that were taken "
    "before it was moved."
)


def check_strips(solution: Solution, shots: Sequence[Shot]) -> None:
    """Raise UserError if marks fit far worse together than in each picture alone."""
    rms = [float(np.sqrt(np.mean(np.square(list(off.values()))))) for off in solution.off]
    worse = [own / max(shot.solution.rms, ALONE) for own, shot in zip(rms, shots, strict=True)]
    worst = int(np.argmax(worse))
    if worse[worst] > WORSE:
        raise _again(
            f"the pictures don't fit together: its marks are {rms[worst]:.2f} pixels off with the "
            f"others, and {shots[worst].solution.rms:.2f} alone. The sheet or a strip was moved "
            "between them",
            shots[worst],
        )


def check_sheet(
    solution: Solution, shots: Sequence[Shot], spots: Sequence[Mapping[int, int]]
) -> None:
    """Raise UserError if two pictures show the pricks in other places beside the strips.

    solution: of the strips alone. spots: certain pricks with no other near, picture to row of its
    Holes: those that two pictures show within some millimetres are one.
    """
    for one, other in combinations(range(len(shots)), 2):
        shared = [(prick[one], prick[other]) for prick in spots if one in prick and other in prick]
        due = min(
            _due(solution, shots, spots, one, other), _due(solution, shots, spots, other, one)
        )
        if due >= FEW and len(shared) < SHARED * due:
            raise _again(
                f"{_names(shots, one, other)} don't show the same pricks: {due} ought to be in "
                f"both, and {len(shared) or 'none'} {'is' if len(shared) == 1 else 'are'}. The "
                "sheet was moved between them, or they show different sheets",
                shots[other],
            )
        if len(shared) < ENOUGH:
            continue
        far = _moved(solution, shots, (one, other), np.array(shared))
        if far > SLID:
            raise _again(
                f"the sheet was moved by {far:.2f} mm or more between "
                f"{_names(shots, one, other)}, or a strip by more: their strips fit together, and "
                "their pricks don't",
                shots[other],
            )


def _again(problem: str, shot: Shot) -> UserError:
    return UserError(problem, fix=AGAIN, place=Place(shot.path))


def _names(shots: Sequence[Shot], one: int, other: int) -> str:
    return f"{shots[one].path.name} and {shots[other].path.name}"


def _due(
    solution: Solution, shots: Sequence[Shot], spots: Sequence[Mapping[int, int]], one: int,
    other: int,
) -> int:  # fmt: skip
    """Return how many of a picture's pricks another one ought to show."""
    rows = [prick[one] for prick in spots if one in prick]
    if not rows:
        return 0
    pixels = solution.see(other, solution.table(one, shots[one].found.at[rows]))
    size = np.array(shots[other].kind.size)
    return int(((pixels > EDGE) & (pixels < size - EDGE)).all(axis=1).sum())


def _moved(
    solution: Solution, shots: Sequence[Shot], pair: tuple[int, int], rows: FloatArray
) -> float:
    """Return by how many mm pricks are moved as a whole between two pictures, 0 if not plainly.

    rows: (n, 2), of their Holes. What height could explain is left out: it moves a prick only along
    the line between the places below which the two cameras see it.
    """
    at, slant = [], []
    for index, row in zip(pair, rows.T, strict=True):
        at.append(solution.table(index, shots[index].found.at[row]))
        if shots[index].kind.flat:
            slant.append(np.zeros_like(at[-1]))
            continue
        view = solution.model.views[index]
        eye = eye_of(view.kind, solution.model.camera(solution.x, index))
        slant.append((at[-1] - eye[:2]) / eye[2])
    off, along = at[1] - at[0], slant[1] - slant[0]
    size = np.sum(along**2, axis=1) + SIDEWAYS**2
    across = np.eye(2) - along[:, :, None] * along[:, None, :] / size[:, None, None]
    arm = at[0] - at[0].mean(axis=0)
    turn = np.column_stack([-arm[:, 1], arm[:, 0]]) / max(float(np.hypot(*arm.T).max()), 1.0)
    ways = across @ np.concatenate([np.broadcast_to(np.eye(2), across.shape), turn[:, :, None]], 2)
    seen = np.einsum("nij,nj->ni", across, off)
    kept = np.ones(len(off), dtype=bool)
    for _ in range(3):  # without pricks that are not one and the same
        move = np.linalg.lstsq(ways[kept].reshape(-1, 3), seen[kept].ravel(), rcond=0.05)[0]
        rest = np.hypot(*(seen - ways @ move).T)
        kept = rest <= 3.0 * np.median(rest) + 1e-9
    far, left = (float(np.sqrt(np.mean(np.sum(part[kept] ** 2, axis=1))))
                 for part in (ways @ move, seen - ways @ move))  # fmt: skip
    return far if far > PLAIN * left else 0.0
