"""Looking into pictures whatever their name says: their kind, and what the camera wrote down."""

import datetime as dt
import io
import math
import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from django.utils import timezone
from PIL import Image, UnidentifiedImageError

# A phone may put a second picture behind the first (MPO, CIPA DC-007): the first is read.
PICTURES = {
    "JPEG": ("image/jpeg", ".jpg"),
    "MPO": ("image/jpeg", ".jpg"),
    "PNG": ("image/png", ".png"),
}
READ_AS = ("JPEG", "PNG")
NO_PICTURE = (UnidentifiedImageError, OSError, ValueError, SyntaxError)
# Exif 2.32 (CIPA DC-008): the sub-directories, the moment of capture, its offset from UTC.
EXIF_DIRECTORY, GPS_DIRECTORY = 0x8769, 0x8825
ORIENTATION, CAPTURED, CAPTURED_OFFSET = 0x0112, 0x9003, 0x9011
# In the GPS directory: which half of the earth, then degrees, minutes and seconds.
LATITUDE_REF, LATITUDE, LONGITUDE_REF, LONGITUDE = 1, 2, 3, 4
MOST_PNG_PIXELS = 50_000_000
SMALL_SIDE_PX = 480
# Exif's orientation tag: how the picture must be turned to stand upright.
TURNS: dict[Any, Image.Transpose] = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Place:
    """Where a picture was taken, in decimal degrees; south and west are negative."""

    latitude: float
    longitude: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Seen:
    """What a picture turned out to be, and what its camera wrote into it."""

    content_type: str
    ending: str
    captured_at: dt.datetime | None = None
    place: Place | None = None


def look_at_picture(content: bytes) -> Seen:
    """Return what a picture is.

    Raises:
        UnidentifiedImageError, OSError, ValueError, SyntaxError: it is no JPEG or PNG.
        Image.DecompressionBombError: it has too many pixels to be opened safely.
    """
    with _meddled_pictures_pass():
        with _opened(content) as picture:
            _refuse_bomb(picture)
            content_type, ending = PICTURES[picture.format or ""]
            picture.verify()
        # A picture that was verified can't be read any further: it is opened once more.
        with _opened(content) as picture:
            captured_at, place = _captured_at(picture), _place(picture)
    return Seen(content_type=content_type, ending=ending, captured_at=captured_at, place=place)


def drawn_anew(content: bytes, *, longest_px: int, quality: int) -> bytes:
    """Return a picture turned upright and shrunk, as JPEG with nothing but its pixels."""
    with _meddled_pictures_pass():
        picture = _opened(content)
        _refuse_bomb(picture)
        turned = TURNS.get(picture.getexif().get(ORIENTATION)) if _has_exif(picture) else None
        # A large JPEG is unpacked at a half, a quarter or an eighth, but no smaller than asked.
        picture.draft("RGB", (longest_px, longest_px))
        picture.thumbnail((longest_px, longest_px))
        upright = picture.transpose(turned) if turned is not None else picture
        plain = upright.convert("RGB")
        # Comments and colour profiles travel along otherwise.
        plain.info.clear()
        out = io.BytesIO()
        plain.save(out, format="JPEG", quality=quality)
    return out.getvalue()


def small_picture(content: bytes) -> bytes:
    """Return a picture turned upright and shrunk for a list, as JPEG without its Exif data."""
    return drawn_anew(content, longest_px=SMALL_SIDE_PX, quality=78)


@contextmanager
def _meddled_pictures_pass() -> Iterator[None]:
    with warnings.catch_warnings():
        # Twice this size is refused; a phone's best camera lies between.
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)
        # Meddled Exif data makes the reader warn, and then leave it out.
        warnings.simplefilter("ignore", UserWarning)
        yield


def _opened(content: bytes) -> Image.Image:
    return Image.open(io.BytesIO(content), formats=READ_AS)


def _refuse_bomb(picture: Image.Image) -> None:
    """Refuse a PNG that needs a gigabyte to be opened: no camera writes one, and it packs well."""
    if picture.format == "PNG" and picture.width * picture.height > MOST_PNG_PIXELS:
        raise Image.DecompressionBombError


def _has_exif(picture: Image.Image) -> bool:
    """Say whether Exif may be asked for: a PNG that does not begin with it is unpacked whole."""
    return picture.format != "PNG" or "exif" in picture.info


def _captured_at(picture: Image.Image) -> dt.datetime | None:
    """Return when the camera says the picture was taken; its clock has no zone before Exif 2.31."""
    if not _has_exif(picture):
        return None
    tags = picture.getexif().get_ifd(EXIF_DIRECTORY)
    written = str(tags.get(CAPTURED, "")).strip("\x00 ")
    offset = str(tags.get(CAPTURED_OFFSET, "")).strip("\x00 ")
    try:
        if offset:
            return dt.datetime.strptime(written + offset, "%Y:%m:%d %H:%M:%S%z")
        return dt.datetime.strptime(written, "%Y:%m:%d %H:%M:%S").replace(
            tzinfo=timezone.get_current_timezone()
        )
    except ValueError:
        return None


def _place(picture: Image.Image) -> Place | None:
    """Return where the camera says it stood, or None where that is missing or can't be right."""
    if not _has_exif(picture):
        return None
    tags = picture.getexif().get_ifd(GPS_DIRECTORY)
    latitude = _degrees(tags, LATITUDE, LATITUDE_REF, signs={"N": 1, "S": -1}, most=90)
    longitude = _degrees(tags, LONGITUDE, LONGITUDE_REF, signs={"E": 1, "W": -1}, most=180)
    if latitude is None or longitude is None:
        return None
    return Place(latitude=latitude, longitude=longitude)


def _degrees(
    tags: Mapping[int, Any], tag: int, ref: int, *, signs: Mapping[str, int], most: int
) -> float | None:
    """Return degrees, minutes and seconds as degrees; whole ones of each need not be given."""
    sign = signs.get(str(tags.get(ref, "")).strip("\x00 ").upper())
    try:
        degrees, minutes, seconds = (float(each) for each in tags.get(tag, ()))
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    parts_hold = 0 <= degrees <= most and 0 <= minutes < 60 and 0 <= seconds < 60
    decimal = degrees + minutes / 60 + seconds / 3600
    if sign is None or not parts_hold or not math.isfinite(decimal) or decimal > most:
        return None
    return sign * decimal
