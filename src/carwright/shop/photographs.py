"""Photographs made fit to show: decoded within limits, turned upright, made small, and encoded anew.

A camera's file tells more than a picture: where and when it was taken, with which device. None of that is in what is
shown, because pixels alone go into the new file. The file as it was given is kept beside it and stays in the shop.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass, field
from io import BytesIO
from typing import TYPE_CHECKING

from carwright.problems import InputError, Problem

if TYPE_CHECKING:
    from PIL.Image import Image

__all__ = ["MOST_BYTES", "MOST_PIXELS", "Pictures", "pictures_of"]

MOST_BYTES = 25_000_000
"""No camera file that is larger is taken in."""

MOST_PIXELS = 60_000_000
"""A picture that unfolds to more is refused before it unfolds: 60 megapixels take 180 MB of memory."""

_FORMATS = ("JPEG", "PNG", "WEBP")
_SHOWN_PX = 1600
_THUMB_PX = 320
_QUALITY = 85


@dataclass(frozen=True, slots=True)
class Pictures:
    """What is shown of a photograph: JPEG files without any note of place, time or camera.

    Args:
        shown: at most 1600 pixels long and high.
        thumb: at most 320.
    """

    shown: bytes = field(repr=False)
    thumb: bytes = field(repr=False)


def pictures_of(original: bytes) -> Pictures:
    """Return what is to be shown of a camera's file.

    Args:
        original: a JPEG, PNG or WebP file.

    Raises:
        InputError: it is larger than is accepted, unfolds to more than is accepted, or is no such picture.
    """
    from PIL import Image, ImageOps, UnidentifiedImageError

    if len(original) > MOST_BYTES:
        raise InputError(
            Problem(
                "the photograph is larger than is accepted",
                f"{len(original) / 1e6:.0f} MB",
                f"up to {MOST_BYTES / 1e6:.0f} MB",
                "Let the camera's or telephone's own program save it smaller.",
            )
        )
    try:
        with warnings.catch_warnings():
            # Pillow only warns from 89 megapixels on; the limit below is ours, and it refuses.
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            opened = Image.open(BytesIO(original), formats=_FORMATS)
        with opened:
            if opened.width * opened.height > MOST_PIXELS:
                raise _too_many(f"{opened.width} x {opened.height} pixels")
            opened.draft("RGB", (_SHOWN_PX, _SHOWN_PX))  # a JPEG is then decoded no larger than needed
            upright = _plain(ImageOps.exif_transpose(opened))
    except InputError:
        raise
    except Image.DecompressionBombError as bomb:
        raise _too_many("") from bomb
    except UnidentifiedImageError as fault:
        raise _no_picture() from fault
    except (OSError, ValueError, SyntaxError, EOFError, MemoryError, OverflowError) as fault:
        raise _no_picture() from fault  # what Pillow's decoders raise for files that are broken or cut short
    return Pictures(_encoded(upright, _SHOWN_PX), _encoded(upright, _THUMB_PX))


def _too_many(size: str) -> InputError:
    return InputError(
        Problem(
            "the photograph has more pixels than are accepted",
            size,
            f"up to {MOST_PIXELS // 1_000_000} million",
            "Let the camera's or telephone's own program save it smaller.",
        )
    )


def _no_picture() -> InputError:
    return InputError(
        Problem(
            "this is no photograph that can be shown, or it is broken",
            accepted="a JPEG, PNG or WebP file",
            mend="Open it where it was taken and save it as JPEG.",
        )
    )


def _plain(image: Image) -> Image:
    """Return the pixels alone, in sRGB, on white where they were clear."""
    from PIL import Image as Images
    from PIL import ImageCms

    profile = image.info.get("icc_profile")
    if image.mode in ("RGBA", "LA", "PA", "P"):
        image = image.convert("RGBA")
        under = Images.new("RGBA", image.size, "white")
        under.alpha_composite(image)
        image = under
    elif image.mode not in ("RGB", "CMYK", "L"):
        image = image.convert("L" if image.mode.startswith(("I", "F", "1")) else "RGB")
    if profile and image.mode in ("RGB", "CMYK"):
        try:
            source = ImageCms.ImageCmsProfile(BytesIO(profile))
            return ImageCms.profileToProfile(image, source, ImageCms.createProfile("sRGB"), outputMode="RGB") or image
        except (ImageCms.PyCMSError, OSError):
            pass  # a profile that cannot be used is no reason to refuse the picture: its colours are a shade off
    return image.convert("RGB")


def _encoded(image: Image, largest: int) -> bytes:
    from PIL import Image as Images

    # A new image has none of the old one's notes; thumbnail() would keep them.
    small = Images.new("RGB", image.size)
    small.paste(image)
    small.thumbnail((largest, largest), Images.Resampling.LANCZOS)
    file = BytesIO()
    small.save(file, "JPEG", quality=_QUALITY, optimize=True)
    return file.getvalue()
