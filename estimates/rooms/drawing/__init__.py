"""Drawings of measured rooms: one routine for screen, quote, crew sheet and measuring sheet.

Pure: geometry in, SVG text out. The translation is passed in as a callable.
"""

from .geometry import Outline, outline_for, outline_of, outline_walked
from .marks import MEASURED, MEMBRANE, TILED, Layer
from .room_plan import extent, plan_svg
from .scales import paper_scale, scale_words

__all__ = [
    "MEASURED",
    "MEMBRANE",
    "TILED",
    "Layer",
    "Outline",
    "extent",
    "outline_for",
    "outline_of",
    "outline_walked",
    "paper_scale",
    "plan_svg",
    "scale_words",
]
