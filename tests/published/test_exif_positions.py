"""Positions and turned pictures against Exif 2.32 (CIPA DC-008-2019, JEITA CP-3451E).

4.6.6: GPSLatitudeRef 'N' or 'S', GPSLongitudeRef 'E' or 'W'; GPSLatitude and GPSLongitude are
three RATIONALs: degrees, minutes, seconds. "If latitude is expressed as degrees, minutes and
seconds, a typical format would be dd/1,mm/1,ss/1. When degrees and minutes are used and, for
example, fractions of minutes are given up to two decimal places, the format would be
dd/1,mmmm/100,0/1."
"""

import io
from typing import Any

import pytest
from PIL import Image

from firm.services.pictures import Place, drawn_anew, look_at_picture
from tests.report_cast import gps_bytes

pytestmark = pytest.mark.source("S", "EXIF 2.32, CIPA DC-008: GPS and orientation tags")


def place_of(*pairs: Any, refs: tuple[str, str] = ("N", "W")) -> Place | None:
    return look_at_picture(gps_bytes(*pairs, refs=refs)).place


@pytest.mark.parametrize(
    ("latitude", "longitude", "refs", "expected"),
    [
        # dd/1, mm/1, ss/1: 40 + 26/60 + 46/3600 = 40.446111; 79 + 58/60 + 56/3600 = 79.982222.
        (
            ((40, 1), (26, 1), (46, 1)),
            ((79, 1), (58, 1), (56, 1)),
            ("N", "W"),
            (40.446111, -79.982222),
        ),
        # dd/1, mmmm/100, 0/1: 33 + 51.35/60 = 33.855833; 151 + 12.90/60 = 151.215.
        (
            ((33, 1), (5135, 100), (0, 1)),
            ((151, 1), (1290, 100), (0, 1)),
            ("S", "E"),
            (-33.855833, 151.215),
        ),
        # The edges of the earth.
        (((90, 1), (0, 1), (0, 1)), ((180, 1), (0, 1), (0, 1)), ("S", "W"), (-90.0, -180.0)),
    ],
)
def test_degrees_minutes_and_seconds_become_degrees(
    latitude: Any, longitude: Any, refs: tuple[str, str], expected: tuple[float, float]
) -> None:
    place = place_of(latitude, longitude, refs=refs)
    assert place is not None
    assert (place.latitude, place.longitude) == pytest.approx(expected, abs=1e-6)


SOUND = ((73, 1), (45, 1), (0, 1))


@pytest.mark.parametrize(
    ("latitude", "refs"),
    [
        (((91, 1), (0, 1), (0, 1)), ("N", "W")),
        (((90, 1), (0, 1), (1, 1)), ("N", "W")),
        (((42, 1), (60, 1), (0, 1)), ("N", "W")),
        (((42, 1), (0, 1), (60, 1)), ("N", "W")),
        (((42, 0), (0, 1), (0, 1)), ("N", "W")),
        (((42, 1), (39, 1)), ("N", "W")),
        (((42, 1), (39, 1), (0, 1)), ("", "W")),
        (((42, 1), (39, 1), (0, 1)), ("X", "W")),
        (((42, 1), (39, 1), (0, 1)), ("N", "N")),
    ],
)
def test_position_that_can_not_be_is_left_out_and_the_picture_kept(
    latitude: Any, refs: tuple[str, str]
) -> None:
    seen = look_at_picture(gps_bytes(latitude, SOUND, refs=refs))
    assert seen.place is None
    assert seen.captured_at is not None


# 4.6.4 A, Orientation: where row 0 and column 0 lie in the picture as it is seen. The test
# picture's first pixel (row 0, column 0) is white: its corner when the picture stands upright.
@pytest.mark.parametrize(
    ("orientation", "corner"),
    [
        (1, "top left"),
        (2, "top right"),
        (3, "bottom right"),
        (4, "bottom left"),
        (5, "top left"),
        (6, "top right"),
        (7, "bottom right"),
        (8, "bottom left"),
    ],
)
def test_every_orientation_stands_upright(orientation: int, corner: str) -> None:
    picture = Image.new("RGB", (64, 32), (0, 0, 0))
    picture.paste((255, 255, 255), (0, 0, 16, 16))
    exif = picture.getexif()
    exif[0x0112] = orientation
    out = io.BytesIO()
    picture.save(out, format="JPEG", exif=exif, quality=95)
    upright = Image.open(io.BytesIO(drawn_anew(out.getvalue(), longest_px=64, quality=95)))
    wide, high = upright.size
    # 5 to 8: rows run up and down.
    assert (wide > high) == (orientation < 5)
    corners = {
        "top left": (4, 4),
        "top right": (wide - 5, 4),
        "bottom left": (4, high - 5),
        "bottom right": (wide - 5, high - 5),
    }
    bright = {name for name, at in corners.items() if sum(upright.getpixel(at)) > 600}  # type: ignore[arg-type]
    assert bright == {corner}


def test_second_picture_behind_the_first_is_passed_over() -> None:
    # CIPA DC-007 (MPO), as phones write with depth data: two JPEGs in one file.
    first, second = (Image.new("RGB", (64, 32), colour) for colour in ("red", "blue"))
    out = io.BytesIO()
    first.save(out, format="MPO", save_all=True, append_images=[second])
    assert look_at_picture(out.getvalue()).content_type == "image/jpeg"
    drawn = Image.open(io.BytesIO(drawn_anew(out.getvalue(), longest_px=64, quality=90)))
    red, _green, blue = drawn.getpixel((32, 16))  # type: ignore[misc]
    assert red > 200 > 60 > blue
