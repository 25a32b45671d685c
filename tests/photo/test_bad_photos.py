"""Bad photographs get a sentence that says what to do; good ones in odd files are read."""

from __future__ import annotations

import io
import re
import struct
import zlib
from pathlib import Path

import cv2
import numpy as np
import pytest
import render
from PIL import Image
from plotout_photo.image import load
from plotout_photo.shot import take

from plotout import UserError

GUIDE = Path(__file__).parents[2] / "samples" / "guides" / "photo.md"


def pixels_of(photo):
    return cv2.imdecode(np.frombuffer(photo.read_bytes(), np.uint8), cv2.IMREAD_GRAYSCALE)


def kept(folder, name, pixels):
    path = folder / name
    cv2.imwrite(str(path), pixels)
    return path


def told(path):
    with pytest.raises(UserError) as caught:
        take(path)
    assert caught.value.exit_code == 2
    assert path.name in str(caught.value)
    return str(caught.value)


def is_in_the_guide(said):
    """Return whether the guide quotes what a photo was told, apart from its numbers."""
    words = said.split(": ", 1)[1].replace("\n  ", ". ")  # without the file's name
    return _plain(words) in _plain(GUIDE.read_text("utf-8"))


def _plain(text):
    return re.sub(r"\d+(\.\d+)?", "#", text)


def test_blurred(photo, tmp_path):
    soft = cv2.GaussianBlur(pixels_of(photo), (0, 0), 4.0)
    said = told(kept(tmp_path, "blurred.png", soft))
    assert "hold still" in said
    assert is_in_the_guide(said)


def test_a_little_blurred_it_is_read_and_the_holes_that_may_be_missed_are_named(photo, tmp_path):
    soft = take(kept(tmp_path, "soft.png", cv2.GaussianBlur(pixels_of(photo), (0, 0), 1.8)))
    assert any("holes finer than 0.9 mm may be missed" in note for note in soft.notes), soft.notes
    sharp = take(photo)
    assert (soft.sure > 0.5).sum() < 0.95 * (sharp.sure > 0.5).sum()  # and they are
    assert not any("sharp" in note for note in sharp.notes)


def test_too_far_away_for_its_holes(photo, tmp_path):
    """Holes of 0.5 to 1.2 mm at 1.8 pixels per mm: by far the most are less than 2 pixels wide."""
    small = cv2.resize(pixels_of(photo), None, fx=0.42, fy=0.42, interpolation=cv2.INTER_AREA)
    said = told(kept(tmp_path, "far.png", small))
    assert "only holes of 1.1 mm are 2 pixels wide" in said
    assert "Go nearer: 11 photographs" in said


def test_made_small_its_pixels_are_named_and_no_strip_is_asked_for(photo, tmp_path):
    """A mark of 28 mm is some 26 pixels wide in 1000 pixels of 930 mm, less where it is tilted."""
    small = cv2.resize(pixels_of(photo), (1000, 750), interpolation=cv2.INTER_AREA)
    said = told(kept(tmp_path, "small.png", small))
    assert "too small to be measured" in said
    assert "1000 x 750 pixels" in said
    assert "full size" in said
    assert "Lay" not in said
    assert is_in_the_guide(said)
    no_strips = np.full_like(small, 180)
    assert "only 1000 x 750 pixels" in told(kept(tmp_path, "none.png", no_strips))


def test_mirrored(photo, tmp_path):
    said = told(kept(tmp_path, "mirrored.png", pixels_of(photo)[:, ::-1]))
    assert "mirrored" in said
    assert is_in_the_guide(said)


@pytest.mark.parametrize(
    ("made", "said"),
    [(lambda p: p[:, ::-1], "the picture is mirrored"), (lambda p: ~p, "is a negative")],
    ids=["mirrored", "negative"],
)
def test_a_scan_whose_marks_can_not_be_read_is_not_taken_for_one_without_strips(
    made, said, tmp_path
):
    scene = render.scene(8, wide=200.0, tall=140.0, kind="white")
    x, y = scene.paper.max(axis=0) + 90.0
    grey = render.scan(scene, 150.0, (-x, -y, x, y))
    Image.fromarray(np.ascontiguousarray(made(grey))).save(tmp_path / "a.png", dpi=(150, 150))
    assert said in told(tmp_path / "a.png")


@pytest.mark.parametrize(
    ("density", "asked"),
    [((204, 98), True), ((98, 204), True), ((204, 203), False), ((96, 72), False)],
)
def test_a_scan_of_two_resolutions_is_refused(density, asked, tmp_path):
    """As faxes have them (ITU-T T.4: 204 by 98 lines per inch)."""
    path = tmp_path / "a.png"
    Image.new("L", (900, 700), 200).save(path, dpi=density)
    assert load(path, dpi=204.0).dpi == pytest.approx(204.0)
    if not asked:
        assert load(path).dpi in (None, pytest.approx(density[0], rel=0.01))
        return
    with pytest.raises(UserError) as fault:
        load(path)
    assert f"{density[0]} dots per inch across, and {density[1]} up" in fault.value.problem
    assert "--resolution 204" in fault.value.fix


def test_too_few_strips(photo, tmp_path):
    pixels = pixels_of(photo).copy()
    pixels[:, : pixels.shape[1] * 3 // 5] = 90
    pixels[pixels.shape[0] // 2 :] = 90
    said = told(kept(tmp_path, "part.png", pixels))
    assert "strips whole into the picture" in said
    assert is_in_the_guide(said.replace("1 strip ", "1 strips "))


def test_no_marks_a_cat(tmp_path):
    """The cat is a photograph that comes with scikit-image."""
    from skimage import data

    cat = cv2.resize(cv2.cvtColor(data.chelsea(), cv2.COLOR_RGB2BGR), None, fx=3, fy=3)
    said = told(kept(tmp_path, "cat.png", cat))
    assert "no marks are seen" in said
    assert is_in_the_guide(said)


def test_marks_of_another_code(tmp_path):
    code = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_250)
    page = np.full((1200, 1600), 220, np.uint8)
    for nth in range(8):
        x, y = 100 + 350 * (nth % 4), 150 + 500 * (nth // 4)
        page[y : y + 210, x : x + 210] = cv2.aruco.generateImageMarker(code, nth, 210)
    assert "not from plotout's strips" in told(kept(tmp_path, "other.png", page))


def test_a_preview_is_too_small(photo, tmp_path):
    assert "full size" in told(
        kept(tmp_path, "preview.png", cv2.resize(pixels_of(photo), (600, 450)))
    )


def test_from_too_far_away_it_says_how_many_photos_would_do(photo, tmp_path):
    """2 pixels are the least core of a hole; the photo has 4.3 pixels to the mm at full size."""
    pixels = pixels_of(photo)
    small = cv2.resize(pixels, (2800, 2100), interpolation=cv2.INTER_AREA)
    (note,) = take(kept(tmp_path, "far.png", small)).notes
    assert "may be missed" in note
    assert "4 photographs that overlap" in note  # (0.5 mm, 2.2 pixels)^2, two fifths shared
    tiny = cv2.resize(pixels, (1500, 1125), interpolation=cv2.INTER_AREA)
    assert "Go nearer" in told(kept(tmp_path, "farther.png", tiny))


def test_two_hundred_megapixels_are_refused_before_they_are_read(tmp_path):
    """A PNG whose head says so, and that holds nothing (PNG, W3C, clause 11.2.2)."""

    def chunk(kind, data):
        body = kind + data
        return struct.pack(">I", len(data)) + body + struct.pack(">I", zlib.crc32(body))

    head = struct.pack(">IIBBBBB", 16384, 12288, 8, 0, 0, 0, 0)
    path = tmp_path / "huge.png"
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IEND", b""))
    assert "201 million pixels" in told(path)


@pytest.mark.parametrize("data", [b"", b"no picture", b"\xff\xd8\xff\xe0cut off"])
def test_no_picture(data, tmp_path):
    path = tmp_path / "broken.jpg"
    path.write_bytes(data)
    told(path)


def test_a_truncated_photo(photo, tmp_path):
    path = tmp_path / "cut.jpg"
    path.write_bytes(photo.read_bytes()[:300_000])
    assert "can't be read" in told(path)


def test_heic_without_its_library(tmp_path, monkeypatch):
    import sys

    monkeypatch.setitem(sys.modules, "pillow_heif", None)
    path = tmp_path / "sheet.heic"
    path.write_bytes(b"\0\0\0\x18ftypheic")
    assert "pip install pillow-heif" in told(path)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_exif_turning(orientation, tmp_path):
    """Each of the eight orientations (CIPA DC-008, tag 274), against Pillow's exif_transpose."""
    from PIL import ImageOps

    rng = np.random.default_rng(3)
    picture = Image.fromarray(cv2.resize(rng.integers(0, 255, (9, 12), dtype=np.uint8), (800, 600)))
    notes = picture.getexif()
    notes[0x0112] = orientation
    path = tmp_path / "turned.jpg"
    picture.save(path, exif=notes, quality=95)
    with Image.open(path) as file:
        upright = np.asarray(ImageOps.exif_transpose(file))
    assert (load(path).grey == upright).all()


def test_a_telephone_s_heic_is_read_upright(tmp_path):
    """With the library: the container turns the picture (ISO/IEC 23008-12, `irot`), and does so
    once, though its notes say the same."""
    heif = pytest.importorskip("pillow_heif", reason="pillow-heif is not installed")
    heif.register_heif_opener()
    upright = cv2.resize(np.random.default_rng(3).integers(0, 255, (9, 12), np.uint8), (800, 600))
    notes = Image.Exif()
    notes[0x0112] = 6  # to be turned clockwise by a right angle
    path = tmp_path / "sheet.HEIC"
    stored = Image.fromarray(np.rot90(upright)).convert("RGB")
    stored.save(path, format="HEIF", exif=notes.tobytes(), quality=95)
    assert b"irot" in path.read_bytes()
    assert np.abs(load(path).grey.astype(float) - upright).max() < 12


def test_sixteen_bits_and_see_through(tmp_path):
    values = np.linspace(0, 65535, 900 * 700).reshape(700, 900)
    Image.fromarray(values.astype(np.uint16)).save(tmp_path / "deep.tif")
    assert np.abs(load(tmp_path / "deep.tif").grey - values / 257.0).max() <= 1.0
    clear = Image.new("RGBA", (900, 700), (0, 0, 0, 0))
    clear.putpixel((450, 350), (60, 60, 60, 255))
    clear.save(tmp_path / "clear.png")
    grey = load(tmp_path / "clear.png").grey
    assert grey[350, 450] == 60
    assert (grey == 255).sum() == grey.size - 1


@pytest.mark.parametrize("bits", [10, 12, 14, 16])
@pytest.mark.parametrize("white_is_zero", [False, True])
def test_a_tiff_is_as_bright_as_its_depth_says(bits, white_is_zero, tmp_path):
    """Scanners and raw developers put 10 to 14 bits into 16 (common practice); 262: TIFF 6.0."""
    meant = np.tile(np.linspace(0, 255, 900), (700, 1))
    stored = (meant / 255.0 * (2**bits - 1)).round()
    stored = 2**bits - 1 - stored if white_is_zero else stored
    path = tmp_path / "deep.tif"
    Image.fromarray(stored.astype(np.uint16)).save(path, tiffinfo={262: int(not white_is_zero)})
    with Image.open(path) as file:
        assert file.tag_v2[262] == int(not white_is_zero)
    assert np.abs(load(path).grey - meant).max() <= 1.0


def test_what_is_see_through_in_a_palette_is_white_paper(tmp_path):
    page = Image.new("P", (900, 700), 1)
    page.putpalette([0, 0, 0, 90, 90, 90])
    page.paste(0, (0, 0, 100, 700))
    page.save(tmp_path / "sheet.png", transparency=0)
    grey = load(tmp_path / "sheet.png").grey
    assert (grey[:, :100] == 255).all()
    assert (grey[:, 100:] == 90).all()


def test_a_tiff_of_floating_point_numbers_is_told(tmp_path):
    Image.fromarray(np.full((700, 900), 0.5, np.float32)).save(tmp_path / "float.tif")
    assert "floating-point" in told(tmp_path / "float.tif")


@pytest.mark.parametrize("notes_say", [1, 3, 6])
@pytest.mark.parametrize("turned", [False, True])
def test_the_notes_of_a_heic_turn_nothing_its_container_does(turned, notes_say, tmp_path):
    """The container's turning counts, whatever the notes say (ISO/IEC 23008-12, 6.5.10)."""
    heif = pytest.importorskip("pillow_heif", reason="pillow-heif is not installed")
    heif.register_heif_opener()
    upright = cv2.resize(np.random.default_rng(3).integers(0, 255, (9, 12), np.uint8), (800, 600))
    notes = Image.Exif()
    notes[0x0112] = 6 if turned else 1
    path = tmp_path / "sheet.heic"
    stored = np.rot90(upright) if turned else upright
    Image.fromarray(stored).convert("RGB").save(path, format="HEIF", exif=notes.tobytes(),
                                                quality=95)  # fmt: skip
    data = bytearray(path.read_bytes())
    at = data.find(bytes([0x01, 0x12, 0, 3, 0, 0, 0, 1]))
    assert at >= 0
    data[at + 9] = notes_say
    path.write_bytes(bytes(data))
    assert (b"irot" in data) == turned
    assert np.abs(load(path).grey.astype(float) - upright).max() < 12


def test_the_first_of_several_pictures_that_a_heic_calls_so_is_read_also_in_ten_bits(tmp_path):
    heif = pytest.importorskip("pillow_heif", reason="pillow-heif is not installed")
    heif.register_heif_opener()
    picture = cv2.resize(np.random.default_rng(3).integers(0, 255, (9, 12), np.uint8), (800, 600))
    meant = np.repeat(picture[:, :, None], 3, axis=2)
    both = heif.HeifFile()
    both.add_from_pillow(Image.fromarray(255 - meant))
    both.add_from_pillow(Image.fromarray(meant))
    both.save(tmp_path / "both.heic", quality=95, primary_index=1)
    assert np.abs(load(tmp_path / "both.heic").grey.astype(float) - picture).max() < 12
    deep = heif.from_bytes(mode="RGB;16", size=(800, 600),
                           data=(meant.astype(np.uint16) * 257).tobytes())  # fmt: skip
    deep.save(tmp_path / "deep.heic", quality=95)
    assert np.abs(load(tmp_path / "deep.heic").grey.astype(float) - picture).max() < 12


@pytest.mark.parametrize("how", ["CMYK", "progressive", "several"])
def test_a_jpeg_of_any_kind_is_the_same_picture(how, tmp_path):
    picture = cv2.resize(np.random.default_rng(3).integers(0, 255, (9, 12), np.uint8), (600, 800))
    page, path = Image.fromarray(picture).convert("RGB"), tmp_path / "sheet.jpg"
    if how == "CMYK":
        page.convert("CMYK").save(path, quality=95)
    elif how == "progressive":
        page.save(path, quality=95, progressive=True)
    else:  # CIPA DC-007, as some telephones write them
        page.save(path, format="MPO", save_all=True, append_images=[Image.new("RGB", page.size)])
    assert np.abs(load(path).grey.astype(float) - picture).max() < 12


def test_a_scan_is_told_from_a_photo_by_its_notes(tmp_path):
    page = Image.new("L", (900, 700), 200)
    page.save(tmp_path / "scan.png", dpi=(300, 300))
    scan = load(tmp_path / "scan.png")
    assert scan.dpi == pytest.approx(300 / scan.shrunk, rel=1e-4)
    notes = page.getexif()
    notes[0x010F] = "A telephone"
    out = io.BytesIO()
    page.save(out, "JPEG", dpi=(300, 300), exif=notes)
    (tmp_path / "photo.jpg").write_bytes(out.getvalue())
    assert load(tmp_path / "photo.jpg").dpi is None


def test_letters_are_told_from_holes_and_only_many_are_a_print():
    """Painted with OpenCV's letters: 3.5 to 4 mm high at 4 pixels per mm, among dots of 1 mm."""
    from plotout_photo.writing import writing

    page = np.zeros((900, 1200), np.uint8)
    for nth in range(40):
        cv2.circle(page, (60 + 28 * nth, 60), 2, 255, -1)
    inside = np.ones_like(page)
    stabs = [(200, 300), (206, 300), (205, 306), (199, 306)]  # of a corner, almost touching
    for nth in range(80):  # a paper's edge, in pieces
        cv2.line(page, (20 + 14 * nth, 850 + nth), (31 + 14 * nth, 851 + nth), 255, 1)
    dots = np.array([[60.0 + 28 * nth, 60.0] for nth in range(40)])

    def seen():
        dark = page / np.float32(255.0)
        return writing((dark, dark, np.zeros_like(dark)), inside, 4.0, 0.9)

    assert not seen().printed
    cv2.putText(page, "FRONT", (500, 300), cv2.FONT_HERSHEY_SIMPLEX, 0.6, 255, 2, cv2.LINE_AA)
    for at in stabs:
        cv2.circle(page, at, 2, 255, -1)
    few = seen()
    assert not few.printed
    assert not any(few.strokes[row, column] for column, row in stabs)
    assert not few.on(dots).any()
    strokes = np.argwhere(page[280:302, 495:580] > 200)[::5, ::-1] + np.array([495.0, 280.0])
    assert few.on(strokes).mean() > 0.9
    for y in range(370, 820, 30):
        cv2.putText(page, "Lorem ipsum dolor", (400, y), cv2.FONT_HERSHEY_SIMPLEX, 0.6, 255, 2)
    many = seen()
    assert many.printed, len(many.letters)
    assert many.in_print(np.array([[450.0, 590.0], [520.0, 640.0]])).all()
    assert not many.in_print(dots).any()


@pytest.mark.parametrize("grey", [0, 1, 128, 255])
def test_a_picture_of_one_grey_has_no_marks(grey, tmp_path):
    assert "no marks are seen" in told(kept(tmp_path, "even.png", np.full((900, 1200), grey, "u1")))


def test_a_spot_amid_black_is_no_hole():
    """Where all around is black there is no paper, and nothing can be darker."""
    from plotout_photo.things import no_holes

    black, none = np.zeros((100, 100), np.float32), np.zeros((100, 100), np.float32)
    made = no_holes(black, (none, none), np.array([[50.0, 50.0]]), np.array([1.0]), 4.0)
    assert made.all()


@pytest.mark.thorough
@pytest.mark.parametrize("name", ["fax.tif", "one-bit.png"])
def test_a_picture_in_black_and_white_is_read_and_told(photo, name, tmp_path):
    """As scanners save them (TIFF 6.0, section 11: bilevel pictures, compressed as by a fax)."""
    white = pixels_of(photo) > 100
    Image.fromarray(white).save(
        tmp_path / name, **{"compression": "group4"} if "fax" in name else {}
    )
    shot = take(tmp_path / name)
    (note,) = [note for note in shot.notes if "black and white" in note]
    assert "in greys" in note
    assert "no prick is certain" in note
    assert shot.trust < 0.5


def test_a_scan_in_black_and_white_keeps_its_certainty(tmp_path):
    """A scanner's light is even (common practice), so that no shadow passes for a hole."""

    scene = render.scene(8, wide=300.0, tall=190.0, kind="white")
    x, y = scene.paper.max(axis=0) + 90.0
    white = render.scan(scene, 200.0, (-x, -y, x, y)) > 150
    Image.fromarray(white).save(tmp_path / "scan.tif", compression="group4", dpi=(200, 200))
    shot = take(tmp_path / "scan.tif")
    assert any("black and white" in note for note in shot.notes)
    assert shot.trust == 1.0
    assert (shot.sure > 0.9).sum() > 0.7 * len(scene.holes)


def moved_while_taken(photo, pixels):
    """Return a picture as a camera takes it that moves sideways: the mean of where things were."""
    return cv2.blur(pixels_of(photo), (pixels, 1))


def test_moved_while_it_was_taken(photo, tmp_path):
    said = told(kept(tmp_path, "shaken.png", moved_while_taken(photo, 9)))
    assert "blurred in one direction" in said
    assert 8 <= int(re.search(r"about (\d+) pixels", said)[1]) <= 10
    assert is_in_the_guide(said)


def test_moved_a_little_none_of_its_pricks_is_certain(photo, tmp_path):
    from plotout_photo.survey import survey

    made = survey([kept(tmp_path, "shaken.png", moved_while_taken(photo, 4))])
    assert any("in one direction" in note for note in made.shots[0].notes)
    assert (made.sure < 0.5).all()


@pytest.mark.thorough
def test_blur_in_all_directions_is_no_motion(photo, tmp_path):
    for blur in (0.1, 1.8):
        soft = cv2.GaussianBlur(pixels_of(photo), (0, 0), blur)
        shot = take(kept(tmp_path, "soft.png", soft))
        assert not any("direction" in note for note in shot.notes)
        assert shot.trust == 1.0


def test_marks_that_no_camera_sees_so_get_a_sentence(photo, monkeypatch):
    """Smeared marks once gave start values that aren't finite."""
    from plotout_photo import solve

    begin = solve.begin

    def nowhere(kind, by_strip):
        kind, values, poses = begin(kind, by_strip)
        return kind, np.full_like(values, np.nan), poses

    monkeypatch.setattr(solve, "begin", nowhere)
    assert "can't be seen from anywhere" in told(photo)


def test_far_too_dark_it_does_not_ask_for_strips(photo, tmp_path):
    dark = (pixels_of(photo) * 0.05).astype(np.uint8)
    said = told(kept(tmp_path, "dark.png", dark))
    assert "far too dark" in said
    assert "Lay" not in said
    assert is_in_the_guide(said)


@pytest.mark.thorough
def test_overexposed_it_is_told_and_well_exposed_it_is_not(photo, tmp_path):
    pixels = pixels_of(photo).astype(float)
    white = np.clip(pixels * 255.0 / np.percentile(pixels, 30), 0, 255).astype(np.uint8)
    notes = " ".join(take(kept(tmp_path, "over.png", white)).notes)
    assert "overexposed" in notes
    assert "shorter exposure" in notes
    assert "overexposed" not in " ".join(take(photo).notes)


def test_much_white_is_not_blamed_alone_for_marks_that_are_missing(photo, tmp_path):
    blank = np.full_like(pixels_of(photo), 255)
    said = told(kept(tmp_path, "blank.png", blank))
    assert "pure white" in said
    assert "Lay strips around the sheet" in said


@pytest.mark.thorough
def test_a_photograph_given_a_resolution_is_told_to_leave_it_out(photo):
    with pytest.raises(UserError) as caught:
        take(photo, 300.0)
    assert caught.value.exit_code == 2
    assert "leave out its resolution" in str(caught.value)
    assert is_in_the_guide(str(caught.value))
