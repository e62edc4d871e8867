"""Scales for paper: the largest of the usual ones that fits the space there is."""

from __future__ import annotations

from estimates.takeoff.phrases import Phrase, gettext_noop, phrase
from estimates.takeoff.units import System

# ISO 5455 for metric sheets (with 1:25, usual in building); whole inches of the room per inch of paper.
METRIC_SCALES = (5, 10, 20, 25, 50, 100, 200, 500)
INCH_SCALES = (4, 6, 8, 12, 16, 20, 24, 32, 48, 64, 96, 192, 480)


def paper_scale(
    extent_mm: tuple[float, float], space_mm: tuple[float, float], system: System, *, around_mm: float = 30
) -> int:
    """Return n of the scale 1:n at which *extent_mm* and *around_mm* for dimensions on each side fit.

    >>> paper_scale((2438.4, 1524.0), (180, 120), System.INCH)
    24
    """
    scales = METRIC_SCALES if system is System.METRIC else INCH_SCALES
    for scale in scales:
        if all(
            extent / scale + 2 * around_mm <= max(space, 2 * around_mm + 5)
            for extent, space in zip(extent_mm, space_mm, strict=True)
        ):
            return scale
    return scales[-1]


def scale_words(scale: float, system: System) -> Phrase:
    """Return how a scale is stated on a drawing.

    >>> str(scale_words(24, System.INCH)), str(scale_words(25, System.METRIC))
    ('1 in = 24 in', '1:25')
    """
    if system is System.INCH:
        return phrase(gettext_noop("1 in = {inches} in"), inches=f"{scale:g}")
    return phrase(gettext_noop("1:{scale}"), scale=f"{scale:g}")
