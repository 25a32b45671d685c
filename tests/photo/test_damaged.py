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


@pytest.mark.parametrize("how", ["zeroed", "lost", "changed"])
@pytest.mark.parametrize(
    "stored", ["tiff_deflate", "tiff_adobe_deflate", "tiff_lzw", "packbits", "jpeg"]
)
def test_a_damaged_tiff_is_refused(page, stored, how, tmp_path, capfd):
    """Its decoder asks for no checksum, and writes what it notices to standard error."""
    path = tmp_path / "page.tif"
    page.convert("RGB").save(path, compression=stored)
    load(path)
    damaged(path, how)
    with pytest.raises(UserError, match=r"damaged|can't be read"):
        load(path)
    assert not capfd.readouterr().err


@pytest.mark.parametrize(("stored", "how"), [("group3", "zeroed"), ("group4", "changed")])
def test_a_damaged_tiff_of_black_and_white_is_refused(page, stored, how, tmp_path):
    path = tmp_path / "page.tif"
    page.point(lambda grey: 255 * (grey > 140)).convert("1").save(path, compression=stored)
    load(path)
    damaged(path, how)
    with pytest.raises(UserError, match=r"damaged|can't be read"):
        load(path)


@pytest.mark.parametrize("stored", [8, 32773, 32946])
@pytest.mark.parametrize("rows", [1, 70, 900])
def test_a_sound_tiff_is_read_however_it_is_laid_out(page, stored, rows, tmp_path):
    """As written by another library than the one that reads it."""
    path = tmp_path / "page.tif"
    how = [cv2.IMWRITE_TIFF_COMPRESSION, stored, cv2.IMWRITE_TIFF_ROWSPERSTRIP, rows]
    cv2.imwrite(str(path), np.asarray(page.convert("RGB")), how)
    assert load(path).grey.shape == (900, 1200)


@pytest.mark.parametrize("tiles", [0, pytest.param(512, marks=pytest.mark.thorough)])
@pytest.mark.parametrize("how", ["zeroed", "lost"])
def test_a_damaged_heic_is_refused(page, tiles, how, tmp_path):
    """Three bytes of zero are in no coded unit: ITU-T H.265, 7.4.2.2."""
    heif = pytest.importorskip("pillow_heif")
    heif.register_heif_opener()
    path = tmp_path / "page.heic"
    page.convert("RGB").save(path, grid_tile_size=tiles)
    load(path)
    damaged(path, how)
    with pytest.raises(UserError, match=r"damaged|can't be read"):
        load(path)


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
