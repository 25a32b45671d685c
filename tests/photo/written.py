"""Words and arrows written by hand beside the pricks of a scene, and lettering on its paper."""

from __future__ import annotations

import cv2
import numpy as np
import render

_TURN = np.linspace(0.0, 2.0 * np.pi, 25)
_ROUND = 0.5 + 0.5 * np.column_stack([np.cos(_TURN), np.sin(_TURN)])
_ROLL = np.linspace(0.0, 3.0, 60)

# strokes of signs that are 1 high, from the lower left
SIGNS = {
    "A": [[(0, 0), (0.35, 1), (0.7, 0)], [(0.12, 0.35), (0.58, 0.35)]],
    "T": [[(0, 1), (0.7, 1)], [(0.35, 1), (0.35, 0)]],
    "N": [[(0, 0), (0, 1), (0.6, 0), (0.6, 1)]],
    "1": [[(0, 0.7), (0.3, 1), (0.3, 0)]],
    "2": [[(0, 0.75), (0.15, 0.97), (0.4, 0.97), (0.5, 0.7), (0, 0), (0.55, 0)]],
    "4": [[(0.4, 0), (0.4, 1), (0, 0.3), (0.6, 0.3)]],
    "7": [[(0, 1), (0.55, 1), (0.2, 0)]],
    "x": [[(0, 0), (0.5, 0.6)], [(0, 0.6), (0.5, 0)]],
    "n": [[(0, 0.6), (0, 0)], [(0, 0.4), (0.2, 0.6), (0.4, 0.5), (0.4, 0)]],
    "o": [_ROUND * [0.5, 0.6]],
    "i": [[(0.05, 0.6), (0.05, 0)], [(0.05, 0.95), (0.05, 0.96)]],
    "m": [np.column_stack([0.5 * _ROLL + 0.22 * np.cos(2 * np.pi * _ROLL),
                           0.3 + 0.3 * np.sin(2 * np.pi * _ROLL)])],
    ".": [[(0, 0), (0, 0.01)]],
    ">": [[(0, 0.5), (2.5, 0.5)], [(2.0, 0.8), (2.5, 0.5), (2.0, 0.2)]],
}  # fmt: skip
WORDS = ("mini", "ATTo", "inA", "no", "2x", "14", "27", "1.4", "A", "1", "4", "x", ">", "Ti", "m")
FAR = (5.0, 18.0)  # mm from a prick
FONT, CAPITAL, PER = cv2.FONT_HERSHEY_SIMPLEX, 21.0, 16.0  # its units; pixels per mm of lettering


def letter(scene, cam, light, text, at, turned=0.0, high=7.0):
    """Letter a word on the paper in pale ink. at: its lower left, mm; turned: degrees; high: mm."""
    size, wide = high * PER / CAPITAL, max(round(0.1 * high * PER), 1)
    (across, up), under = cv2.getTextSize(text, FONT, size, wide)
    raster = np.zeros((up + under + 4 * wide, across + 4 * wide), np.uint8)
    cv2.putText(raster, text, (2 * wide, up + 2 * wide), FONT, size, 255, wide, cv2.LINE_AA)
    box = np.array([[0, 0], [1, 0], [1, 1], [0, 1]]) * (np.array(raster.shape[::-1]) - 1.0)
    low = (box - [2 * wide, up + 2 * wide]) * [1.0, -1.0] / PER
    seen = cam.see(render._lifted(scene, render._placed(low, turned, *at)))
    first, last = np.floor(seen.min(axis=0)).astype(int), np.ceil(seen.max(axis=0)).astype(int) + 1
    first, last = np.maximum(first, 0), np.minimum(last, light.shape[::-1])
    if (last <= first).any():
        return
    way = cv2.getPerspectiveTransform(box.astype(np.float32), (seen - first).astype(np.float32))
    smooth = cv2.GaussianBlur(raster, (0, 0), PER * 0.1)  # several of its pixels are one of light
    share = cv2.warpPerspective(smooth, way, tuple(int(v) for v in last - first))
    light[first[1] : last[1], first[0] : last[0]] *= 1.0 - 0.6 * share.astype(np.float32) / 255.0


def write(scene, cam, light, words):
    """Write so many words, 3 to 8 mm high, each near a prick; some run over pricks and lines."""
    rng = np.random.default_rng(scene.seed + 77)
    for _ in range(words):
        way, prick = rng.uniform(0.0, 2.0 * np.pi), scene.holes[rng.integers(len(scene.holes))]
        at = prick + rng.uniform(*FAR) * np.array([np.cos(way), np.sin(way)])
        lean = rng.choice([0.0, 0.0, np.pi / 2.0, rng.uniform(-np.pi, np.pi)])
        turn = np.array([[np.cos(lean), np.sin(lean)], [-np.sin(lean), np.cos(lean)]])
        strokes = _strokes(str(rng.choice(WORDS)), rng.uniform(3.0, 8.0))
        wide, through = int(rng.integers(2, 4)), rng.uniform(0.25, 0.6)
        mask = np.zeros(light.shape, np.uint8)
        for stroke in strokes:
            seen = cam.see(render._lifted(scene, at + stroke @ turn))
            cv2.polylines(mask, [np.round(seen * 16).astype(np.int32)[:, None]], False, 255, wide,
                          cv2.LINE_AA, 4)  # fmt: skip
        part = mask > 0
        light[part] *= 1.0 - (1.0 - through) * (mask[part].astype(np.float32) / 255.0)


def _strokes(word, high):
    """Return a word's strokes, (n, 2) mm each, from its lower left."""
    along, made = 0.0, []
    for sign in word:
        strokes = [np.array(stroke, float) for stroke in SIGNS[sign]]
        made += [high * (stroke + np.array([along, 0.0])) for stroke in strokes]
        along += max(stroke[:, 0].max() for stroke in strokes) + 0.25
    return made
