"""Pricks named by number or by place: never another one than was meant, in silence."""

import dataclasses

import numpy as np
import pytest
from plotout_photo import reader
from plotout_photo.corrections import Corrections
from plotout_photo.table import as_table, ordered

from plotout import PricksWanted, UserError


@pytest.fixture
def fewer(surveyed):
    """Another reading of the same sheet, that has missed its third prick."""
    names = ("at", "sure", "error", "seen", "photo", "pixel", "outside")
    return dataclasses.replace(
        surveyed,
        **{name: np.delete(getattr(surveyed, name), 2, axis=0) for name in names},
        lined=np.empty((0, 2), dtype=np.intp),
    )


@pytest.fixture
def kept(surveyed, tmp_path):
    """The table of the first reading."""
    found, table = ordered(surveyed, Corrections()), tmp_path / "sheet-pricks.csv"
    table.write_text(as_table(surveyed, found, found, Corrections(), [tmp_path / "sheet.jpg"]))
    return table


@pytest.fixture
def final(monkeypatch):
    """Corrections as they are to be applied; a reading goes no further than that."""
    seen = []

    def stop(_made, said):
        seen.append(said)
        if len(seen) % 2 == 0:  # the first is the reading as it was found
            raise InterruptedError

    monkeypatch.setattr(reader, "ordered", stop)
    return seen


def test_a_place_in_a_set_drops_the_same_prick_in_every_reading(
    monkeypatch, surveyed, fewer, tmp_path, final
):
    far = int(np.argmax(surveyed.at[:, 0] * (np.arange(len(surveyed.at)) > 14)))
    x, y = surveyed.at[far]
    for made, number in ((surveyed, far + 1), (fewer, far)):
        monkeypatch.setattr(reader, "survey", lambda *_, made=made, **__: made)
        with pytest.raises(InterruptedError):
            reader.read(tmp_path / "a.jpg", {"drop": [f"{x:.1f}, {y:.1f}"]})
        assert final[-1].drop == {number}


@pytest.mark.parametrize(
    ("said", "told"),
    [([14], "a number alone"), (["-60, -60"], "there is no prick"), (["here"], "not a place"),
     ([True], "not a place"), (["1, 2, 3"], "not a place"), ([900], "not a place")],
)  # fmt: skip
def test_what_names_no_prick_for_certain_in_a_set_is_refused(
    monkeypatch, surveyed, kept, said, told
):
    monkeypatch.setattr(reader, "survey", lambda *_, **__: surveyed)
    with pytest.raises(UserError, match=told) as fault:
        reader.read(kept.with_name("sheet.jpg"), {"drop": said})
    x, y = surveyed.at[13]
    assert told != "a number alone" or f'["{x:.1f}, {y:.1f}"]' in fault.value.fix


def test_a_place_between_two_stabs_is_refused(monkeypatch, surveyed, tmp_path):
    group = next(g for g in surveyed.way.groups if len(g.members) > 2)
    x, y = surveyed.at[list(group.members[:2])].mean(axis=0)
    monkeypatch.setattr(reader, "survey", lambda *_, **__: surveyed)
    with pytest.raises(UserError, match="there are two pricks"):
        reader.read(tmp_path / "a.jpg", {"drop": [f"{x:.2f}, {y:.2f}"]})


def test_a_number_on_the_command_line_is_that_of_the_earlier_table(monkeypatch, fewer, kept, final):
    """Where pricks are numbered otherwise now, and where the one is not found again."""
    monkeypatch.setattr(reader, "survey", lambda *_, **__: fewer)
    wanted = PricksWanted(drop=(20,), earlier=kept)
    with pytest.raises(InterruptedError):
        reader.find([kept.with_name("sheet.jpg")], wanted)
    assert final[-1].drop == {19}
    with pytest.raises(UserError, match="not found again"):
        reader.find([kept.with_name("sheet.jpg")], dataclasses.replace(wanted, drop=(3,)))
