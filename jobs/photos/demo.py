"""Photos of the demonstration, drawn by this module, so that no real bathroom is shown. All made up."""

from __future__ import annotations

import datetime
import io
import uuid

from PIL import Image, ImageDraw, ImageFilter, ImageFont

from contracting.staff.models import User
from jobs.work.models import Job

from .models import About, Photo
from .services import Said, photo_take

SIZE = (1280, 960)
# A plain grey sheet: a bright one is some maker's own colour.
MORTAR, SHEET, SEAM, WATER, STEEL = "#b9b2a3", "#8f9294", "#55595c", "#7fa3b3", "#d7dadd"
# Corners of a floor seen in perspective, as a phone held by somebody standing sees it.
FLOOR = ((120, 900), (1160, 900), (930, 330), (350, 330))


def photo_of_check(*, job: Job, check: int, key: str, caption: str, by: User, at: datetime.datetime) -> Photo:
    """Take a made-up photo of a check.

    Args:
        check: primary key of the planned check.
        key: the check's own key; a flood test shows water and a steel rule, any other laid sheets.
    """
    content = io.BytesIO()
    (_flooded if key == "flood" else _laid)(seed=check).save(content, "JPEG", quality=88)
    said = Said(caption, About.CHECK, str(check), [])
    return photo_take(key=uuid.uuid4(), job=job, by=by, content=content.getvalue(), said=said, taken_at=at)


def _room() -> tuple[Image.Image, ImageDraw.ImageDraw]:
    picture = Image.new("RGB", SIZE, "#cfc8bb")
    draw = ImageDraw.Draw(picture)
    draw.polygon([(0, 0), (350, 0), FLOOR[3], FLOOR[0], (0, 960)], fill="#bdb5a6")
    draw.polygon([(1280, 0), (930, 0), FLOOR[2], FLOOR[1], (1280, 960)], fill="#c6beb0")
    draw.polygon(FLOOR, fill=MORTAR)
    return picture, draw


def _across(share: float) -> tuple[tuple[int, int], tuple[int, int]]:
    """Return the line over the floor at *share* of its width, from the near edge to the far one."""
    (left, near), (right, _), (far_right, far), (far_left, _) = FLOOR
    return (round(left + (right - left) * share), near), (
        round(far_left + (far_right - far_left) * share),
        far,
    )


def _laid(seed: int) -> Image.Image:
    picture, draw = _room()
    draw.polygon(FLOOR, fill=SHEET)
    draw.polygon([(350, 230), (930, 230), FLOOR[2], FLOOR[3]], fill=SHEET)
    for place in range(1, 4):
        share = (place + seed % 5 / 10) / 4
        draw.line(_across(share), fill=SEAM, width=5)
        draw.line(_across(share + 0.045), fill="#c2c5c6", width=2)
    draw.line([FLOOR[3], FLOOR[2]], fill=SEAM, width=4)
    return _told(picture)


def _flooded(seed: int) -> Image.Image:
    picture, draw = _room()
    draw.polygon(FLOOR, fill=WATER)
    for wave in range(6):
        level = 420 + wave * 75 + seed % 7 * 4
        draw.arc((380 - wave * 30, level, 900 + wave * 30, level + 60), 190, 320, fill="#a9c4cf", width=3)
    draw.rectangle((1000, 380, 1050, 820), fill=STEEL, outline="#6b7075", width=3)
    for mark in range(22):
        draw.line(
            (1000, 400 + mark * 20, 1000 + (28 if mark % 2 else 44), 400 + mark * 20), fill="#333", width=2
        )
    return _told(picture)


def _told(picture: Image.Image) -> Image.Image:
    """Soften it as a lens does, and say on it that it was drawn."""
    soft = picture.filter(ImageFilter.GaussianBlur(1.2))
    draw = ImageDraw.Draw(soft)
    words, font = "invented picture", ImageFont.load_default(34)
    left, top, right, bottom = draw.textbbox((34, 30), words, font=font)
    draw.rectangle((left - 14, top - 10, right + 14, bottom + 10), fill="#fffef9")
    draw.text((34, 30), words, fill="#1c2730", font=font)
    return soft
