"""What to do about a reading: about its scale, about paper that lifts, and what to photograph."""

from __future__ import annotations

import numpy as np

from plotout_photo.accuracy import ErrorMap, Sights, disagreed
from plotout_photo.camera import eye_of, on_table
from plotout_photo.exposure import bleached
from plotout_photo.scale import Print, printed
from plotout_photo.shot import FEW_GREYS, Shot
from plotout_photo.strips import SCALE
from plotout_photo.survey import Survey
from plotout_photo.uncertain import draws
from plotout_photo.unfit import DARKER

GOOD = 0.20  # mm: an expected error above it is worth another photograph
DISAGREE = 0.1  # mm, one sigma, by which strips move pricks that don't agree
WHY = "Are they of one print, flat and whole? Was the picture straightened by a program?"
BLEACHED = 0.1  # share of marks with pure white from which that is why they fit badly (measured)
WRONG = 0.01  # share by which printers that print at full size are seldom off (common practice)


def advice(made: Survey, errors: ErrorMap) -> list[str]:
    """Return what to do, in sentences."""
    found = printed(made.solution, made.shots)
    lines = [*_about_strips(made), *_about_print(made, found), *_about_lift(made)]
    if errors.most > GOOD and found.doubt == 0.0:
        lines.append(_about_worst(made, errors))
    return lines


def _about_worst(made: Survey, errors: ErrorMap) -> str:
    """Return what would make the least accurate place more accurate."""
    worst = (
        f"The least accurate place is at {errors.at[0]:.0f}, {errors.at[1]:.0f} mm, "
        f"{errors.most:.2f} mm: "
    )
    scale = 2.0 * float(np.std(draws(made.solution)[:, 0]))
    by_scale = scale * float(np.hypot(*(errors.at - made.on_runs.mean(axis=0))))
    if errors.most**2 - by_scale**2 <= GOOD**2:
        return worst + (
            f"your measurement leaves all lengths uncertain by {100.0 * scale:.2f} %. Measure a "
            "longer distance, or a second one."
        )
    scans = all(shot.kind.flat for shot in made.shots)
    again = ", and scan it again." if scans else ", or photograph it again from above."
    return f"{worst}lay a strip near it{again}"


def _about_strips(made: Survey) -> list[str]:
    lines = []
    for index, shot in enumerate(made.shots):
        count = len(shot.found)
        if not shot.without_one or not count:
            continue
        sights = Sights(count, [np.arange(count)], [shot.found.at], [shot.found.sigma])
        off = disagreed([shot], sights, made.solution.table(index, shot.found.at))
        bright = bleached_told(shot)
        if np.median(off) > DISAGREE:
            lines.append(
                f"{shot.path.name}: the strips don't agree with each other: with one or another "
                f"left out, pricks lie {np.median(off):.2f} mm elsewhere, which the expected error "
                f"includes. {bright or WHY}"
            )
        elif bright:
            lines.append(f"{shot.path.name}: {bright} The expected error includes that.")
    return lines


def bleached_told(shot: Shot) -> str:
    """Return in words that the white of strips is overexposed, with what to do; "" if not."""
    if shot.greys <= FEW_GREYS:  # its white is no fault of the light
        return ""
    count = bleached(shot.grey, [mark.corners for mark in shot.marks])
    if count < BLEACHED * len(shot.marks):
        return ""
    return (
        f"The strips are overexposed: the white of {count} of {len(shot.marks)} marks is pure "
        f"white, which puts their edges off. {DARKER}"
    )


def _about_print(made: Survey, found: Print) -> list[str]:
    lines = []
    if found.stretched:
        how = "longer" if found.wider > 0 else "shorter"
        lines.append(
            f"The strips are printed {abs(100 * found.wider):.2f} % {how} across than along. "
            "That is taken into account"
            + ("." if found.measured else ", but lengths may be as far off as that, which "
               "the expected error includes: enter a measured distance (--measured).")
        )  # fmt: skip
    for index, share in {} if found.measured else found.contradicted.items():
        shot = made.shots[index]
        lines.append(
            f"{shot.path.name}: at the resolution of the scan the strips are "
            f"{SCALE * (1.0 + share):.1f} mm from cross to cross, not {SCALE:.0f} mm. Measure one: "
            "until then places are by the strips, and the expected error includes the difference."
        )
    if not found.measured and any(shot.marks for shot in made.shots):
        lines.append(
            "The scale is the nominal one of the strips, which a printer may miss by some tenths "
            "of a percent, and the expected error leaves that out. Measure one long distance from "
            'cross to cross and enter it: --measured "1 left - 4 right = 812.5 mm"'
        )
    elif found.measured:
        longer = float(made.solution.x[0])
        doubt = (
            f" A printer is seldom off by more than {100 * WRONG:.0f} %. Were they printed to fit "
            "the page? If not, the distance is wrong: measure it once more."
        ) * (abs(longer) > WRONG)
        kept = any(known.nominal is not None for known in made.solution.model.known)
        whence = ", kept from the table" * kept
        lines.append(
            f"By your measurement{whence}, the strips are {100 * longer:+.2f} % long.{doubt}"
        )
    return lines


def _about_lift(made: Survey) -> list[str]:
    if all(shot.kind.flat for shot in made.shots) or made.solution.model.net is not None:
        return []
    off, longer = _per_lift(made)
    said = (
        " Strips 1 mm thick beside it make them as much too short: enter their thickness "
        "(--thickness)."
    ) * (made.solution.model.thickness == 0.0)
    return [
        f"Where the paper lifts 1 mm, a prick is seen up to {off:.1f} mm off, and lengths are "
        f"{100.0 * longer:.2f} % too long. If it doesn't lie flat, take two more photographs "
        "from other sides: three together show its height." + said
    ]


def _per_lift(made: Survey) -> tuple[float, float]:
    """Return how far off, mm, a prick is seen at worst, and by what share lengths are too long.

    Both for paper that lifts 1 mm: from a camera at the height D, what lies h higher is seen on
    the table larger by h / (D - h).
    """
    most, longer = 0.0, 0.0
    for index, shot in enumerate(made.shots):
        if shot.kind.flat:
            continue
        values = made.solution.model.camera(made.solution.x, index)
        eye = eye_of(made.solution.model.views[index].kind, values)
        at = on_table(made.solution.model.views[index].kind, values, shot.found.at) - eye[:2]
        longer = max(longer, 1.0 / (eye[2] - 1.0))
        if len(at):
            most = max(most, float(np.hypot(*(at - at.mean(axis=0)).T).max() / eye[2]))
    return most, longer
