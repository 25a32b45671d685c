"""Where compiled loops are kept: in this user's cache."""

from __future__ import annotations

import os
import sys
from pathlib import Path


def cache_folder() -> Path:
    """Return the folder that this platform gives a user's caches, plotout's part of it."""
    if "NUMBA_CACHE_DIR" in os.environ:
        return Path(os.environ["NUMBA_CACHE_DIR"])
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA", Path.home() / "AppData" / "Local"))
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Caches"
    else:
        base = Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache"))
    return base / "plotout" / "kernels"


def first_time() -> bool:
    """True when nothing compiled is kept yet, so that the first search takes seconds longer."""
    folder = cache_folder()
    return not (folder.is_dir() and any(folder.rglob("search.shortened*.nbi")))
