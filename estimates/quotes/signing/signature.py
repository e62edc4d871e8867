"""A drawn signature: lines on a small field, as SVG path data, checked before anybody shows it.

The data may come from anyone, and it is printed into pages, so nothing but moves and lines between whole
points of the field gets through.
"""

from __future__ import annotations

import math
import re

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

# The field in its own units; the page scales it. Shape only, no source.
WIDTH, HEIGHT = 600, 200
MOST_POINTS = 4000
# A dot or a tick made by a slipping thumb is no signature: at least half the field's height of line.
LEAST_LINE = 100

_PATH = re.compile(r"(?:M\d{1,3} \d{1,3}(?:L\d{1,3} \d{1,3})+)+", re.ASCII)
_POINT = re.compile(r"([ML])(\d+) (\d+)")
# Eleven characters are the longest point.
MOST_CHARACTERS = MOST_POINTS * 9


def checked_drawing(data: str) -> str:
    """Return *data*, path data of moves and lines (``M10 20L11 21``), when it is a signature.

    Raises:
        ValidationError: nothing or too little is drawn, or it is not what the field writes.
    """
    if not data:
        raise ValidationError(_("Draw your signature in the field, or choose to type it."))
    if len(data) > MOST_CHARACTERS:
        raise ValidationError(_("This drawing is too long; clear the field and sign again."))
    if not _PATH.fullmatch(data):
        raise ValidationError(_("The drawing could not be read; clear the field and sign again."))
    length, last = 0.0, (0, 0)
    for command, *numbers in _POINT.findall(data):
        point = int(numbers[0]), int(numbers[1])
        if point[0] > WIDTH or point[1] > HEIGHT:
            raise ValidationError(_("The drawing leaves its field; clear it and sign again."))
        if command == "L":
            length += math.dist(last, point)
        last = point
    if length < LEAST_LINE:
        raise ValidationError(_("That is too little for a signature; sign again, or choose to type it."))
    return data
