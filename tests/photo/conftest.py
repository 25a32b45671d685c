"""One scene, photographed once for all tests that look at it: 12 megapixels take their time."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))

pytest.importorskip("cv2", reason="the photo plugin's extra is not installed")

import render


@pytest.fixture(scope="session")
def scene():
    return render.scene(4)


@pytest.fixture(scope="session")
def cameras():
    """Three, from clearly different places."""
    rng = np.random.default_rng(9)
    return [
        render.camera(rng, tilt=tilt, azimuth=azimuth, aim=(0, 0), reach=930)
        for tilt, azimuth in ((22, 30), (28, 150), (25, 270))
    ]


@pytest.fixture(scope="session")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("photos")


@pytest.fixture(scope="session")
def photo(scene, cameras, folder):
    path = folder / "sheet.jpg"
    path.write_bytes(render.photograph(scene, cameras[0]))
    return path


@pytest.fixture(scope="session")
def surveyed(photo):
    from plotout_photo.survey import survey

    return survey([photo])
