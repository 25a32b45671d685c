"""A reading against the truth of the scene that was rendered: laid over it as a rigid whole."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import render
from scipy.spatial import cKDTree

NEAR = 1.2  # mm: a prick that is further off is another thing
CORNER = 0.5  # mm: how near a corner must be, the aim of this project


@dataclass
class Score:
    """off: mm of each prick found; within: share inside its expected error. Found: shares."""

    off: np.ndarray
    expected: np.ndarray
    found: float
    false: int
    count: int
    corners: float
    runs_right: bool
    scale: float

    @property
    def p95(self):
        return float(np.percentile(self.off, 95))

    @property
    def rms(self):
        return float(np.sqrt(np.mean(self.off**2)))

    @property
    def within(self):
        return float((self.off <= self.expected).mean())


def rigid(here, there):
    """Turn and shift that bring points onto others (Umeyama 1991, without scale)."""
    a, b = here - here.mean(axis=0), there - there.mean(axis=0)
    u, _, vt = np.linalg.svd(a.T @ b)
    flip = np.diag([1.0, np.sign(np.linalg.det(u @ vt))])
    turn = u @ flip @ vt
    return turn, there.mean(axis=0) - here.mean(axis=0) @ turn


def _nearest(far, which):
    """Return which pricks are the nearest to their hole, (n,): a hole is found once."""
    order = np.lexsort((far, which))
    made = np.zeros(len(far), dtype=bool)
    made[order[np.unique(which[order], return_index=True)[1]]] = True
    return made


def score(scene, made):
    """Compare a survey with its scene."""
    model, x = made.solution.model, made.solution.x
    ends = np.array([[0.0, 0.0], [218.0, 0.0]])
    shared = [strip for strip in model.strips if strip in scene.strips]
    here = np.vstack([made.off_table(model.on_strip(x, s, ends)) for s in shared])
    there = np.vstack([render._placed(ends, *scene.strips[s]) for s in shared])
    turn, shift = rigid(here, there)
    tree = cKDTree(scene.holes)
    for _ in range(2):
        at = made.at @ turn + shift
        far, which = tree.query(at)
        near = far < NEAR
        turn, shift = rigid(made.at[near], scene.holes[which[near]])
    at = made.at @ turn + shift
    far, which = tree.query(at)
    near = (far < NEAR) & _nearest(far, which)
    in_run = np.zeros(len(at), dtype=bool)
    for run in made.way.runs:
        for group in run.groups:
            in_run[list(made.way.groups[group].members)] = True
    got = np.zeros(len(scene.holes), dtype=bool)
    got[which[near & in_run]] = True
    corners = np.array([g.at for g in made.way.groups if g.corner]).reshape(-1, 2) @ turn + shift
    gaps = [np.hypot(*(corners - c).T).min() if len(corners) else np.inf for c in scene.corners]
    span = np.hypot(*(made.at[near] - made.at[near].mean(axis=0)).T).sum()
    meant = scene.holes[which[near]]
    true_span = np.hypot(*(meant - meant.mean(axis=0)).T).sum()
    return Score(
        far[near], made.error[near], float(got[scene.run_of >= 0].mean()),
        int((~near & in_run).sum()), int(in_run.sum()), float(np.mean(np.array(gaps) < CORNER)),
        _runs_right(scene, made, turn, shift), span / true_span - 1.0,
    )  # fmt: skip


def _runs_right(scene, made, turn, shift):
    kinds = [run.kind for run in made.way.runs]
    meant = ["curve" if curved else "straight" for curved in scene.curved]
    if len(kinds) != len(meant):
        return False
    starts = np.array([made.way.groups[run.groups[0]].at for run in made.way.runs]) @ turn + shift
    first = int(np.argmin(np.hypot(*(starts - scene.corners[0]).T)))
    return kinds[first:] + kinds[:first] == meant
