"""Where the user's own files are kept: profiles, the rack, journals, caches.

plotout's environment variables come first, then the platform's convention (on Linux the XDG Base
Directory Specification, in which an empty variable counts as unset).
"""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import platformdirs

from plotout.errors import UserError

_NAME = "plotout"


def profiles() -> Path:
    """Return the folder of the user's own machine profiles: PLOTOUT_MACHINES, or by convention."""
    return _folder("PLOTOUT_MACHINES", platformdirs.user_config_dir, "machines", roaming=True)


def rack() -> Path:
    """Return the rack's file: PLOTOUT_RACK, or by convention."""
    return _folder("PLOTOUT_RACK", platformdirs.user_data_dir, "rack.sqlite")


def journals() -> Path:
    """Return the folder of the journals of jobs: PLOTOUT_JOBS, or by convention."""
    return _folder("PLOTOUT_JOBS", platformdirs.user_state_dir, "jobs")


def _folder(
    variable: str, conventional: Callable[..., str], name: str, *, roaming: bool = False
) -> Path:
    """Return the variable's folder, or a place in the platform's folder.

    Raises UserError for a user without a home folder.
    """
    given = os.environ.get(variable)
    if given:
        return Path(given)
    try:
        base = Path(conventional(_NAME, appauthor=False, **({"roaming": True} if roaming else {})))
    except RuntimeError:  # some versions of platformdirs raise it, others return "~"
        base = Path("~")
    if not base.is_absolute():  # a user without an entry in the password database, and without HOME
        raise UserError("the system doesn't know your home folder", fix=f"Set HOME, or {variable}.")
    return base / name
