"""The house is as DEVELOPERS.md says."""

import ast
import subprocess
import sys
import typing
from pathlib import Path

import plotout

ROOT = Path(__file__).parents[1]


def test_public_names_load():
    for name in plotout.__all__:
        assert getattr(plotout, name) is not None


def test_public_names_stand_alike_in_all_three_places():
    """The type checker's imports, the lazy table and __all__ name the same things."""
    tree = ast.parse((ROOT / "plotout" / "__init__.py").read_text())
    typed = next(n for n in tree.body if isinstance(n, ast.If))
    imported = {
        (node.module, alias.name)
        for node in typed.body
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
    }
    lazy = {(module, name) for module, names in plotout._HOME.items() for name in names}
    assert imported == lazy
    assert {name for _, name in lazy} == set(plotout.__all__)


def test_plugins_import_only_public_names():
    for path in (ROOT / "plugins").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            names = []
            if isinstance(node, ast.ImportFrom):
                names = [node.module or ""]
            elif isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            for name in names:
                private = name.startswith("plotout.") and name != "plotout.kit"
                assert not private, f"{path.name} imports {name}"


def test_help_loads_nothing_heavy():
    """numpy and the like take longer to load than anybody waits for help."""
    code = (
        "import sys; sys.argv=['plotout','--help']\n"
        "from plotout.cli import main\n"
        "try: main()\n"
        "except SystemExit: pass\n"
        "print('HEAVY', sorted({'numpy','shapely','scipy','ezdxf','numba'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert "HEAVY []" in done.stdout


def test_top_level_is_as_agreed():
    agreed = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "plotout", "plugins",
              "tests", "samples"}  # fmt: skip
    listed = subprocess.run(
        ["git", "ls-tree", "--name-only", "HEAD"], cwd=ROOT, capture_output=True, text=True
    ).stdout.split()
    assert {name for name in listed if not name.startswith(".")} <= agreed


def test_hooks_are_typed():
    from plotout import hookspecs

    for name in ("plotout_readers", "plotout_drivers", "plotout_interpreters", "plotout_machines",
                 "plotout_pricks_finders"):  # fmt: skip
        assert "return" in typing.get_type_hints(getattr(hookspecs, name))
