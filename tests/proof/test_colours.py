"""Kinds of work are told apart by eyes that lack red or green cones, by day and by night.

Differences are CIEDE2000 (ISO/CIE 11664-6), reckoned by scikit-image. Colour blindness is simulated
as by G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, "A Physiologically-based Model for
Simulation of Color Vision Deficiency", IEEE TVCG 15 (2009), whose matrices for severity 1.0 are for
linear RGB (IEC 61966-2-1).
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from skimage.color import deltaE_ciede2000, rgb2lab

from plotout.proof.scene import PAPER, STYLES

EYES = {
    "usual": np.eye(3),
    "protanopia": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deuteranopia": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
}
WORKS = ("draw", "score", "punch", "cut")
PAIRS = [*combinations(WORKS, 2)]


def seen(colour: str, eyes: str) -> np.ndarray:
    """Return a colour in CIELAB as those eyes see it."""
    rgb = np.array([int(colour[at : at + 2], 16) for at in (1, 3, 5)]) / 255.0
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    linear = np.clip(np.asarray(EYES[eyes]) @ linear, 0.0, 1.0)
    shown = np.where(linear <= 0.0031308, linear * 12.92, 1.055 * linear ** (1 / 2.4) - 0.055)
    return rgb2lab(shown[None, None])


@pytest.mark.parametrize("eyes", EYES)
@pytest.mark.parametrize("theme", ["colour", "by_night"])
@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_works_are_at_least_20_apart(one, other, theme, eyes):
    colours = [seen(getattr(STYLES[work], theme), eyes) for work in (one, other)]
    assert float(deltaE_ciede2000(*colours)[0, 0]) >= 20.0


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_works_differ_in_width_or_dashes(one, other):
    looks = [(STYLES[work].width, STYLES[work].dashes) for work in (one, other)]
    assert looks[0] != looks[1]


def test_the_simulation_tells_what_it_should():
    """Red and green of one lightness look nearly alike to those eyes, and not to others."""
    apart = {
        eyes: float(deltaE_ciede2000(seen("#a07000", eyes), seen("#5f8b00", eyes))[0, 0])
        for eyes in EYES
    }
    assert apart["usual"] > 1.7 * apart["deuteranopia"]
    assert float(deltaE_ciede2000(seen(PAPER, "usual"), seen("#ffffff", "usual"))[0, 0]) < 5.0
