"""Photos beside a case: made small, and freed from all that a camera writes into them, place and time too.

Only the pixels are kept, turned upright, and written anew; so nothing that was hidden in a file reaches a
report, be it a location, the owner of the camera, or a preview of what was cut off.

References
----------
EXIF 2.3 (JEITA CP-3451C): the orientation tag, and the tags of location that are left out (from memory).
"""

from __future__ import annotations

import io
from pathlib import Path

from calibration.case.records import Case

LARGEST_PHOTO = 30_000_000
"""Bytes of a file that is read."""
MOST_PIXELS = 120_000_000
"""Pixels of a photo that is opened."""
LONGEST_SIDE = 1400
"""Of the photo that is kept [pixels]."""
QUALITY = 78
"""Of its compression, of 100."""
FORMATS = ("JPEG", "PNG")
PHOTO_ENDINGS = (".jpg", ".jpeg", ".png")


def clean_photo(content: bytes) -> bytes:
    """A photo as a small JPEG file with nothing in it but the picture.

    Parameters
    ----------
    content : bytes
        A JPEG or PNG file.

    Returns
    -------
    bytes
        A JPEG file; the same photo gives the same bytes.

    Raises
    ------
    ValueError
        When it is no such file, or too large.
    """
    from PIL import Image, ImageOps

    if len(content) > LARGEST_PHOTO:
        raise ValueError(f"a photo of at most {LARGEST_PHOTO // 1_000_000} MB is expected")
    try:
        with Image.open(io.BytesIO(content), formats=FORMATS) as photo:
            width, height = photo.size
            if width * height > MOST_PIXELS:
                raise ValueError(f"a photo of at most {MOST_PIXELS // 1_000_000} million pixels is expected")
            photo.draft("RGB", (2 * LONGEST_SIDE, 2 * LONGEST_SIDE))
            upright = ImageOps.exif_transpose(photo).convert("RGB")
    except (OSError, SyntaxError, Image.DecompressionBombError) as error:
        raise ValueError("a photo as a JPEG or PNG file is expected") from error
    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    bare = Image.new("RGB", upright.size)
    bare.paste(upright)
    out = io.BytesIO()
    bare.save(out, format="JPEG", quality=QUALITY, optimize=True)
    return out.getvalue()


def photo_size(content: bytes) -> tuple[int, int]:
    """Width and height of a photo [pixels].

    Parameters
    ----------
    content : bytes
        As `clean_photo` returns it.
    """
    from PIL import Image

    with Image.open(io.BytesIO(content), formats=FORMATS) as photo:
        return photo.size


def photo_beside(case: Case, name: str) -> bytes:
    """A photo that a case names, cleaned.

    Parameters
    ----------
    case : Case
        Read from a file, beside which the photo is.
    name : str
        Name of the photo's file.

    Returns
    -------
    bytes
        A JPEG file.

    Raises
    ------
    ValueError
        When there is no such photo beside the case.
    """
    folder = (case.source.parent if case.source else Path()).resolve()
    file = (folder / name).resolve()
    if file.parent != folder or file.suffix.lower() not in PHOTO_ENDINGS or not file.is_file():
        raise ValueError(f"report: {name!r} is no photo beside the case file; a JPEG or PNG file is expected")
    if file.stat().st_size > LARGEST_PHOTO:
        raise ValueError(f"report: {name} is larger than {LARGEST_PHOTO // 1_000_000} MB")
    try:
        return clean_photo(file.read_bytes())
    except (OSError, ValueError) as error:
        raise ValueError(f"report: {name}: {error}") from error
