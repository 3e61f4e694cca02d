"""Pictures as they come from a camera, made into what is kept: upright, of bounded size, silent about their maker."""

import io
import math
import re
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final

from PIL import ExifTags, Image, ImageCms, ImageOps, UnidentifiedImageError

from inventory.problems import Invalid

FORMATS: Final = ("JPEG", "PNG", "WEBP")
MOST_PIXELS: Final = 60_000_000
"""What a picture may hold: a phone's largest photos pass, a picture that would fill the memory does not."""
LONGEST_PX: Final = 2_560
SMALL_PX: Final = 480
QUALITY: Final = 85
_TAKEN: Final = re.compile(r"(\d{4}):(\d\d):(\d\d) (\d\d):(\d\d):(\d\d)")
_BEFORE_PHOTOS: Final = 1990


@dataclass(frozen=True)
class Picture:
    """What is kept of a photo: two JPEGs without metadata, and what its own said.

    `taken_at` is the camera's clock, which names no time zone and is read as UTC. `place`: longitude, latitude.
    """

    content: bytes
    small: bytes
    width_px: int
    height_px: int
    taken_at: datetime | None
    place: tuple[float, float] | None


def read(content: bytes) -> Picture:
    """Open a photo by its bytes. Raises Invalid (`#/file`) where it is no JPEG, PNG or WebP, damaged or too large."""
    try:
        with Image.open(io.BytesIO(content), formats=FORMATS) as opened:
            if opened.width * opened.height > MOST_PIXELS:
                raise Invalid.field("#/file", f"holds more than {MOST_PIXELS:,} pixels")
            exif = opened.getexif()
            taken_at, place = _taken_at(exif), _place(exif)
            upright = _plain(ImageOps.exif_transpose(opened))
    except Invalid:
        raise
    except UnidentifiedImageError:
        raise Invalid.field("#/file", "is no JPEG, PNG or WebP picture") from None
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError, ArithmeticError) as error:
        raise Invalid.field("#/file", "is a damaged picture") from error
    large, small = _within(upright, LONGEST_PX), _within(upright, SMALL_PX)
    return Picture(_jpeg(large), _jpeg(small), large.width, large.height, taken_at, place)


def shrunk(kept: bytes, longest: int) -> bytes:
    """A kept picture with at most so many pixels along its longer side, as JPEG: for paper, which shows no more."""
    with Image.open(io.BytesIO(kept), formats=("JPEG",)) as opened:
        opened.draft("RGB", (longest, longest))
        return _jpeg(_within(opened.convert("RGB"), longest))


def _plain(image: Image.Image) -> Image.Image:
    """Three channels in sRGB; what is transparent lies on white."""
    profile = image.info.get("icc_profile")
    if image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info:
        layer = image.convert("RGBA")
        image = Image.new("RGB", layer.size, "white")
        image.paste(layer, mask=layer.getchannel("A"))
    if profile and image.mode in ("RGB", "CMYK", "L"):
        image = _in_srgb(image, profile)
    return image.convert("RGB")


def _in_srgb(image: Image.Image, profile: bytes) -> Image.Image:
    """A profile that cannot be used is ignored: the colours are then a little off, as in a viewer that knows none."""
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        changed = ImageCms.profileToProfile(image, source, ImageCms.createProfile("sRGB"), outputMode="RGB")
    except (ImageCms.PyCMSError, OSError, ValueError):
        return image
    return changed or image


def _within(image: Image.Image, longest: int) -> Image.Image:
    scale = longest / max(image.size)
    if scale >= 1:
        return image
    size = (max(1, round(image.width * scale)), max(1, round(image.height * scale)))
    return image.resize(size, Image.Resampling.LANCZOS, reducing_gap=3.0)


def _jpeg(image: Image.Image) -> bytes:
    out = io.BytesIO()
    # A copy of the pixels alone: nothing that the file carried beside them goes along.
    bare = Image.frombytes("RGB", image.size, image.tobytes())
    bare.save(out, "JPEG", quality=QUALITY, optimize=True, progressive=False)
    return out.getvalue()


def _taken_at(exif: Image.Exif) -> datetime | None:
    said = exif.get_ifd(ExifTags.IFD.Exif).get(ExifTags.Base.DateTimeOriginal) or exif.get(ExifTags.Base.DateTime)
    found = _TAKEN.match(str(said or ""))
    if not found:
        return None
    try:
        taken = datetime(*(int(part) for part in found.groups()), tzinfo=UTC)  # type: ignore[misc,arg-type]
    except ValueError:
        return None
    return taken if taken.year >= _BEFORE_PHOTOS else None


def _place(exif: Image.Exif) -> tuple[float, float] | None:
    gps = exif.get_ifd(ExifTags.IFD.GPSInfo)
    lat = _degrees(gps, ExifTags.GPS.GPSLatitude, ExifTags.GPS.GPSLatitudeRef, "S")
    lon = _degrees(gps, ExifTags.GPS.GPSLongitude, ExifTags.GPS.GPSLongitudeRef, "W")
    if lat is None or lon is None or abs(lat) > 90 or abs(lon) > 180:
        return None
    return lon, lat


def _degrees(gps: dict[int, object], tag: int, ref: int, negative: str) -> float | None:
    parts = gps.get(tag)
    if not isinstance(parts, tuple) or len(parts) != 3:
        return None
    try:
        degrees = float(parts[0]) + float(parts[1]) / 60 + float(parts[2]) / 3600
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    if not math.isfinite(degrees):
        return None
    return -degrees if str(gps.get(ref, "")).upper().startswith(negative) else degrees
