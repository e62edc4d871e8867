"""Photos as cameras and phones write them, made here: no picture of a real place or person."""

from __future__ import annotations

import hashlib
import io
import random
import uuid
from typing import Any

from PIL import Image, ImageDraw

from contracting.staff.models import User
from jobs.photos import services
from jobs.photos.models import About, Photo
from jobs.work.models import Job
from tests.contracting.factories import UserFactory
from tests.jobs.inspections.factories import job as inspected_job


def scene(width: int = 640, height: int = 480, seed: int = 1, plain: float = 0.8) -> Image.Image:
    """A wall of tiles with joints, grain and a red corner at the upper left: it shows how it is turned.

    *plain*: the share of it that is no grain; less makes larger files.
    """
    rng = random.Random(seed)
    grain = (max(2, width // 4), max(2, height // 4))
    small = Image.frombytes("L", grain, rng.randbytes(grain[0] * grain[1])).convert("RGB")
    picture = Image.blend(
        small.resize((width, height)), Image.new("RGB", (width, height), (196, 186, 170)), plain
    )
    pen, tile = ImageDraw.Draw(picture), max(8, width // 8)
    for x in range(0, width, tile):
        for y in range(0, height, tile):
            shade = rng.randrange(-16, 16)
            box = (x + 3, y + 3, min(x + tile - 3, width - 1), min(y + tile - 3, height - 1))
            if box[2] > box[0] and box[3] > box[1]:
                pen.rectangle(box, outline=(150 + shade, 140 + shade, 128 + shade), width=3)
    pen.rectangle((0, 0, width // 5, height // 5), fill=(200, 20, 20))
    return picture


def exif(
    *,
    taken: str = "2026:06:01 10:30:00",
    offset: str = "-05:00",
    orientation: int | None = None,
    place: tuple[float, float] | None = (41.123456, -87.654321),
) -> Image.Exif:
    """What a camera writes beside a picture; north and west by the signs of *place*."""
    made = Image.Exif()
    made[0x010F], made[0x0110], made[0x0131] = "INVENTED-MAKER", "INVENTED-MODEL", "INVENTED-SOFT"
    if orientation:
        made[0x0112] = orientation
    inner: dict[int, Any] = {0x9003: taken, 0xA431: "SERIAL-0123456789"}
    if offset:
        inner[0x9011] = offset
    made._ifds[0x8769] = inner
    if place:
        parts = [_sexagesimal(abs(one)) for one in place]
        made._ifds[0x8825] = {
            1: "N" if place[0] >= 0 else "S",
            2: parts[0],
            3: "E" if place[1] >= 0 else "W",
            4: parts[1],
            29: "2026:06:01",
        }
    return made


def _sexagesimal(value: float) -> tuple[float, float, float]:
    degrees = int(value)
    minutes = int((value - degrees) * 60)
    return (float(degrees), float(minutes), round((value - degrees - minutes / 60) * 3600, 4))


def as_file(picture: Image.Image | None = None, kind: str = "JPEG", **options: Any) -> bytes:
    """Return *picture* as a file."""
    out = io.BytesIO()
    (picture or scene()).save(out, kind, **options)
    return out.getvalue()


def job(*, crew: tuple[User, ...] = (), **values: Any) -> Job:
    return inspected_job(crew=crew, **values)


def photo(
    of: Job, by: User | None = None, content: bytes = b"", caption: str = "", seed: int = 1, **values: Any
) -> Photo:
    """A photo that was taken, of the whole job unless said otherwise."""
    about, ref = values.pop("about", About.JOB), values.pop("ref", "")
    return services.photo_take(
        key=values.pop("key", None) or uuid.uuid4(),
        job=of,
        by=by or UserFactory.create(),
        content=content or as_file(scene(320, 240, seed)),
        said=services.Said(caption, about, ref, values.pop("arrows", [])),
        **values,
    )


def announcement(of: Job, content: bytes, **values: Any) -> dict[str, Any]:
    """What a phone says before it sends *content*."""
    told = {
        "key": str(uuid.uuid4()),
        "job": of.pk,
        "size": len(content),
        "sha256": hashlib.sha256(content).hexdigest(),
        "taken_at": "2026-06-01T15:30:00+00:00",
        "caption": "Corner",
        "about": {"kind": "step", "ref": "waterproofing"},
    }
    return told | values
