"""Plugins that fail or break their contract: each is named, and nothing of theirs is believed.

Python's own rules of types and exceptions are the reference: what is wrong is plain in each.
"""

from importlib.metadata import EntryPoint
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from plotout import Driver, Interpreter, Reader, Role, Shape, hookimpl, plugins
from plotout.errors import PluginError
from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.guarded import Origin
from plotout.model import Program, Run, Sheet
from plotout.plugins import Offer


class Entry:
    """An entry point of a package that isn't plotout's."""

    def __init__(self, load, name="odd"):
        self.name, self.load = name, load
        self.dist = SimpleNamespace(name="odd-package", version="2.1")


def offering(hook, *items):
    """A plugin that offers these by one hook."""
    function = hookimpl(lambda: items[0] if items == (None,) else [*items])
    return offer(lambda: SimpleNamespace(**{hook: function}))


def offer(load, name="odd"):
    return Offer(Entry(load, name), Origin(name, "odd-package", "2.1"))


def raising(fault):
    def raises(*_given):
        raise fault

    return raises


@pytest.fixture
def with_plugins(monkeypatch):
    def put(*odd):
        monkeypatch.setattr(plugins, "offers", lambda: odd)

    return put


NAMED = r"plugin 'odd', of the package odd-package 2\.1, "


@pytest.mark.parametrize("fault", [KeyError("c"), SystemExit(0), RecursionError(), MemoryError()])
def test_a_plugin_that_does_not_load_is_named(fault):
    with pytest.raises(PluginError, match=NAMED + "failed to load") as caught:
        _ = offer(raising(fault)).readers
    assert "pip uninstall odd-package" in caught.value.fix


def test_a_plugin_without_hooks_is_named():
    with pytest.raises(PluginError, match=NAMED + "offers nothing"):
        _ = offer(lambda: SimpleNamespace(plotout_readers=list)).readers


@pytest.mark.parametrize(
    ("hook", "item", "said"),
    [
        ("plotout_readers", None, "returned None"),
        ("plotout_readers", 7, "not a Reader"),
        ("plotout_readers", Reader("odd", ("odd",), {}, print), "suffix, 'odd'"),
        ("plotout_drivers", Driver("odd", "/../x.nd", print), "suffix, '/../x.nd'"),
        ("plotout_drivers", Driver("odd", ".nd", print, options=int), "not marked @table"),
        ("plotout_machines", Path("/nowhere/odd.toml"), "isn't there"),
    ],
)
def test_what_can_not_be_used_is_refused(hook, item, said):
    odd = offering(hook, item)
    with pytest.raises(PluginError, match="plugin 'odd'") as caught:
        _ = getattr(odd, hook.removeprefix("plotout_"))
    assert said in caught.value.problem


GIVEN = [None, 7, "text", [], object()]


@pytest.mark.parametrize("given", GIVEN)
def test_a_driver_gives_bytes(given):
    (driver,) = offering("plotout_drivers", Driver("odd", ".nd", lambda *_: given)).drivers
    with pytest.raises(PluginError, match=NAMED + "failed in the emit of its driver 'odd'"):
        driver.emit(None, None)


@pytest.mark.parametrize("part", ["check", "as_driven", "tiles", "grids"])
@pytest.mark.parametrize("fault", [KeyError("c"), SystemExit(3)])
def test_every_function_of_a_driver_is_guarded(part, fault):
    odd = Driver("odd", ".nd", print, **{part: raising(fault)})
    (driver,) = offering("plotout_drivers", odd).drivers
    with pytest.raises(PluginError, match=f"the {part} of its driver 'odd'"):
        getattr(driver, part)(None)


@pytest.mark.parametrize("given", GIVEN)
def test_an_interpreter_gives_a_reading(given):
    odd = Interpreter("odd", ("odd",), lambda *_: given, lambda *_: iter([(1, given)]))
    (interpreter,) = offering("plotout_interpreters", odd).interpreters
    with pytest.raises(PluginError, match="its interpreter 'odd'"):
        interpreter.read(b"", None)
    with pytest.raises(PluginError, match="its interpreter 'odd'"):
        list(interpreter.parts(b"", None))


@pytest.mark.parametrize("given", [*GIVEN, SimpleNamespace(shapes=())])
def test_a_reader_gives_a_drawing(given, with_plugins):
    with_plugins(offering("plotout_readers", Reader("odd", (".nd",), {}, lambda *_: given)))
    with pytest.raises(PluginError, match="its reader 'odd'"):
        plugins.read_drawing(Path("a.nd"), {})


def test_a_shape_takes_a_list_of_whole_numbers():
    shape = Shape([(0, 0), (10, 0), (10, 5)], Role.OUTLINE)
    assert shape.points.dtype == np.float64
    np.testing.assert_array_equal(shape.points, [[0, 0], [10, 0], [10, 5]])


@pytest.mark.parametrize("points", [[1, 2, 3], [[1, 2, 3]], [["a", "b"]], None, []])
def test_a_shape_of_something_else_is_refused(points):
    with pytest.raises((TypeError, ValueError)):
        Shape(points, Role.OUTLINE)


def test_a_driver_can_not_change_what_its_file_is_compared_with():
    def emit(program, _sheet):
        program.runs[0].points[:] = 0.0
        return b""

    line = np.array([[0.0, 0.0], [10.0, 5.0]])
    run = Run(line, None, Stroke(line.copy(), Work.CUT, Mark.INTERNAL), 10.0)
    program = Program("odd", None, 100.0, 100.0, (run,))
    (driver,) = offering("plotout_drivers", Driver("odd", ".nd", emit)).drivers
    with pytest.raises(PluginError, match="read-only"):
        driver.emit(program, Sheet("odd", 1, 100.0, 100.0, ()))
    np.testing.assert_array_equal(line, [[0.0, 0.0], [10.0, 5.0]])


def test_what_a_plugin_prints_leaves_standard_output_alone(capsys):
    odd = Driver("odd", ".nd", lambda *_: print("noise") or b"")
    (driver,) = offering("plotout_drivers", odd).drivers
    driver.emit(None, None)
    out, err = capsys.readouterr()
    assert (out, err) == ("", "noise\n")


@pytest.mark.parametrize(
    ("hook", "item", "asked"),
    [
        ("plotout_drivers", Driver("same", ".nd", print), lambda: plugins.driver("same")),
        ("plotout_readers", Reader("same", (".ND",), (), print),
         lambda: plugins.reader_for(Path("a.nd"))),
        ("plotout_interpreters", Interpreter("same", ("same",), print),
         lambda: plugins.interpreter_for("same")),
    ],
)  # fmt: skip
def test_two_plugins_of_one_name_are_both_named(hook, item, asked, with_plugins):
    other = offering(hook, item)
    with_plugins(offering(hook, item), Offer(other.entry, Origin("even", "even-package", "1")))
    with pytest.raises(PluginError, match=r"odd-package 2\.1.*even-package 1"):
        asked()


def test_the_longest_suffix_wins_in_any_case_of_letters(with_plugins):
    short, long = (
        Reader("short", (".json",), (), print),
        Reader("long", (".Shape.json",), (), print),
    )
    with_plugins(offering("plotout_readers", short, long))
    assert plugins.reader_for(Path("A.SHAPE.JSON")).name == "long"
    assert plugins.reader_for(Path("shape.json")).name == "short"


def test_our_own_entry_points_load():
    assert all(isinstance(each.entry, EntryPoint) for each in plugins.offers())
    assert {each.name for each in plugins.drivers()} >= {"dxf", "gcode", "hpgl", "svg"}
