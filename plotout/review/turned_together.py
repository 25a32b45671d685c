"""Seams that only together contradict the others: two or three run the wrong way.

Where two seams meet that both run the wrong way, turning one over lets no more corners lie apart,
since the other still brings them together. Of sets that lack seams, seams that are right may look
so too: this is but asked about.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from plotout.pattern.meetings import Sewn, cost_of, walked

MOST = {2: 100, 3: 30}  # seams among which so many that are wrong together are looked for


def turned_together(seams: Sequence[Sewn]) -> list[tuple[str, ...]]:
    """Return the fewest seams that let more corners lie apart if all are walked the other way.

    Several such groups of names, if they are as good; none where two or three don't help.
    """
    as_walked = [walked(seam) for seam in seams]
    turned = [walked(seam.turned) for seam in seams]
    now = cost_of(as_walked)
    for many, most in MOST.items():
        least, best = now - 1, list[tuple[str, ...]]()
        for chosen in combinations(range(len(seams)), many) if len(seams) <= most else ():
            tried = as_walked.copy()
            for at in chosen:
                tried[at] = turned[at]
            if (then := cost_of(tried)) < least:
                least, best = then, []
            if then == least:
                best.append(tuple(seams[at].name for at in chosen))
        if best:
            return best
    return []
