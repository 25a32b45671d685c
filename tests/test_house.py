"""The house is as DEVELOPERS.md says."""

import ast
import inspect
import subprocess
import sys
import tomllib
import typing
from pathlib import Path

import pytest

import plotout
import plotout.kit

ROOT = Path(__file__).parents[1]


def test_public_names_load():
    for module in (plotout, plotout.kit):
        for name in module.__all__:
            assert getattr(module, name) is not None
            assert name in dir(module)


@pytest.mark.parametrize("module", [plotout, plotout.kit], ids=["plotout", "kit"])
def test_public_names_stand_alike_in_all_three_places(module):
    """The type checker's imports, the lazy table and __all__ name the same things."""
    tree = ast.parse(Path(module.__file__).read_text())
    typed = next(n for n in tree.body if isinstance(n, ast.If))
    imported = {
        (node.module, alias.name)
        for node in typed.body
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
    }
    lazy = {(home, name) for home, names in module._HOME.items() for name in names}
    assert imported == lazy
    assert {name for _, name in lazy} == set(module.__all__)


def test_the_face_offers_models_hooks_and_errors_and_the_kit_the_rest():
    """A class or type, or the marker of hooks: no function, which would be a helper."""
    for name in plotout.__all__:
        thing = getattr(plotout, name)
        assert name == "hookimpl" or not inspect.isfunction(thing), name
    assert not set(plotout.__all__) & set(plotout.kit.__all__)


def test_every_helper_is_used_by_a_plugin():
    """Kinds of options come as a family; any other name must have somebody who needs it."""
    used = set()
    for folder in (ROOT / "plugins", ROOT / "tests" / "outside_plugin"):
        for path in folder.rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text())):
                if isinstance(node, ast.ImportFrom) and node.module == "plotout.kit":
                    used |= {alias.name for alias in node.names}
    kinds = set(plotout.kit._HOME["plotout.tables"])
    assert set(plotout.kit.__all__) - kinds <= used


def test_the_version_is_the_package_s():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    assert plotout.__version__ == project["version"]


def test_a_name_that_is_in_the_other_module_is_pointed_to():
    with pytest.raises(AttributeError, match=r"it is in plotout\.kit"):
        plotout.fit_line  # noqa: B018
    with pytest.raises(AttributeError, match=r"it is in plotout$"):
        plotout.kit.Driver  # noqa: B018


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


def test_the_core_loads_scipy_only_where_it_is_needed():
    """It takes as long to load as a sheet takes to be made."""
    found = set()
    for path in (ROOT / "plotout").rglob("*.py"):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            if any(name.split(".")[0] == "scipy" for name in names):
                found.add(path.relative_to(ROOT).as_posix())
    assert found == {"plotout/layout/registration/fit.py"}  # loaded for marks that were measured


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


def test_every_error_of_the_users_says_what_to_do():
    """A remedy stands in each place where one is raised."""
    bare = []
    for path in (*(ROOT / "plotout").rglob("*.py"), *(ROOT / "plugins").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            called = isinstance(node, ast.Call) and getattr(node.func, "id", "") == "UserError"
            if called and not any(each.arg == "fix" for each in node.keywords):
                bare.append(f"{path.name}:{node.lineno}")
    assert not bare


def test_no_option_of_a_command_is_declared_twice():
    from plotout.cli import plotout as commands

    def walk(command, name):
        names = [opt for param in command.params for opt in (*param.opts, *param.secondary_opts)]
        assert len(names) == len(set(names)), name
        for inner in getattr(command, "list_commands", lambda _: ())(None):
            walk(command.get_command(None, inner), f"{name} {inner}")

    walk(commands, "plotout")
