"""Files of several pictures: Pillow writes them, by the formats' own rules."""

import numpy as np
import pytest
from PIL import Image
from plotout_photo.image import load

from plotout.errors import UserError

SIZE = (900, 700)
BRIGHT = {"sheet": 180, "other": 90, "preview": 30}


def saved(path, names, **how):
    """Save plain pictures in one file, in this order; previews are a tenth as wide and high."""
    pictures = [
        Image.new("L", (90, 70) if name == "preview" else SIZE, BRIGHT[name]) for name in names
    ]
    pictures[0].save(path, save_all=True, append_images=pictures[1:], **how)
    return path


@pytest.mark.parametrize("names", [["sheet"], ["sheet", "preview"], ["preview", "sheet"]])
def test_the_only_page_of_full_size_is_read(tmp_path, names):
    picture = load(saved(tmp_path / "a.tif", names))
    assert picture.size == SIZE
    assert np.median(picture.grey) == BRIGHT["sheet"]
    assert picture.others == 0


@pytest.mark.parametrize(
    "names", [["sheet", "other"], ["other", "preview", "sheet"], ["sheet"] * 12]
)
def test_pages_are_not_chosen_from(tmp_path, names):
    with pytest.raises(UserError) as told:
        load(saved(tmp_path / "a.tif", names))
    pages = len(names) - names.count("preview")
    assert f"this file has {pages} pages" in told.value.problem
    assert "Save each page as a file" in told.value.fix


def test_a_page_that_says_it_is_reduced_is_a_preview(tmp_path):
    """TIFF 6.0, section 8: bit 0 of NewSubfileType (254), whatever its size."""
    path = tmp_path / "a.tif"
    notes = Image.Exif()
    notes[254] = 1
    reduced, sheet = Image.new("L", SIZE, BRIGHT["other"]), Image.new("L", SIZE, BRIGHT["sheet"])
    reduced.encoderinfo = {"tiffinfo": notes}
    sheet.save(path, save_all=True, append_images=[reduced])
    with Image.open(path) as file:
        file.seek(1)
        assert file.tag_v2[254] == 1
    assert np.median(load(path).grey) == BRIGHT["sheet"]


@pytest.mark.parametrize(("name", "how"), [("a.jpg", {"format": "MPO"}), ("a.png", {})])
def test_other_pictures_than_the_main_one_are_counted(tmp_path, name, how):
    """Several in a JPEG: CIPA DC-007. In a PNG: frames of an animation (PNG, third edition)."""
    picture = load(saved(tmp_path / name, ["sheet", "other"], **how))
    assert np.median(picture.grey) == pytest.approx(BRIGHT["sheet"], abs=2)
    assert picture.others == 1


def test_the_preview_that_a_telephone_appends_is_not_counted(tmp_path):
    assert load(saved(tmp_path / "a.jpg", ["sheet", "preview"], format="MPO")).others == 0


def test_a_main_picture_is_read_though_the_one_after_it_is_cut_off(tmp_path):
    path = saved(tmp_path / "a.jpg", ["sheet", "other"], format="MPO")
    data = path.read_bytes()
    path.write_bytes(data[: data.rindex(b"\xff\xd8\xff") + 2])
    assert np.median(load(path).grey) == pytest.approx(BRIGHT["sheet"], abs=2)


def test_a_picture_of_which_all_is_transparent_shows_nothing(tmp_path):
    Image.new("RGBA", SIZE, (0, 0, 0, 0)).save(tmp_path / "a.png")
    with pytest.raises(UserError, match="all of it is transparent"):
        load(tmp_path / "a.png")
