"""Compiles plotout's loops into the wheel; hatchling runs this when it builds one.

Where that is impossible, for want of a C compiler for instance, the wheel is built without them,
for any system, and the loops are compiled in the first run on a computer.
"""

import sys
import tempfile
from pathlib import Path

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class CompileLoops(BuildHookInterface):
    """Adds the module of compiled loops to a wheel; an editable installation has none."""

    def initialize(self, version, build_data):
        """Compile the loops, and name the file for the wheel."""
        if version == "editable":
            return
        self.folder = tempfile.TemporaryDirectory()
        sys.path.insert(0, self.root)
        try:
            from plotout.geometry import free_cells, nearest, sliding, trial_lays
            from plotout.loops.ahead import built
            from plotout.route import signatures

            parts = (signatures, free_cells, nearest, sliding, trial_lays)
            loops = [loop for part in parts for loop in part.loops()]
            file = built(Path(self.folder.name), loops)
        except (Exception, SystemExit) as fault:
            self.app.display_warning(
                f"The loops of plotout are not compiled ahead, but in the first run: {fault}"
            )
            return
        finally:
            sys.path.remove(self.root)
        build_data["force_include"][str(file)] = f"plotout/loops/{file.name}"
        build_data["pure_python"] = False
        build_data["infer_tag"] = True

    def finalize(self, version, build_data, artifact_path):
        """Delete what was compiled, once the wheel holds it."""
        if version != "editable":
            self.folder.cleanup()
