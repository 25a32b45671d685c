"""The photo plugin's lens against OpenCV's on real photographs of a chessboard.

    python tests/bench/lens.py FOLDER [--smoke]

FOLDER holds left01.jpg to left14.jpg of OpenCV's samples (Debian: package opencv-doc; unpack it
with `dpkg-deb -x`), and left_intrinsics.yml, in which OpenCV publishes its own calibration of them
and the reprojection error. Without a folder this is left out.

The corners are the library's (cornerSubPix). All photographs are solved with one lens: by the
plugin's model (plotout_photo.camera) with scipy, and by cv2.calibrateCamera. Both errors are
printed beside the published one, and how far apart the two lenses put a pixel.
"""

from __future__ import annotations

import argparse
import re
from pathlib import Path

import numpy as np

PATTERN = (9, 6)  # inner corners
POSE = 6  # turn and place of a camera, of the plugin's 14 values


def main() -> None:
    """Solve, compare, print."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("folder", nargs="?", type=Path)
    asked.add_argument("--smoke", action="store_true")
    said = asked.parse_args()
    if said.folder is None:
        print("left out: name the folder of OpenCV's samples")
        return
    try:
        import cv2
    except ImportError as missing:
        print(f"left out: {missing}")
        return
    corners, size = found(
        sorted(said.folder.glob("left[01][0-9].jpg"))[: 5 if said.smoke else None]
    )
    board = np.zeros((PATTERN[0] * PATTERN[1], 3), np.float32)
    board[:, :2] = np.mgrid[: PATTERN[0], : PATTERN[1]].T.reshape(-1, 2)
    _, matrix, bend, turns, shifts = cv2.calibrateCamera(
        [board] * len(corners), corners, size,
        np.array([[600.0, 0, size[0] / 2], [0, 600.0, size[1] / 2], [0, 0, 1]]), None,
        flags=cv2.CALIB_FIX_ASPECT_RATIO | cv2.CALIB_USE_INTRINSIC_GUESS,
    )  # fmt: skip
    theirs = [
        cv2.projectPoints(board, turn, shift, matrix, bend)[0].reshape(-1, 2) - seen.reshape(-1, 2)
        for turn, shift, seen in zip(turns, shifts, corners, strict=True)
    ]
    kind, values, ours = solved(board, corners, size)
    print(f"{len(corners)} photographs, {sum(len(seen) for seen in corners)} corners")
    for name, off in (("cv2.calibrateCamera", theirs), ("plotout_photo", ours)):
        far = np.hypot(*np.vstack(off).T)
        print(f"{name}: rms {np.sqrt(np.mean(far**2)):.4f} pixels, worst {far.max():.2f}")
    published = said.folder / "left_intrinsics.yml"
    if published.is_file():
        error = re.search(r"avg_reprojection_error: *(\S+)", published.read_text())
        print(f"published: rms {float(error[1]):.4f} pixels" if error else "published: not stated")
    print(f"the two lenses put a pixel {apart(kind, values, matrix, bend, size):.3f} pixels apart "
          "at most, within the corners' reach")  # fmt: skip


def found(paths: list[Path]) -> tuple[list[np.ndarray], tuple[int, int]]:
    """Return the corners, (n, 1, 2) pixels, of photographs that show them all, and their size."""
    import cv2

    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_COUNT, 30, 0.01)
    corners = []
    for path in paths:
        grey = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
        seen, rough = cv2.findChessboardCorners(grey, PATTERN)
        if seen:
            corners.append(cv2.cornerSubPix(grey, rough, (11, 11), (-1, -1), stop))
    return corners, grey.shape[::-1]


def solved(board: np.ndarray, corners: list[np.ndarray], size: tuple[int, int]):
    """Return the plugin's lens, its values, and the errors (n, 2) of every photograph."""
    import cv2
    from plotout_photo.camera import lens, seen_from
    from scipy.optimize import least_squares

    kind = lens(size, 600.0, np.inf)
    start = []
    matrix = np.array([[600.0, 0, kind.middle[0]], [0, 600.0, kind.middle[1]], [0, 0, 1]])
    for seen in corners:
        _, turn, shift = cv2.solvePnP(board, seen, matrix, None)
        values = kind.expected.copy()
        values[:3] = turn.ravel()
        start.append(seen_from(kind, values, shift.ravel())[:POSE])

    def errors(x: np.ndarray) -> list[np.ndarray]:
        poses = x[: POSE * len(corners)].reshape(-1, POSE)
        return [
            kind.see(np.concatenate([pose, x[POSE * len(corners) :]]), board.astype(float))
            - seen.reshape(-1, 2)
            for pose, seen in zip(poses, corners, strict=True)
        ]

    x = np.concatenate([*start, kind.expected[POSE:]])
    x = least_squares(lambda at: np.concatenate(errors(at)).ravel(), x, x_scale="jac").x
    return kind, np.concatenate([np.zeros(POSE), x[POSE * len(corners) :]]), errors(x)


def apart(kind, values, matrix, bend, size) -> float:
    """Return the greatest difference, pixels, of two lenses on the same rays, turned to fit."""
    import cv2
    from plotout_photo.camera import bent_again

    span = np.linspace(0.1, 0.9, 15)
    pixels = np.array([(u * size[0], v * size[1]) for u in span for v in span])
    rays = cv2.undistortPoints(pixels[:, None], matrix, bend).reshape(-1, 2)
    off = bent_again(kind, values, rays) - pixels
    return float(np.hypot(*(off - off.mean(axis=0)).T).max())


if __name__ == "__main__":
    main()
