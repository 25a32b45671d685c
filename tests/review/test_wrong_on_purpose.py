"""Three sets made wrong on purpose by somebody who had not read the code; every fault is told.

The faults were put into the sets first, and their sums are plain arithmetic on the sets' figures;
the words were copied from what is told. Common practice says what is a fault: seams of equal length
and allowance, a pair for left and right.
"""

from pathlib import Path

import pytest

from plotout import job
from plotout.errors import UserError, UserErrors
from plotout.finishing import finished, reviewed
from plotout.rack.must import by_cloth
from plotout.request import Request
from plotout.review.whole_set import review, with_cards

HERE = Path(__file__).parent / "wrong"

APRON = (
    "seam 'bib to band': 20.0 mm too long: 300.0 mm of 'Waistband' to 280.0 mm of 'Bib'",
    "seam 'bib to band': notch 5.0 mm off: at 135.0 mm of 'Waistband', at 140.0 mm of 'Bib'",
    "seam 'skirt to band': its allowance is 0 mm on 'Skirt', but 12.7 mm on 'Waistband'",
    "Bib: equal: top and waist: 100.00 mm off (180.00 and 280.00 mm)",
    "Skirt: the allowance of 'bottom' is 127 mm: is its unit right?",
    "Skirt: the notch at 300 mm on 'top' is drawn, not cut: there is no allowance there",
    "Strap: it has no grain line",
    "Strap: cut 2 self on fold: but no edge of the piece lies on the fold",
    "Pocket: nothing is cut with it",
    "'self' and 'Self' are treated as different cloths",
    "'Fusing' and 'fusing' are treated as different cloths",
)
TROUSERS = (
    "Front leg: prick 6 of 'hem' lies 5.6 mm off; left out",
    "Front leg: prick 4 of 'outseam' lies 4.1 mm off; left out",
    "Front leg: prick 9 of 'outseam' lies 4.0 mm off; left out",
    "seam 'inseam': its pricks can't show to 0.5 mm whether it matches",
    "seam 'inseam': notch 6.0 mm off: at 150.0 mm of 'Front leg', at 156.0 mm of 'Back leg'",
    "seam 'outseam': notch 4.0 mm off: at 200.0 mm of 'Front leg', at 196.0 mm of 'Back leg'",
    "seam 'outseam': notch at 450.0 mm: 1 on 'Front leg', 2 on 'Back leg'",
    "seam 'waistband': 19.5 mm too long: 742.0 mm of 'Waistband' to 722.5 mm of 'Front leg and",
    "Back leg: the 2 of self are all cut the same way round",
    "Pocket bag: the allowance of 'foot' is 0.5 mm: is its unit right?",
    "'Pocketing' and 'pocketting' are treated as different cloths: if they are one",
    "Waistband: the notch at 371 mm on 'top' is cut as half a V",
)
CAPE = (
    "seam 'hood to collar': notch 10.0 mm off: at 60.0 mm of 'Hood', at 70.0 mm of 'Collar'",
    "seam 'hood to collar': notch 7.0 mm off: at 150.0 mm of 'Hood', at 152.0 mm of 'Collar'",
    "seam 'hood to collar': its allowance is 10 mm on 'Hood', but 6 mm on 'Collar'",
    "Collar: the seam notch at the end of 'front' and the seam notch at the start of 'top' are 2.8",
    "Tab: the seam notch at the end of 'end' and the seam notch at the start of 'long' are 2.9 mm",
    "Tab: the seam notch at the end of 'long' and the seam notch at the start of 'slope' are left",
)


def told(name):
    read = job.open_set(HERE / name).in_size()
    found = with_cards(review(read), read)
    return (*found.faults, *found.notes)


@pytest.mark.parametrize(
    ("name", "faults"),
    [("apron.toml", APRON), ("trousers.toml", TROUSERS), ("cape.toml", CAPE)],
)
def test_every_fault_is_told(name, faults):
    found = told(name)
    assert [fault for fault in faults if not any(one.startswith(fault) for one in found)] == []


def test_a_hood_in_a_pair_is_as_long_as_two_collars_on_the_fold():
    """200 mm twice, to 200 mm twice: there are an upper and an under collar."""
    assert not any("too short" in one or "too long" in one for one in told("cape.toml"))


def test_a_bare_fraction_is_refused(tmp_path):
    wrong = tmp_path / "apron.toml"
    wrong.write_text((HERE / "apron.toml").read_text().replace('"12.7 cm"', '"1/2"'))
    with pytest.raises(UserError, match="'1/2' has no unit"):
        job.open_set(wrong)


def test_a_piece_that_cannot_be_made_hides_no_other_fault(tmp_path):
    """A facing wider than its parent; all that was told without it is still told, by each command.

    A lay on cloth or a paper made in spite of it would be of a set that can't be cut.
    """
    wrong = tmp_path / "apron.toml"
    wrong.write_text((HERE / "apron.toml").read_text().replace('"170 mm"', '"320 mm"'))
    read = job.open_set(wrong).in_size()
    found = with_cards(review(read), read)
    text = (*found.faults, *found.notes)
    broad = "a band 320 mm wide covers the whole piece"
    assert sum(broad in one for one in found.faults) == 1
    assert [fault for fault in APRON if not any(one.startswith(fault) for one in text)] == []
    for refuse in (lambda: finished(Request(wrong, job.load_machine("svg-file"))),
                   lambda: reviewed([read])):  # fmt: skip
        with pytest.raises(UserErrors) as caught:
            refuse()
        problems = [error.problem for error in caught.value.errors]
        assert sum(broad in problem for problem in problems) == 1
        assert any(problem.startswith(APRON[0]) for problem in problems)
        assert any("no edge of the piece lies on the fold" in problem for problem in problems)


def test_a_slipped_digit_is_named_with_its_line(tmp_path):
    rows = (HERE / "front.csv").read_text().splitlines()
    x, y, run, kind = rows[11].split(",")
    rows[11] = f"{x},{float(y) * 100:.0f},{run},{kind}"
    (tmp_path / "front.csv").write_text("\n".join(rows))
    (tmp_path / "trousers.toml").write_text((HERE / "trousers.toml").read_text())
    with pytest.raises(UserError, match=r"of 'inseam' lies 12\.0 m from the rest") as caught:
        job.open_set(tmp_path / "trousers.toml")
    assert caught.value.place.line == 12


def test_a_whole_card_is_not_ordered_on_the_fold():
    read = job.open_set(HERE / "cape.toml").in_size()
    orders = {name: words for name, words, _ in by_cloth(review(read).pieces)["wool"]}
    assert orders["Cape"] == "cut 1 wool"
    assert orders["Collar"] == "cut 2 wool on fold"


@pytest.mark.parametrize("other", ["pocketing 2", "wool B", "pocketing heavy", "lining"])
def test_cloths_told_apart_by_a_number_or_a_word_are_not_questioned(tmp_path, other):
    text = (HERE / "trousers.toml").read_text()
    text = text.replace("pocketting", other).replace("Pocketing", "pocketing 1")
    (tmp_path / "trousers.toml").write_text(text)
    (tmp_path / "front.csv").write_text((HERE / "front.csv").read_text())
    found = review(job.open_set(tmp_path / "trousers.toml").in_size())
    assert not any("different cloths" in note for note in found.notes)
