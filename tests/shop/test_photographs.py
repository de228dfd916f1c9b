"""Photographs: what is shown carries no place, time or camera; what would unfold is refused; the original is kept."""

from __future__ import annotations

import struct
import zlib
from datetime import date
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

from carwright.problems import InputError
from carwright.shop import open_shop
from carwright.shop.photographs import MOST_BYTES, MOST_PIXELS, pictures_of


def camera_file() -> bytes:
    """Return a JPEG as a telephone makes it: lying on its side, with maker, time and place in its notes."""
    image = Image.new("RGB", (400, 200), "navy")
    image.paste("orange", (0, 0, 200, 200))
    notes = Image.Exif()
    notes[0x0112] = 6  # orientation: turn right by a quarter
    notes[0x010F] = "NOTED-MAKER"
    notes[0x0132] = "2026:03:01 09:00:00"
    place = notes.get_ifd(0x8825)
    place[1], place[2], place[3], place[4] = "N", (51.0, 28.0, 40.0), "W", (0.0, 0.0, 5.0)
    file = BytesIO()
    image.save(file, "JPEG", exif=notes, comment=b"NOTED-COMMENT", quality=95)
    return file.getvalue()


def png_of(width: int, height: int, data: bytes) -> bytes:
    """Return a PNG that says of itself how large it is, whatever its data unfold to."""

    def chunk(name: bytes, content: bytes) -> bytes:
        return struct.pack(">I", len(content)) + name + content + struct.pack(">I", zlib.crc32(name + content))

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", data) + chunk(b"IEND", b"")


def test_what_is_shown_says_nothing_of_place_time_or_camera() -> None:
    """Neither picture holds a note of any kind, though the original does; another reader of JPEG finds none either."""
    original = camera_file()
    assert b"NOTED-MAKER" in original
    assert Image.open(BytesIO(original)).getexif().get_ifd(0x8825)
    made = pictures_of(original)
    for data in (made.shown, made.thumb):
        image = Image.open(BytesIO(data))
        assert dict(image.getexif()) == {}
        assert "comment" not in image.info
        # JPEG marks notes by FF E1 to FF EF, comments by FF FE (ITU-T T.81, table B.1); read up to the pixels.
        at, marks = 2, set()
        while data[at + 1] != 0xDA:
            marks.add(data[at + 1])
            at += 2 + int.from_bytes(data[at + 2 : at + 4], "big")
        assert not marks & {*range(0xE1, 0xF0), 0xFE}


def test_what_is_shown_stands_upright() -> None:
    """A picture taken with the camera on its side is shown upright, within its limits."""
    made = pictures_of(camera_file())
    shown = Image.open(BytesIO(made.shown))
    assert shown.size == (200, 400)
    red, _, blue = shown.getpixel((100, 50))
    assert red > 200 > blue
    assert max(Image.open(BytesIO(made.thumb)).size) == 320


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA", "I;16"])
def test_every_kind_of_pixel_can_be_shown(mode: str) -> None:
    """Grey, clear, palette and deep pictures come out as plain ones."""
    file = BytesIO()
    Image.new(mode, (3, 2)).save(file, "PNG")
    assert Image.open(BytesIO(pictures_of(file.getvalue()).shown)).mode == "RGB"


def test_a_picture_that_unfolds_is_refused_before_it_does() -> None:
    """A few bytes that say they are a picture of 400 million pixels are refused, with what is accepted."""
    with pytest.raises(InputError, match="more pixels than are accepted"):
        pictures_of(png_of(20_000, 20_000, zlib.compress(b"")))
    side = int(MOST_PIXELS**0.5) + 1
    with pytest.raises(InputError, match=f"{side} x {side} pixels.*up to 60 million"):
        pictures_of(png_of(side, side, zlib.compress(b"")))


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"not a picture",
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        camera_file()[:500],
        b"PK\x03\x04" + bytes(99),
        png_of(3, 3, b"broken"),
        b"%PDF-1.7\n",
        b"GIF89a" + bytes(20),
    ],
)
def test_what_is_no_photograph_is_refused(data: bytes) -> None:
    """Text, drawings, archives, documents and files cut short are refused in words, never with a fault."""
    with pytest.raises(InputError, match="no photograph that can be shown"):
        pictures_of(data)


def test_a_file_that_is_too_large_is_refused() -> None:
    """One byte more than is accepted is refused before anything looks into it."""
    with pytest.raises(InputError, match="up to 25 MB"):
        pictures_of(bytes(MOST_BYTES + 1))


def test_the_shop_keeps_the_original_and_shows_the_other(tmp_path: Path) -> None:
    """The file as it was given comes back byte for byte when asked for by name, and by no other size."""
    original = camera_file()
    made = pictures_of(original)
    with open_shop(tmp_path / "shop.carwright") as shop:
        slug = shop.add_car(b"").slug
        added = shop.photo_add(slug, original, kind="as found", caption="A end", shown=made.shown, thumb=made.thumb)
        assert shop.photos(slug) == [added]
        assert shop.photo(slug, added.id) == made.shown
        assert shop.photo(slug, added.id, "thumb") == made.thumb
        assert shop.photo(slug, added.id, "original") == original
        other = shop.add_car(b"").slug
        with pytest.raises(InputError, match="no such photograph of this car"):
            shop.photo(other, added.id)


def test_a_photograph_ticks_its_job_off(tmp_path: Path) -> None:
    """A photograph as found, or as left, is the job done that asks for it, on its day; a job that was done stays so."""
    made = pictures_of(camera_file())
    with open_shop(tmp_path / "shop.carwright") as shop:
        slug = shop.add_car(b"").slug
        for kind, day in (("as found", 1), ("as found", 2), ("as left", 3)):
            shop.photo_add(
                slug, b"camera", kind=kind, caption="", shown=made.shown, thumb=made.thumb, on=date(2026, 11, day)
            )
        ticked = {
            each.item: (each.stage, each.done_on) for each in shop.car(slug).checklist if each.done_on is not None
        }
        assert ticked == {
            "Look the car over and photograph it as found": ("lot", date(2026, 11, 1)),
            "Photograph it as left": ("gauge", date(2026, 11, 3)),
        }
        assert shop.car(slug).next_step == "List what is missing or broken"
