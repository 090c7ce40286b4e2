"""Photos keep their picture and lose everything else."""

import io
from dataclasses import replace

import pytest
from PIL import Image

from calibration.case.file import parse_case
from calibration.files.photo import LONGEST_SIDE, clean_photo, photo_beside
from tests.calibration.sample_case import SAMPLE

PLACE = 0x8825  # EXIF: location
TURNED = 0x0112  # EXIF: orientation


def taken(width: int = 300, height: int = 200, kind: str = "JPEG") -> bytes:
    """An invented photo, its left half red, with a place, an owner and a turn in it."""
    photo = Image.new("RGB", (width, height), "blue")
    photo.paste("red", (0, 0, width // 2, height))
    exif = photo.getexif()
    exif[TURNED] = 6  # to be turned by a quarter to the right
    exif[0x013B] = "A camera's owner"
    exif[PLACE] = {1: "N", 2: (36.0, 4.0, 21.5), 3: "W", 4: (79.0, 47.0, 31.0)}
    out = io.BytesIO()
    photo.save(out, format=kind, exif=exif, comment=b"a comment") if kind == "JPEG" else photo.save(out, kind)
    return out.getvalue()


def test_place_owner_and_comment_are_gone_and_the_picture_stands_upright():
    raw = taken()
    assert Image.open(io.BytesIO(raw)).getexif().get_ifd(PLACE), "the camera wrote a place"
    clean = clean_photo(raw)
    photo = Image.open(io.BytesIO(clean))
    assert not photo.getexif() and "comment" not in photo.info
    assert b"owner" not in clean and b"Exif" not in clean
    assert photo.size == (200, 300)
    red, _, blue = photo.getpixel((100, 40))
    assert red > 200 > 60 > blue, "what was left is above"


def test_a_large_photo_is_made_small_and_always_alike():
    raw = taken(4000, 3000)
    photo = Image.open(io.BytesIO(clean_photo(raw)))
    assert max(photo.size) == LONGEST_SIDE
    assert clean_photo(raw) == clean_photo(raw)
    assert Image.open(io.BytesIO(clean_photo(taken(kind="PNG")))).format == "JPEG"


@pytest.mark.parametrize(
    "content", [b"", b"no photo", taken()[:200], b"<svg xmlns='http://www.w3.org/2000/svg'/>"]
)
def test_what_is_no_photo_is_refused(content):
    with pytest.raises(ValueError, match="JPEG or PNG"):
        clean_photo(content)


def test_only_photos_beside_the_case_are_read(tmp_path):
    (tmp_path / "units").mkdir()
    (tmp_path / "outside.jpg").write_bytes(taken())
    (tmp_path / "units" / "coil.jpg").write_bytes(taken())
    case = replace(parse_case(SAMPLE), source=tmp_path / "units" / "unit.toml")
    assert photo_beside(case, "coil.jpg").startswith(b"\xff\xd8")
    for name in ("../outside.jpg", "missing.jpg", str(tmp_path / "outside.jpg"), "unit.toml"):
        with pytest.raises(ValueError, match="no photo beside the case"):
            photo_beside(case, name)
