"""From the bytes somebody sent to pictures of our own making.

Nothing here knows a database. The bytes are looked at before they are decoded (kind, pixels), decoded as a
whole, turned upright, brought to sRGB and written anew as JPEG, so nothing of what was sent survives: no
location, no serial number, no second file behind the picture.
"""

from __future__ import annotations

import datetime
import io
import re
import threading
import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import pillow_heif
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop
from PIL import Image, ImageCms, ImageFile

pillow_heif.register_heif_opener()

FORMATS = ("JPEG", "PNG", "WEBP", "HEIF")
KINDS = {"JPEG": "jpeg", "MPO": "jpeg", "PNG": "png", "WEBP": "webp", "HEIF": "heic"}
# Longest side in pixels and quality of what we keep. A warranty record carries sixty of the second kind in
# 12 MB, so those have a limit of bytes as well, which only a photo full of grain meets.
LARGE, PAPER, SMALL = (2048, 82), (1000, 72), (400, 68)
MOST_PAPER_BYTES = 170_000
# Scans of a progressive JPEG: each costs a pass over the whole picture, and files with thousands of them are
# made to stop servers. Cameras and editors write about ten.
MOST_SCANS = 120

# A decoded photo takes some 100 MB, so one at a time in a process. The lock also guards the switch below.
_one_at_a_time = threading.Lock()
_SRGB = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB"))

# What files that are no photo begin with, and what to call them.
_NAMED: tuple[tuple[bytes, str], ...] = (
    (b"%PDF", gettext_noop("a PDF")),
    (b"GIF8", gettext_noop("a GIF")),
    (b"PK\x03\x04", gettext_noop("an archive or office document")),
    (b"MZ", gettext_noop("a program")),
    (b"\x7fELF", gettext_noop("a program")),
    (b"II*\x00", gettext_noop("a TIFF or raw photo")),
    (b"MM\x00*", gettext_noop("a TIFF or raw photo")),
    (b"BM", gettext_noop("a bitmap")),
)
_TEXT = re.compile(rb"\s*(<\?xml|<svg|<!doctype|<html|<script|#!)", re.IGNORECASE)
_HEIF_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")


class PictureRefused(Exception):
    """The bytes are no photo that we take; ``str(error)`` is the sentence to show."""


@dataclass(frozen=True)
class Encoded:
    """A JPEG of ours."""

    content: bytes
    width: int
    height: int


@dataclass(frozen=True)
class Camera:
    """What the camera wrote beside the picture.

    Attributes:
        taken: as it stands in the file, without a zone.
        offset: of *taken* from UTC, or None where the camera did not say.
        place: latitude and longitude in whole ten-millionths of a degree, or None.
    """

    taken: datetime.datetime | None = None
    offset: datetime.timedelta | None = None
    place: tuple[int, int] | None = None

    def moment(self, zone: datetime.tzinfo) -> datetime.datetime | None:
        """Return the moment in UTC; a time without an offset is read in *zone*.

        None where the camera says nothing, or a year that no camera shows: at the calendar's ends a moment
        cannot be turned from one zone into another.
        """
        if self.taken is None or not 1900 <= self.taken.year < 2200:
            return None
        own = zone if self.offset is None else datetime.timezone(self.offset)
        return self.taken.replace(tzinfo=own).astimezone(datetime.UTC)


@dataclass(frozen=True)
class Pictures:
    """A photo in the three sizes we keep, and what the camera said."""

    kind: str
    large: Encoded
    paper: Encoded
    small: Encoded
    camera: Camera


def pictures_from(content: bytes, *, most_pixels: int) -> Pictures:
    """Return our own pictures of the photo in *content*.

    Raises:
        PictureRefused: it is no JPEG, PNG, HEIC or WebP, is cut off or damaged, or has more than
            *most_pixels*.
    """
    check_kind(content)
    with _one_at_a_time, _strict():
        try:
            return _pictures(content, most_pixels)
        except PictureRefused:
            raise
        except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
            raise PictureRefused(_too_many_pixels(most_pixels)) from error
        except Exception as error:
            # A damaged file can make a decoder say anything: OSError, SyntaxError, struct.error, EOFError …
            raise PictureRefused(
                _("The photo is cut off or damaged and cannot be opened. Send it again.")
            ) from error


def check_kind(content: bytes) -> None:
    """Look at the first bytes, whatever the file is called.

    Raises:
        PictureRefused: it is none of the kinds we take; named where it can be told.
    """
    head = content[:4096]
    if not head:
        raise PictureRefused(_("The file is empty."))
    if head.startswith(b"\xff\xd8\xff"):
        if content.count(b"\xff\xda") > MOST_SCANS:
            raise PictureRefused(_("The photo is built in a way no camera builds one; it is not opened."))
        return
    if head.startswith(b"\x89PNG\r\n\x1a\n") or (head[:4] == b"RIFF" and head[8:12] == b"WEBP"):
        return
    if head[4:8] == b"ftyp":
        length = min(int.from_bytes(head[:4], "big"), len(head))
        brands = [head[8:12], *(head[at : at + 4] for at in range(16, length - 3, 4))]
        if any(brand in _HEIF_BRANDS for brand in brands) and b"avif" not in brands:
            return
        raise PictureRefused(_("This is a film or a kind of picture we cannot take: expected %s.") % _kinds())
    named = next((name for begins, name in _NAMED if head.startswith(begins)), "")
    if not named and _TEXT.match(head):
        named = gettext_noop("a text or web page")
    if named:
        said = {"named": _(named), "kinds": _kinds()}
        raise PictureRefused(_("This is %(named)s, whatever it is called: expected %(kinds)s.") % said)
    raise PictureRefused(_("This is no photo: expected %s.") % _kinds())


def _kinds() -> str:
    return _("JPEG, PNG, HEIC or WebP")


def _too_many_pixels(most_pixels: int, width: int = 0, height: int = 0) -> str:
    said = {"most": most_pixels // 1_000_000, "width": width, "height": height}
    if width:
        return _("The picture is %(width)d × %(height)d pixels; at most %(most)d million are taken.") % said
    return _("The picture has too many pixels; at most %(most)d million are taken.") % said


@contextmanager
def _strict() -> Iterator[None]:
    """Refuse photos that are cut off. WeasyPrint turns that off for the whole process when it is loaded."""
    before = ImageFile.LOAD_TRUNCATED_IMAGES
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    finally:
        ImageFile.LOAD_TRUNCATED_IMAGES = before


def _pictures(content: bytes, most_pixels: int) -> Pictures:
    with Image.open(io.BytesIO(content), formats=FORMATS) as opened:
        kind = KINDS[opened.format or ""]
        width, height = opened.size
        if width * height > most_pixels:
            raise PictureRefused(_too_many_pixels(most_pixels, width, height))
        camera = _camera(opened)
        # Lets the JPEG decoder leave out detail of very large photos that would be thrown away.
        share = LARGE[0] / max(width, height)
        opened.draft(None, (max(1, int(width * share)), max(1, int(height * share))))
        opened.load()
        picture = _upright(opened)
    large = _encoded(picture, *LARGE)
    paper = _encoded(picture, *PAPER, most_bytes=MOST_PAPER_BYTES)
    return Pictures(kind, large, paper, _encoded(picture, *SMALL), camera)


def _upright(opened: Image.Image) -> Image.Image:
    """Return the first frame, no larger than we keep it, upright, without transparency, in sRGB."""
    profile = opened.info.get("icc_profile")
    picture = opened
    if picture.mode in {"I", "I;16", "I;16B"}:
        # Gray of 16 bits; convert() would cut off instead of scaling.
        picture = picture.point(lambda value: value * (1 / 256)).convert("L")
    orientation = opened.getexif().get(0x0112)
    if picture.mode in {"P", "PA", "LA", "RGBA", "RGBa", "La"} or "transparency" in picture.info:
        picture = picture.convert("RGBA")
        ground = Image.new("RGBA", picture.size, "white")
        picture = Image.alpha_composite(ground, picture).convert("RGB")
    # Before colours are worked out, since that is the slow part.
    picture = _in_srgb(_within(picture, LARGE[0]), profile)
    turn = _TURNS.get(orientation or 1)
    return picture.transpose(turn) if turn is not None else picture


def _within(picture: Image.Image, side: int) -> Image.Image:
    """Return *picture* with no side longer than *side*; never larger than it is."""
    longest = max(picture.size)
    if longest <= side:
        return picture.copy()
    width, height = (max(1, round(one * side / longest)) for one in picture.size)
    return picture.resize((width, height), Image.Resampling.LANCZOS, reducing_gap=3.0)


# How a picture is turned upright by its orientation (Exif 2.32, 4.6.4).
_TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}


def _in_srgb(picture: Image.Image, profile: bytes | None) -> Image.Image:
    if profile and picture.mode in {"RGB", "L", "CMYK"}:
        try:
            own = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            changed = ImageCms.profileToProfile(picture, own, _SRGB, outputMode="RGB")
            if changed is not None:
                return changed
        except (ImageCms.PyCMSError, OSError, ValueError):
            # A profile that cannot be read or does not fit its picture; the colours are then read as sRGB.
            pass
    return picture.convert("RGB")


def _encoded(picture: Image.Image, side: int, quality: int, most_bytes: int = 0) -> Encoded:
    sized = _within(picture, side)
    sized.info = {}
    while True:
        out = io.BytesIO()
        sized.save(out, "JPEG", quality=quality, optimize=True, exif=b"", icc_profile=None)
        if not most_bytes or out.tell() <= most_bytes or quality <= 30:
            return Encoded(out.getvalue(), *sized.size)
        quality -= 8


# --- What the camera wrote --------------------------------------------------------------------------------
# Tags by number: CIPA DC-008 (Exif 2.32), 4.6.5 to 4.6.6.

_EXIF, _GPS = 0x8769, 0x8825
_TAKEN, _TAKEN_OFFSET, _OFFSET = 0x9003, 0x9011, 0x9010


def _camera(opened: Image.Image) -> Camera:
    """Return what the camera said; whatever cannot be read is taken as not said."""
    try:
        exif = opened.getexif()
        inner = exif.get_ifd(_EXIF)
        taken = _time(inner.get(_TAKEN))
        offset = _offset(inner.get(_TAKEN_OFFSET) or inner.get(_OFFSET))
        return Camera(taken, offset if taken else None, _place(exif.get_ifd(_GPS)))
    except Exception:
        return Camera()


def _time(text: Any) -> datetime.datetime | None:
    try:
        return datetime.datetime.strptime(str(text).strip("\x00 "), "%Y:%m:%d %H:%M:%S")  # noqa: DTZ007
    except ValueError:
        return None


def _offset(text: Any) -> datetime.timedelta | None:
    found = re.fullmatch(r"([+-])(\d\d):(\d\d)", str(text or "").strip("\x00 "))
    if not found:
        return None
    span = datetime.timedelta(hours=int(found[2]), minutes=int(found[3]))
    return None if span >= datetime.timedelta(days=1) else span * (-1 if found[1] == "-" else 1)


def _place(gps: Mapping[int, Any]) -> tuple[int, int] | None:
    try:
        latitude = _degrees(gps[2]) * (-1 if str(gps[1]).upper().startswith("S") else 1)
        longitude = _degrees(gps[4]) * (-1 if str(gps[3]).upper().startswith("W") else 1)
    except (KeyError, TypeError, ValueError, ZeroDivisionError, OverflowError):
        return None
    if not (-90 <= latitude <= 90 and -180 <= longitude <= 180):
        return None
    return round(latitude * 10**7), round(longitude * 10**7)


def _degrees(parts: Any) -> Fraction:
    degrees, minutes, seconds = (_fraction(part) for part in parts)
    return degrees + minutes / 60 + seconds / 3600


def _fraction(value: Any) -> Fraction:
    if hasattr(value, "numerator") and hasattr(value, "denominator"):
        return Fraction(int(value.numerator), int(value.denominator))
    return Fraction(value)
