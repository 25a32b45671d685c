"""Files with damaged bytes are refused, whatever their decoders make of them.

Decoders of JPEG go on behind damage without a word: ITU-T T.81 states no checksum. Their library's
own warnings are in its jerror.h.
"""

import cv2
import numpy as np
import pytest
from PIL import Image
from plotout_photo.image import load

from plotout import UserError

KINDS = {
    "zeroed.jpg": {},
    "progressive.jpg": {"progressive": True},
    "optimised.jpg": {"optimize": True},
    "zeroed.png": {},
}


@pytest.fixture(scope="module")
def page():
    """A grey page with much in it, so that its files are large."""
    rng = np.random.default_rng(3)
    made = cv2.resize(rng.integers(60, 220, (90, 120), dtype=np.uint8), (1200, 900))
    return Image.fromarray(cv2.add(made, rng.integers(0, 20, made.shape, dtype=np.uint8)))


def damaged(path, how):
    """Damage a file in its first third: later parts of a progressive one only refine it."""
    data = bytearray(path.read_bytes())
    middle = len(data) // 4
    if how == "zeroed":  # a block of a disk
        data[middle : middle + 512] = bytes(512)
    elif how == "lost":
        del data[middle : middle + 4096]
    else:
        for at in range(middle, middle + 210, 7):
            data[at] ^= 0x55
    path.write_bytes(data)


@pytest.mark.parametrize("how", ["zeroed", "lost", "changed"])
@pytest.mark.parametrize(("name", "saved"), KINDS.items())
@pytest.mark.parametrize("mode", ["L", "RGB"])
def test_a_damaged_file_is_refused(page, name, saved, how, mode, tmp_path):
    path = tmp_path / name
    page.convert(mode).save(path, **saved)
    load(path)
    damaged(path, how)
    with pytest.raises(UserError) as caught:
        load(path)
    assert caught.value.exit_code == 2
    assert name in str(caught.value)
    assert "damaged" in str(caught.value) or "can't be read" in str(caught.value)


def test_a_damaged_photo_of_two_pictures_or_for_print_is_refused(page, tmp_path):
    """CIPA DC-007 and CMYK: decoded in other ways."""
    page.convert("RGB").save(tmp_path / "two.jpg", format="MPO", save_all=True,
                             append_images=[Image.new("RGB", page.size)])  # fmt: skip
    page.convert("CMYK").save(tmp_path / "print.jpg")
    for name in ("two.jpg", "print.jpg"):
        load(tmp_path / name)
        damaged(tmp_path / name, "zeroed")
        with pytest.raises(UserError, match="damaged"):
            load(tmp_path / name)
