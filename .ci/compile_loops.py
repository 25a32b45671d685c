"""Compiles plotout's loops into the wheel; hatchling runs this when it builds one.

Where there is no C compiler, the wheel holds them as a first run would keep them, for processors
like this one; on others, and where they can't be compiled at all, that is done in the first run.
"""

import sys
import tempfile
from pathlib import Path

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class CompileLoops(BuildHookInterface):
    """Adds the compiled loops to a wheel; an editable installation has none."""

    def initialize(self, version, build_data):
        """Compile the loops, and name their files for the wheel."""
        if version == "editable":
            return
        self.folder = tempfile.TemporaryDirectory()
        sys.path.insert(0, self.root)
        try:
            self._compile(Path(self.folder.name), build_data)
        except (Exception, SystemExit) as fault:
            self.app.display_warning(
                f"The loops of plotout are not compiled ahead, but in the first run: {fault}"
            )
        finally:
            sys.path.remove(self.root)

    def _compile(self, folder, build_data):
        from plotout.geometry import free_cells, nearest, sliding, trial_lays
        from plotout.loops import ahead, cache
        from plotout.route import signatures

        parts = (signatures, free_cells, nearest, sliding, trial_lays)
        loops = [loop for part in parts for loop in part.loops()]
        try:
            file = ahead.built(folder, loops)
        except (Exception, SystemExit) as fault:
            self.app.display_warning(
                f"The loops of plotout are compiled for processors like this one only: {fault}"
            )
            for file in ahead.kept(folder, loops):
                place = f"plotout/loops/{cache.SHIPPED.name}/{file.relative_to(folder).as_posix()}"
                build_data["force_include"][str(file)] = place
            return
        build_data["force_include"][str(file)] = f"plotout/loops/{file.name}"
        build_data["pure_python"] = False
        build_data["infer_tag"] = True

    def finalize(self, version, build_data, artifact_path):
        """Delete what was compiled, once the wheel holds it."""
        if version != "editable":
            self.folder.cleanup()
